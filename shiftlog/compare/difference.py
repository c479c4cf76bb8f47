"""One kind of shift: Welch's t on the drives' medians.

The drive is the unit, the shift is not: ten shifts of one drive share the day, the oil and the driver.
"""

from collections.abc import Sequence

import numpy as np

from shiftlog.compare.cells import AFTER, BEFORE, Cells
from shiftlog.compare.estimate import DAYS, DAYS_KNOWN, SHIFTS, Estimate, find_rounding, may_pool
from shiftlog.compare.headline import LEAST_DF


def compare_kind(cells: Cells, history: Sequence[Cells] = ()) -> Estimate | None:
    """Compare two sides over the one kind of a table; None where a side has no drive.

    Welch, Biometrika 34 (1947). With a single drive on a side, or with repeat drives that tell the spread as well, the
    variance is pooled over all groups.
    """
    sides = [cells.figures[cells.groups == group, 0] for group in (BEFORE, AFTER)]
    if not all(side.size for side in sides):
        return None
    past = [_as_shaky_as(group, cells) for group in history if group.figures.shape[0] > 1]
    own, own_df = _pool(sides)
    if past and not may_pool(own, own_df, *_pool(past)):
        past = []
    history_df = sum(p.size - 1 for p in past)
    if own_df + history_df < LEAST_DF:
        return _by_shifts(cells, sides)
    if min(s.size for s in sides) > 1 and not history_df:
        variance, df = _welch(*sides)
    else:
        spread, df = _pool([*sides, *past])
        variance = spread * sum(1 / s.size for s in sides)
    if variance <= find_rounding(*sides[0], *sides[1]):
        return _by_shifts(cells, sides)
    return _estimate(cells, sides, variance, float(df), DAYS_KNOWN if history_df else DAYS, history_df)


def _pool(groups: Sequence[np.ndarray]) -> tuple[float, int]:
    """Variance within groups and its degrees of freedom."""
    df = sum(g.size - 1 for g in groups)
    return (sum(float(np.sum((g - g.mean()) ** 2)) for g in groups) / df if df else 0.0), df


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
