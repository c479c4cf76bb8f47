"""k of n with what it allows, and medians of few with what they are worth."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.stats import binomtest, t

from shiftlog.model.guided import Figure
from shiftlog.model.share import Share

MEDIAN_OVER_MEAN = 1.2533
"""Standard error of a median over that of a mean, √(π/2), for a normal distribution."""


def share_of(k: int, n: int) -> Share:
    """k of n with its 95 % Clopper-Pearson interval (Biometrika 26, 1934); n of 1 or more."""
    interval = binomtest(k, n).proportion_ci(0.95, method="exact")
    return Share(k=k, n=n, low=float(interval.low), high=float(interval.high))


def most_if_none(n: int) -> float:
    """What 0 of n still allows: the exact one-sided 95 % limit, 1 − 0.05^(1/n)."""
    return 1.0 - 0.05 ** (1.0 / n)


def rule_of_three(n: int) -> float:
    """3 / n, the limit of ``most_if_none`` for many tries (Hanley and Lippman-Hand, JAMA 249, 1983; from memory)."""
    return min(3.0 / n, 1.0)


def say_share(share: Share) -> str:
    """k of n, with its interval, or for none with what that still allows."""
    told = f"{share.k} of {share.n} (95 %: {100 * share.low:.1f} to {100 * share.high:.1f} %)"
    if share.k:
        return told
    return (
        f"{told}; none of {share.n} still allows {100 * most_if_none(share.n):.1f} % (exact, one-sided; "
        f"{100 * rule_of_three(share.n):.0f} % by the rule of three)"
    )


def share_figure(key: str, label: str, k: int, n: int, *, of: str = "", why: str = "") -> Figure:
    """A share as a figure, or ``why`` where there was no try."""
    if n == 0:
        return Figure(key=key, label=label, of=of, why=why)
    return Figure(key=key, label=label, of=of, share=share_of(k, n))


@dataclass(frozen=True, eq=False, kw_only=True)
class Middle:
    """Median, its standard uncertainty (None of a single value), and the degrees of freedom behind it."""

    value: float
    u: float | None
    freedom: float


def middle_of(values: Sequence[float], *, least_u: float = 0.0) -> Middle:
    """The median of one value or more. least_u : what each value is worth by itself"""
    many = np.asarray(values, float)
    value = float(np.median(many))
    if many.size < 2:
        return Middle(value=value, u=None, freedom=0.0)
    u = MEDIAN_OVER_MEAN * float(many.std(ddof=1)) / np.sqrt(many.size)
    return Middle(value=value, u=float(np.hypot(u, least_u / np.sqrt(many.size))), freedom=many.size - 1.0)


def difference(a: Middle, b: Middle) -> Middle:
    """a − b; degrees of freedom after Welch and Satterthwaite."""
    if a.u is None or b.u is None:
        return Middle(value=a.value - b.value, u=None, freedom=0.0)
    u2 = a.u**2 + b.u**2
    freedom = u2**2 / (a.u**4 / a.freedom + b.u**4 / b.freedom) if u2 > 0 else a.freedom + b.freedom
    return Middle(value=a.value - b.value, u=float(np.sqrt(u2)), freedom=float(freedom))


def middle_figure(key: str, label: str, unit: str, middle: Middle, *, of: str = "") -> Figure:
    """A median as a figure with its 95 % interval by Student's t."""
    if middle.u is None:
        return Figure(key=key, label=label, unit=unit, of=of, value=middle.value)
    reach = float(t.ppf(0.975, middle.freedom)) * middle.u
    return Figure(
        key=key, label=label, unit=unit, of=of, value=middle.value, uncertainty=middle.u,
        interval95=(middle.value - reach, middle.value + reach),
    )  # fmt: skip


def median_figure(key: str, label: str, unit: str, values: Sequence[float], *, of: str = "", why: str) -> Figure:
    """The median of some values, or ``why`` where there are none."""
    if not len(values):
        return Figure(key=key, label=label, unit=unit, of=of, why=why)
    return middle_figure(key, label, unit, middle_of(values), of=of)
