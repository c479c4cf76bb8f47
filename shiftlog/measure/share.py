"""k of n with what it allows."""

from scipy.special import betaincinv

from shiftlog.model.share import Share

TAIL = 0.025


def share_of(k: int, n: int) -> Share:
    """k of n with its 95 % interval, n of 1 or more (Clopper and Pearson, Biometrika 26, 1934).

    Their limits are quantiles of beta distributions (Brown, Cai and DasGupta, Stat. Sci. 16, 2001, section 4.2.1).
    """
    low = float(betaincinv(k, n - k + 1, TAIL)) if k else 0.0
    high = float(betaincinv(k + 1, n - k, 1 - TAIL)) if k < n else 1.0
    return Share(k=k, n=n, low=low, high=high)
