"""Shares and medians as figures of a guided test, and shares in words."""

from collections.abc import Sequence

from shiftlog.measure.share import share_of
from shiftlog.model.guided import Figure
from shiftlog.model.share import Share
from shiftlog.signal.middle import Middle, middle_of


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


def middle_figure(key: str, label: str, unit: str, middle: Middle, *, of: str = "") -> Figure:
    """A median as a figure with its 95 % interval by Student's t."""
    return Figure(
        key=key, label=label, unit=unit, of=of, value=middle.value, uncertainty=middle.u, interval95=middle.interval95
    )


def median_figure(key: str, label: str, unit: str, values: Sequence[float], *, of: str = "", why: str) -> Figure:
    """The median of some values, or ``why`` where there are none."""
    if not len(values):
        return Figure(key=key, label=label, unit=unit, of=of, why=why)
    return middle_figure(key, label, unit, middle_of(values), of=of)
