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

DRAWS = 4000
# Two-sided, an exact permutation over whole drives can reach 0.05 only from this many arrangements on.
LEAST_ARRANGEMENTS = 40

Drives = Sequence[Mapping[str, np.ndarray]]
"""For each drive the values by kind, (n,) each."""


@dataclass(frozen=True, eq=False, kw_only=True)
class Difference:
    """Means of the drives' figures on each side, their difference (after − before), and bootstrap intervals.

    ci95, ci90 : percentile intervals; p : exact permutation over drives, or None where it cannot reach 0.05
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
    q = np.percentile(spread, [2.5, 97.5, 5.0, 95.0])
    return Difference(
        before=float(sides[0].mean()), after=float(sides[1].mean()),
        difference=float(sides[1].mean() - sides[0].mean()),
        ci95=(float(q[0]), float(q[1])), ci90=(float(q[2]), float(q[3])), p=permute_drives(sides[0], sides[1]),
        cliffs_delta=find_cliffs_delta(_freed(before, level), _freed(after, level)),
    )  # fmt: skip


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


def permute_drives(before: np.ndarray, after: np.ndarray) -> float | None:
    """Two-sided exact permutation p of the difference of means over whole drives, or None where it cannot reach 0.05.

    Fisher's permutation test (The Design of Experiments, 1935); all arrangements are counted.
    """
    arrangements = comb(before.size + after.size, before.size)
    if arrangements < LEAST_ARRANGEMENTS:
        return None

    def statistic(x: np.ndarray, y: np.ndarray, axis: int) -> np.ndarray:
        return np.mean(y, axis=axis) - np.mean(x, axis=axis)

    test = permutation_test((before, after), statistic, vectorized=True, n_resamples=max(arrangements, 9999))
    return float(test.pvalue)


def find_cliffs_delta(before: np.ndarray, after: np.ndarray) -> float:
    """P(after > before) − P(after < before) = 2U/mn − 1 (Cliff, Psychol. Bull. 114, 1993)."""
    u = mannwhitneyu(after, before, method="asymptotic").statistic
    return float(2 * u / (before.size * after.size) - 1)
