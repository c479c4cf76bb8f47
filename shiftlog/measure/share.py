"""k of n with what it allows."""

from scipy.stats import binomtest

from shiftlog.model.share import Share


def share_of(k: int, n: int) -> Share:
    """k of n with its 95 % interval, n of 1 or more (Clopper and Pearson, Biometrika 26, 1934)."""
    interval = binomtest(k, n).proportion_ci(0.95, method="exact")
    return Share(k=k, n=n, low=float(interval.low), high=float(interval.high))
