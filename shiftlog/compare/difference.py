"""The difference between two sets of drives: the drive is the unit, the shift is not.

Each drive gives one figure: the median of its shifts of a kind (the mean where the values are yes or no). Over
several kinds each is first freed of its kind's own level (the mean of both sides' means), so that a drive with more
second gears does not look slower. The estimand is the difference of the means of the drives' figures.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import comb

import numpy as np
from scipy.stats import mannwhitneyu, permutation_test

from shiftlog.compare.reach import find_drive_reach, find_share_reach, widen

DRAWS = 4000
# Two-sided, an exact permutation over whole drives can reach 0.05 only from this many arrangements on.
LEAST_ARRANGEMENTS = 40
# Up to here all are counted; twelve drives a side have 2.7 million and would take minutes for every row.
MOST_ARRANGEMENTS = 12_000
RANDOM_ARRANGEMENTS = 9_999

Drives = Sequence[Mapping[str, np.ndarray]]
"""For each drive the values by kind, (n,) each."""


@dataclass(frozen=True, eq=False, kw_only=True)
class Difference:
    """Means of the drives' figures on each side, their difference (after − before), and bootstrap intervals.

    ci95, ci90 : percentile intervals, never narrower than ``reach.py`` allows
    p : permutation over drives, or None where it cannot reach 0.05
    cliffs_delta : P(after > before) − P(after < before) over the shifts, kinds freed of their level
    """

    before: float
    after: float
    difference: float
    ci95: tuple[float, float]
    ci90: tuple[float, float]
    p: float | None
    cliffs_delta: float


def compare_sides(before: Drives, after: Drives, kinds: Sequence[str], *, yes_no: bool, seed: int) -> Difference:
    """Compare two sets of drives over the given kinds; each side has at least one value."""
    level = {k: np.mean([_side_mean(side, k, yes_no=yes_no) for side in (before, after)]) for k in kinds}
    grand = float(np.mean(list(level.values())))
    rng = np.random.default_rng(seed)
    sides, draws = [], []
    for side in (before, after):
        used = [d for d in side if any(len(d.get(k, ())) for k in kinds)]
        sides.append(np.array([_figure(d, level, yes_no=yes_no) for d in used]) + grand)
        draws.append(_draw_means(used, level, rng, yes_no=yes_no) + grand)
    spread = draws[1] - draws[0]
    values = [_pooled(side, kinds) for side in (before, after)] if yes_no else None
    return Difference(
        before=float(sides[0].mean()), after=float(sides[1].mean()),
        difference=float(sides[1].mean() - sides[0].mean()),
        ci95=_interval(spread, sides, values, 0.95), ci90=_interval(spread, sides, values, 0.90),
        p=permute_drives(sides[0], sides[1], seed=seed),
        cliffs_delta=find_cliffs_delta(_freed(before, level), _freed(after, level)),
    )  # fmt: skip


def _interval(
    spread: np.ndarray, figures: Sequence[np.ndarray], answers: Sequence[np.ndarray] | None, confidence: float
) -> tuple[float, float]:
    """Percentile interval of the draws, widened to its least reach; ``answers`` are yes or no, or None for figures."""
    low, high = np.quantile(spread, [0.5 - confidence / 2, 0.5 + confidence / 2])
    reaches = [find_drive_reach(*figures, confidence=confidence)]
    if answers is not None:
        reaches.append(find_share_reach(*answers, confidence=confidence))
    low, high = widen((float(low), float(high)), float(figures[1].mean() - figures[0].mean()), *reaches)
    return (low, high) if answers is None else (max(low, -1.0), min(high, 1.0))


def _pooled(side: Drives, kinds: Sequence[str]) -> np.ndarray:
    return np.concatenate([np.asarray(d[k]) for d in side for k in kinds if len(d.get(k, ()))])


def _centre(values: np.ndarray, *, yes_no: bool, axis: int = -1) -> np.ndarray:
    return np.mean(values, axis=axis) if yes_no else np.median(values, axis=axis)


def _side_mean(side: Drives, kind: str, *, yes_no: bool) -> float:
    return float(np.mean([_centre(d[kind], yes_no=yes_no) for d in side if len(d.get(kind, ()))]))


def _figure(drive: Mapping[str, np.ndarray], level: Mapping[str, float], *, yes_no: bool) -> float:
    return float(np.mean([_centre(drive[k], yes_no=yes_no) - level[k] for k in level if len(drive.get(k, ()))]))


def _freed(side: Drives, level: Mapping[str, float]) -> np.ndarray:
    return np.concatenate([np.asarray(d[k]) - level[k] for d in side for k in level if len(d.get(k, ()))])


def _draw_means(side: Drives, level: Mapping[str, float], rng: np.random.Generator, *, yes_no: bool) -> np.ndarray:
    """Means of drawn drives, shifts drawn anew within each, (DRAWS,).

    With several drives the spread about the mean is widened by √(n/(n−1)), for which n drawn from n fall short.
    """
    drawn = np.array([_draw_figure(d, level, rng, yes_no=yes_no) for d in side])
    if len(side) == 1:
        return drawn[0]
    observed = np.mean([_figure(d, level, yes_no=yes_no) for d in side])
    chosen = rng.integers(0, len(side), (DRAWS, len(side)))
    means = drawn[chosen, np.arange(DRAWS)[:, None]].mean(axis=1)
    return observed + (means - observed) * np.sqrt(len(side) / (len(side) - 1))


def _draw_figure(
    drive: Mapping[str, np.ndarray], level: Mapping[str, float], rng: np.random.Generator, *, yes_no: bool
) -> np.ndarray:
    parts = []
    for kind in level:
        values = np.asarray(drive.get(kind, ()))
        if values.size:
            chosen = values[rng.integers(0, values.size, (DRAWS, values.size))]
            parts.append(_centre(chosen, yes_no=yes_no, axis=1) - level[kind])
    return np.mean(parts, axis=0)


def permute_drives(before: np.ndarray, after: np.ndarray, *, seed: int = 1) -> float | None:
    """Two-sided permutation p of the difference of means over whole drives, or None where it cannot reach 0.05.

    Fisher's permutation test (The Design of Experiments, 1935); all arrangements are counted up to 12,000 of
    them, 9,999 drawn ones beyond.
    """
    arrangements = comb(before.size + after.size, before.size)
    if arrangements < LEAST_ARRANGEMENTS:
        return None

    def statistic(x: np.ndarray, y: np.ndarray, axis: int) -> np.ndarray:
        return np.mean(y, axis=axis) - np.mean(x, axis=axis)

    counted = np.inf if arrangements <= MOST_ARRANGEMENTS else RANDOM_ARRANGEMENTS
    rng = np.random.default_rng(seed)
    test = permutation_test((before, after), statistic, vectorized=True, n_resamples=counted, rng=rng)
    return float(test.pvalue)


def find_cliffs_delta(before: np.ndarray, after: np.ndarray) -> float:
    """P(after > before) − P(after < before) = 2U/mn − 1 (Cliff, Psychol. Bull. 114, 1993)."""
    u = mannwhitneyu(after, before, method="asymptotic").statistic
    return float(2 * u / (before.size * after.size) - 1)
