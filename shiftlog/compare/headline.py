"""All kinds of shift together: drives as random blocks, kinds as fixed levels, one difference between the sides.

The model is y = side + kind + drive + rest, drive and rest random. Each drive's level is had from the two-way fit of
its figures on drive and kind, a figure of ten shifts weighing more than one of two, so that a drive with more second
gears does not look slower. Where every drive has every kind equally often, this is the mixed model's own answer: the
difference of the means of the drives' levels, with the spread of the levels within the sides, on n₁ + n₂ − 2 degrees of
freedom. Where kinds are missing, levels that rest on fewer figures shake more; what that adds is taken from the
residual of the fit (Henderson's method 3; Searle, Casella and McCulloch, Variance Components, 1992, chapter 5), and
degrees of freedom follow Satterthwaite.

Repeat drives with nothing changed among them are further groups: they tell the spread and nothing else.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from shiftlog.compare.cells import AFTER, BEFORE, Cells
from shiftlog.compare.estimate import Estimate, Spread, find_rounding, join_spread
from shiftlog.compare.past import NO_PAST, Past
from shiftlog.model.comparison import SHIFTS

# With a single degree of freedom an interval is twelve standard errors wide and says nothing of anything.
LEAST_DF = 2


@dataclass(frozen=True, eq=False, kw_only=True)
class Levels:
    """The two-way fit of one table.

    level : (d,) mean over the kinds; shaking : (d, d) covariance of the levels over the variance of one shift
    squares : residual sum of squares over the variance of one shift's share in each, on df degrees of freedom
    """

    level: np.ndarray
    shaking: np.ndarray
    squares: float
    df: int


def compare_levels(cells: Cells, history: Past[Cells] = NO_PAST, *, counted: bool = False) -> Estimate | None:
    """The headline over all kinds of a table, or None where drives share no kinds by which to compare them.

    counted : yes or no, for which the counts themselves say how sure they can be
    """
    fit = fit_levels(cells)
    past = [(group, found) for group in history.groups if (found := fit_levels(group)) is not None]
    if fit is None or len(np.unique(cells.groups)) < 2:
        return None
    is_after = cells.groups == AFTER
    weights = np.where(is_after, 1 / is_after.sum(), -1 / (~is_after).sum())
    spread = join_spread(_spread([(cells, fit)]), _spread(past), of_others=history.of_others)
    if spread.df < LEAST_DF or spread.variance <= find_rounding(*fit.level):
        return _by_shifts(cells, fit, weights)
    per_shift, rest_df = _rest([fit, *(found for _, found in past if spread.history_df)])
    plain = float(weights @ weights) * spread.variance
    extra = per_shift * (float(weights @ fit.shaking @ weights) - float(weights @ weights) * spread.shaken)
    variance, df = _combine(plain, spread.df, extra, rest_df)
    if not counted:
        # Three drives that agree by chance do not know their level better than their few shifts can tell it.
        variance = max(variance, _of_shifts(cells, fit, weights))
    return _estimate(
        cells, fit, weights, variance=variance, df=df, rests_on=spread.rests_on, history_df=spread.history_df
    )  # fmt: skip


def _estimate(
    cells: Cells, fit: Levels, weights: np.ndarray, *, variance: float, df: float, rests_on: str, history_df: int = 0
) -> Estimate:
    before, after = (float(fit.level[cells.groups == side].mean()) for side in (BEFORE, AFTER))
    noise = (cells.noise or 0.0) * float(np.mean(np.diag(fit.shaking)))
    return Estimate(
        before=before, after=after, difference=after - before, variance=variance, df=df,
        drive_variance=variance / float(weights @ weights), noise_variance=noise, rests_on=rests_on,
        history_df=history_df,
    )  # fmt: skip


def _by_shifts(cells: Cells, fit: Levels, weights: np.ndarray) -> Estimate:
    """With nothing that tells how drives differ, only the shifts' own spread is left."""
    variance = _of_shifts(cells, fit, weights)
    return _estimate(cells, fit, weights, variance=variance, df=cells.noise_df, rests_on=SHIFTS)


def _of_shifts(cells: Cells, fit: Levels, weights: np.ndarray) -> float:
    """Variance of the difference if shifts of one kind in one drive were all that differs."""
    return (cells.noise or 0.0) * float(weights @ fit.shaking @ weights)


def fit_levels(cells: Cells) -> Levels | None:
    """Drive levels by least squares on drive and kind, each figure weighing by what it rests on.

    None where no chain of kinds joins the drives.
    """
    seen = cells.counts > 0
    if np.ptp(cells.counts) == 0 and seen.all():
        return _fit_even(cells)
    drives, kinds = np.nonzero(seen)
    n, k = seen.shape
    design = np.zeros((drives.size, n + k))
    design[np.arange(drives.size), drives] = design[np.arange(drives.size), n + kinds] = 1.0
    if np.linalg.matrix_rank(design) < n + k - 1:
        return None
    figures, shaky = cells.figures[seen], cells.shakiness[seen]
    root = 1 / np.sqrt(shaky)
    solve = np.linalg.pinv(design * root[:, None]) * root
    maker = np.hstack([np.eye(n), np.full((n, k), 1 / k)]) @ solve
    left = (figures - design @ (solve @ figures)) * root
    return Levels(
        level=maker @ figures, shaking=(maker * shaky) @ maker.T, squares=float(left @ left),
        df=drives.size - (n + k - 1),
    )  # fmt: skip


def _fit_even(cells: Cells) -> Levels:
    """Every drive has every kind equally often: the fit is that of plain means."""
    n, k = cells.figures.shape
    level, shaky = cells.figures.mean(axis=1), float(cells.shakiness[0, 0])
    left = cells.figures - level[:, None] - cells.figures.mean(axis=0) + level.mean()
    return Levels(
        level=level, shaking=np.eye(n) * shaky / k, squares=float(np.sum(left**2)) / shaky, df=(n - 1) * (k - 1)
    )  # fmt: skip


def _spread(tables: Sequence[tuple[Cells, Levels]]) -> Spread:
    """Variance of levels within groups."""
    squares, df, shaken = 0.0, 0, 0.0
    for cells, fit in tables:
        for group in np.unique(cells.groups):
            mine = cells.groups == group
            n = int(mine.sum())
            squares += float(np.sum((fit.level[mine] - fit.level[mine].mean()) ** 2))
            df += n - 1
            part = fit.shaking[np.ix_(mine, mine)]
            shaken += float(np.trace(part) - part.sum() / n)
    return Spread(variance=squares / df, df=df, shaken=shaken / df) if df else Spread(variance=0.0, df=0)


def _rest(fits: Sequence[Levels]) -> tuple[float, int]:
    """Variance of one shift as the residuals tell it, with its degrees of freedom."""
    df = sum(fit.df for fit in fits)
    return (sum(fit.squares for fit in fits) / df, df) if df > 0 else (0.0, 0)


def _combine(plain: float, plain_df: int, extra: float, extra_df: int) -> tuple[float, float]:
    """Sum of two variances and its degrees of freedom (Satterthwaite, Biometrics Bull. 2, 1946).

    A correction downwards is taken by half at the most, so that a small sample cannot talk the spread away.
    """
    extra = max(extra, -plain / 2)
    if extra_df == 0 or abs(extra) < 1e-9 * plain:
        return plain, float(plain_df)
    variance = plain + extra
    return variance, variance**2 / (plain**2 / plain_df + extra**2 / extra_df)
