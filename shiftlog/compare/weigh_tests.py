"""Figures of guided tests before against after: each with the uncertainty that the repeats within its test leave."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import stdtr

from shiftlog.compare.estimate import DAYS_KNOWN, Estimate, Spread, join_spread
from shiftlog.compare.evidence import FIRM_DF, FIRM_DRIVES, Evidence
from shiftlog.compare.past import NO_PAST, Past
from shiftlog.model.comparison import DAYS, TESTS
from shiftlog.model.guided import Figure
from shiftlog.model.told import tell

METHOD = tell(
    "method.tests",
    "difference of figures of marked tests; Student's t on the uncertainty that the repeats within each test leave",
)
OVER_DRIVES = tell(
    "method.tests_over_drives", f"{METHOD}, or on how drives, repeat drives among them, differ where that is more"
)
NORMAL_DF = 1e6
_RECTANGLE = 12.0**0.5


@dataclass(frozen=True, eq=False, kw_only=True)
class Known:
    """A figure, its variance (None where the test leaves none), and the degrees of freedom of that."""

    value: float
    variance: float | None
    df: float = NORMAL_DF


def know(figure: Figure, *, size_only: bool) -> Known:
    """A figure as it counts. An interval without an uncertainty is a bracket: anywhere in it alike, its middle counts.

    Degrees of freedom follow from how much wider than a normal one the figure's 95 % interval is.
    """
    value = abs(figure.value) if size_only else float(figure.value)
    low, high = figure.interval95 or (None, None)
    half = None if low is None else (high - low) / 2
    if figure.uncertainty is None and half is not None:
        return Known(value=(low + high) / 2, variance=(2 * half / _RECTANGLE) ** 2)
    if figure.uncertainty is None:
        return Known(value=value, variance=None)
    df = NORMAL_DF if half is None or not figure.uncertainty else _freedom(half / figure.uncertainty)
    return Known(value=value, variance=figure.uncertainty**2, df=df)


def _freedom(ratio: float) -> float:
    """The degrees of freedom at which Student's t has so much beyond it that the ratio spans 95 %."""
    low, high = 0.0, np.log(NORMAL_DF)
    if stdtr(np.exp(high), -ratio) >= 0.025:
        return NORMAL_DF
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if stdtr(np.exp(middle), -ratio) > 0.025 else (low, middle)
    return float(np.exp(high))


def mean_of(some: Sequence[Known]) -> Known:
    """Their mean; degrees of freedom after Welch and Satterthwaite. No variance where one of them has none."""
    value = float(np.mean([one.value for one in some]))
    if any(one.variance is None for one in some):
        return Known(value=value, variance=None)
    parts = [one.variance / len(some) ** 2 for one in some]
    return Known(value=value, variance=sum(parts), df=_satterthwaite(parts, [one.df for one in some]))


def least_of(some: Sequence[Known]) -> Known:
    """The smallest of them."""
    return min(some, key=lambda one: one.value)


def _satterthwaite(parts: Sequence[float], df: Sequence[float]) -> float:
    total = sum(parts)
    if total <= 0:
        return NORMAL_DF
    return min(total**2 / sum(part**2 / each for part, each in zip(parts, df, strict=True)), NORMAL_DF)


def weigh_figures(
    before: Sequence[Known], after: Sequence[Known], past: Past[Sequence[Known]] = NO_PAST
) -> Evidence | None:  # fmt: skip
    """One figure for each drive a side; None where a side has none, or none whose uncertainty is known.

    past : of groups of drives with nothing changed within a group: they tell how much such a test differs by itself
    """
    if not before or not after:
        return None
    drives = (len(before), len(after))
    sides = [_side(side) for side in (before, after)]
    spread = join_spread(_pooled((before, after)), _pooled(past.groups), of_others=past.of_others)
    if spread.history_df:
        sides = [_wider(side, Known(value=side.value, variance=spread.variance / n, df=spread.df))
                 for side, n in zip(sides, drives, strict=True)]  # fmt: skip
    if any(side.variance is None for side in sides):
        return None
    return _evidence(_estimate(sides, drives, spread), drives)


def _side(drives: Sequence[Known]) -> Known:
    """A side's mean: the spread of its drives, where there are several, counts if it is more than the tests leave."""
    within = mean_of(drives)
    if len(drives) < 2 or (within.variance is None and len(drives) < FIRM_DRIVES):
        return within
    return _wider(within, Known(value=within.value, variance=_spread(drives) / len(drives), df=len(drives) - 1))


def _wider(one: Known, other: Known) -> Known:
    return one if one.variance is not None and one.variance >= other.variance else other


def _spread(drives: Sequence[Known]) -> float:
    return float(np.var([one.value for one in drives], ddof=1)) if len(drives) > 1 else 0.0


def _pooled(groups: Sequence[Sequence[Known]]) -> Spread:
    """Variance of one drive's figure within the groups."""
    df = sum(max(len(group) - 1, 0) for group in groups)
    return Spread(variance=sum(_spread(group) * (len(group) - 1) for group in groups) / df if df else 0.0, df=df)


def _estimate(sides: Sequence[Known], drives: tuple[int, int], spread: Spread) -> Estimate:
    parts = [side.variance for side in sides]
    total = sum(parts)
    df = _satterthwaite(parts, [side.df for side in sides])
    known = spread.history_df and all(side.df == spread.df for side in sides)
    return Estimate(
        before=sides[0].value, after=sides[1].value, difference=sides[1].value - sides[0].value, variance=total,
        df=spread.df if known else df, drive_variance=total / sum(1 / n for n in drives), noise_variance=0.0,
        rests_on=spread.rests_on if spread.history_df else DAYS if min(drives) >= FIRM_DRIVES else TESTS,
        history_df=spread.history_df,
    )  # fmt: skip


def _evidence(estimate: Estimate, drives: tuple[int, int]) -> Evidence:
    ci95, ci90 = (
        (estimate.difference - reach, estimate.difference + reach) for reach in map(estimate.reach, (0.95, 0.90))
    )
    alone = estimate.rests_on == TESTS and max(drives) == 1
    known = estimate.rests_on == DAYS_KNOWN and estimate.history_df >= FIRM_DF
    return Evidence(
        before=estimate.before, after=estimate.after, difference=estimate.difference, ci95=ci95, ci90=ci90,
        p=estimate.p, p_permutation=None, cliffs_delta=None, smallest_change=(ci95[1] - ci95[0]) / 2,
        df=estimate.df if estimate.df < NORMAL_DF else None, method=METHOD if alone else OVER_DRIVES,
        firm=min(drives) >= FIRM_DRIVES or known, estimate=estimate, least=1,
        least_for_same=1,
    )  # fmt: skip
