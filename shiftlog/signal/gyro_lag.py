"""How late one gyro's log lies against another's, where both ride on one body and one of them moves now and then."""

import numpy as np
from scipy.ndimage import maximum_filter1d

from shiftlog.signal.filter import band_pass
from shiftlog.signal.resample import resample_evenly

GRID_HZ = 100.0
BAND_HZ = (0.3, 8.0)
"""A body pitches, rolls and yaws within these; a gyro's bias lies below, its noise above."""
MOST_S = 0.15
"""Clocks that were matched lie nearer to each other than this."""
_LEAST_S = 10.0
_MOVES_SIGMAS, _MOVES_S = 6.0, 0.3
_LEAST_GAIN = 0.1
"""Laid wrong by the most there is, two gyros must differ by this share more: else nothing tells of the lag."""


def fit_gyro_lag(time_s: np.ndarray, rates: np.ndarray, reference_s: np.ndarray, reference: np.ndarray) -> float | None:
    """Time [s] by which ``rates`` (n, 3) at ``time_s`` come after ``reference`` (m, 3), both in the same axes [rad/s].

    Where the two differ by far, something moves between the sensors, and that says nothing. None where nothing tells.
    """
    start_s, end_s = max(time_s[0], reference_s[0]) + MOST_S, min(time_s[-1], reference_s[-1]) - MOST_S
    if end_s - start_s < _LEAST_S:
        return None
    late, fixed = (_even(t, r, start_s, end_s) for t, r in ((time_s, rates), (reference_s, reference)))
    still = _still(late - fixed)
    # A swing would ring on in the filter: the other gyro stands in for it, and is not judged there.
    fixed = np.where(still[:, None], fixed, late + np.median(fixed - late, axis=0))
    late, fixed = (band_pass(r, GRID_HZ, *BAND_HZ, order=2) for r in (late, fixed))
    reach = int(round(MOST_S * GRID_HZ))
    still = still[reach:-reach]
    if np.count_nonzero(still) < _LEAST_S * GRID_HZ / 2:
        return None
    count = len(still)
    cost = np.array(
        [
            np.mean(np.sum((late[k : k + count] - fixed[reach : reach + count])[still] ** 2, axis=1))
            for k in range(2 * reach + 1)
        ]
    )
    return _lowest(cost, reach)


def _even(time_s: np.ndarray, rates: np.ndarray, start_s: float, end_s: float) -> np.ndarray:
    return resample_evenly(time_s, rates, rate_hz=GRID_HZ, start_s=start_s - MOST_S, end_s=end_s + MOST_S)[1]


def _still(apart: np.ndarray) -> np.ndarray:
    """Samples (n,) with no motion between the sensors within 0.3 s."""
    size = np.linalg.norm(apart - np.median(apart, axis=0), axis=1)
    reach = int(2 * _MOVES_S * GRID_HZ) + 1
    return maximum_filter1d(size, reach) < max(_MOVES_SIGMAS * float(np.median(size)), 1e-6)


def _lowest(cost: np.ndarray, reach: int) -> float | None:
    """The lag of least cost, by a parabola through three points; None at the edge or where all lags cost alike."""
    k = int(np.argmin(cost))
    if k in (0, cost.size - 1) or min(cost[0], cost[-1]) < (1 + _LEAST_GAIN) * cost[k]:
        return None
    before, here, after = cost[k - 1 : k + 2]
    return float((k - reach + 0.5 * (before - after) / (before - 2 * here + after)) / GRID_HZ)
