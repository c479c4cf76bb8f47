"""One kind of shift: Welch's t on the drives' medians.

The drive is the unit, the shift is not: ten shifts of one drive share the day, the oil and the driver.
"""

from collections.abc import Sequence

import numpy as np

from shiftlog.compare.cells import AFTER, BEFORE, Cells
from shiftlog.compare.estimate import Estimate, Spread, find_rounding, join_spread
from shiftlog.compare.headline import LEAST_DF
from shiftlog.compare.past import NO_PAST, Past
from shiftlog.model.comparison import SHIFTS


def compare_kind(cells: Cells, history: Past[Cells] = NO_PAST) -> Estimate | None:
    """Compare two sides over the one kind of a table; None where a side has no drive.

    Welch, Biometrika 34 (1947). With a single drive on a side, or with repeat drives that tell the spread as well, the
    variance is pooled over all groups.
    """
    sides = [cells.figures[cells.groups == group, 0] for group in (BEFORE, AFTER)]
    if not all(side.size for side in sides):
        return None
    past = [_as_shaky_as(group, cells) for group in history.groups if group.figures.shape[0] > 1]
    spread = join_spread(_pool(sides), _pool(past), of_others=history.of_others)
    if spread.df < LEAST_DF:
        return _by_shifts(cells, sides)
    variance, df = spread.variance * sum(1 / s.size for s in sides), float(spread.df)
    if min(s.size for s in sides) > 1 and not spread.history_df:
        variance, df = _welch(*sides)
    if variance <= find_rounding(*sides[0], *sides[1]):
        return _by_shifts(cells, sides)
    return _estimate(cells, sides, variance, df, spread.rests_on, spread.history_df)


def _pool(groups: Sequence[np.ndarray]) -> Spread:
    """Variance within groups and its degrees of freedom."""
    df = sum(g.size - 1 for g in groups)
    return Spread(variance=sum(float(np.sum((g - g.mean()) ** 2)) for g in groups) / df if df else 0.0, df=df)


def _welch(before: np.ndarray, after: np.ndarray) -> tuple[float, float]:
    parts = [side.var(ddof=1) / side.size for side in (before, after)]
    variance = float(sum(parts))
    weights = sum(part**2 / (side.size - 1) for part, side in zip(parts, (before, after), strict=True))
    return variance, float(variance**2 / weights) if weights > 0 else float(before.size + after.size - 2)


def _as_shaky_as(past: Cells, cells: Cells) -> np.ndarray:
    """Repeat drives' figures; medians of more shifts than are compared here are calmer, and are spread to match."""
    ratio = float(np.mean(cells.shakiness)) / float(np.mean(past.shakiness))
    figures = past.figures[:, 0]
    return figures.mean() + (figures - figures.mean()) * np.sqrt(max(ratio, 1.0))


def _by_shifts(cells: Cells, sides: Sequence[np.ndarray]) -> Estimate:
    shaky = [cells.shakiness[cells.groups == group, 0] for group in (BEFORE, AFTER)]
    variance = (cells.noise or 0.0) * float(sum(s.sum() / s.size**2 for s in shaky))
    return _estimate(cells, sides, variance, float(cells.noise_df), SHIFTS, 0)


def _estimate(
    cells: Cells, sides: Sequence[np.ndarray], variance: float, df: float, rests_on: str, history_df: int
) -> Estimate:
    before, after = (float(side.mean()) for side in sides)
    return Estimate(
        before=before, after=after, difference=after - before, variance=variance, df=df,
        drive_variance=variance / sum(1 / s.size for s in sides),
        noise_variance=(cells.noise or 0.0) * float(np.mean(cells.shakiness)), rests_on=rests_on, history_df=history_df,
    )  # fmt: skip
