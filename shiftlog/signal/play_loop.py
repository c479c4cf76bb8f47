"""Two ends of a linkage with play and friction: the loop between going and coming back, and travel that is lost."""

from dataclasses import dataclass

import numpy as np

from shiftlog.signal.crossing import find_reversals, find_runs
from shiftlog.signal.slope import slope, smooth

SLOWEST, FASTEST = 10.0, 150.0
"""mm/s. Slower is no motion; faster, and a lag between the two sensors would weigh more than the loop."""
FOLLOWS_SHARE = 0.6
"""The far end runs along when it has this share of the near end's speed."""
SLOPE_S = 0.08
LEAST_SWEEPS = 2
STROKES, ALIKE_SHARE, TURNS_S = 4, 0.25, 0.09
STROKE_MOVES = 2
"""A stroke is so many times what still counts as standing."""
ROUNDS = 3
OUTLIER_SIGMAS = 4.0


@dataclass(frozen=True, eq=False, kw_only=True)
class PlayLoop:
    """One axis of a linkage, in the near end's mm.

    far_mm : (n,) the far end in the near end's mm, in the middle of the loop; loop_mm : between going and coming back
    lag_s : how much later the far end's sensor reads; u_mm : standard uncertainty of the loop
    sweeps : runs in one direction that it rests on
    """

    far_mm: np.ndarray
    loop_mm: float
    u_mm: float
    lag_s: float
    sweeps: int


def fit_play_loop(near_mm: np.ndarray, far: np.ndarray, rate_hz: float) -> PlayLoop | None:
    """near (n,) [mm], far (n, k) as logged, on one even grid. None without runs in both directions.

    While both run, near = far · gain + offset + ½ loop · sign(v) + lag · v: friction and play lead the near end by the
    same whatever its speed, a late sensor by the more the faster it goes.
    """
    v = slope(near_mm, rate_hz, SLOPE_S)
    ways = far - far.mean(axis=0)
    runs = slope(_in_near_mm(near_mm, ways), rate_hz, SLOPE_S) * np.sign(v) > FOLLOWS_SHARE * np.abs(v)
    moving = runs & (np.abs(v) > SLOWEST) & (np.abs(v) < FASTEST)
    sweeps = [(a, b) for a, b in find_runs(moving) if b - a >= 3]
    if min(sum(v[a:b].mean() > 0 for a, b in sweeps), sum(v[a:b].mean() < 0 for a, b in sweeps)) < LEAST_SWEEPS:
        return None
    columns = np.column_stack([ways, np.ones(v.size), np.sign(v) / 2, v])
    rows = np.flatnonzero(moving)
    for _ in range(ROUNDS):
        found = np.linalg.lstsq(columns[rows], near_mm[rows], rcond=None)[0]
        left = near_mm[rows] - columns[rows] @ found
        sigma = max(1.4826 * float(np.median(np.abs(left))), 1e-6)
        rows = rows[np.abs(left) < OUTLIER_SIGMAS * sigma]
    k = ways.shape[1]
    return PlayLoop(
        far_mm=ways @ found[:k] + found[k], loop_mm=float(found[k + 1]), lag_s=float(found[k + 2]),
        u_mm=float(2 * left.std() / np.sqrt(len(sweeps))), sweeps=len(sweeps),
    )  # fmt: skip


def _in_near_mm(near_mm: np.ndarray, ways: np.ndarray) -> np.ndarray:
    """The far end in the near end's mm but for the loop, (n,); its way along the other axis counts for nothing."""
    return ways @ np.linalg.lstsq(ways, near_mm - near_mm.mean(), rcond=None)[0]


def measure_free_play(near_mm: np.ndarray, far_mm: np.ndarray, rate_hz: float, *, moves_mm: float) -> list[float]:
    """How far the near end goes to and fro while the far end stands [mm], one figure a stand.

    moves_mm : less than this at the far end is standing. To and fro is ``STROKES`` strokes alike, one after the other;
    a press against a stop is out and back, once.
    """
    speed = np.abs(slope(far_mm, rate_hz, 0.1))
    ranges = []
    for a, b in find_runs(speed < moves_mm / 0.1):
        if b - a >= 0.4 * rate_hz:
            inside = smooth(near_mm[a:b], rate_hz, TURNS_S)
            strokes = np.abs(np.diff(inside[find_reversals(inside, STROKE_MOVES * moves_mm)]))
            ranges += _alike(strokes, moves_mm)
    return ranges


def _alike(strokes: np.ndarray, moves_mm: float) -> list[float]:
    """Median of the first run of strokes that are alike, in a list, or nothing."""
    for first in range(strokes.size - STROKES + 1):
        some = strokes[first : first + STROKES]
        if np.ptp(some) < max(2 * moves_mm, ALIKE_SHARE * np.median(some)):
            return [float(np.median(some))]
    return []
