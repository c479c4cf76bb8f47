"""Two ends of a linkage in quick motions: the loop between going and coming back, beside a late sensor and load."""

from dataclasses import dataclass, replace

import numpy as np

from shiftlog.signal.crossing import find_runs
from shiftlog.signal.slope import slope

SLOPE_S = 0.028
SLOWEST = 25.0
"""mm/s. Slower, and what shakes both sensors weighs as much as the motion."""
FOLLOWS = (0.6, 1.6)
"""Far end's speed over near end's, while it slides behind it."""
REACH_S, COARSE_S = 0.5, 0.01
"""Two recorders that were set by hand agree to half a second; the coarse search steps by the second."""
LAG_ROUNDS, SETTLED_S = 4, 2e-4
LEAST_SWEEPS = 4
"""In each direction: with fewer, a scatter of sweeps is no scatter (common practice, no source)."""
TAKEN_UP_S = 0.028
"""A sweep's first part, in which the slack is only just taken up: less lead at less speed would look like lag."""
FREE = 0.37
"""Of half the way."""
ROUNDS, OUTLIER_SIGMAS = 4, 3.5


@dataclass(frozen=True, eq=False, kw_only=True)
class DrivenLoop:
    """One axis, in the near end's mm.

    far_mm : (n,) the far end in the middle of the loop, on the near end's time; loop_mm, u_mm : with its standard
    uncertainty; lag_s : the far end reads so late in the middle of the log; drift : and later by this share of time
    narrows_mm : how much wider it is at the edge of the middle part than at its centre, with u_narrows_mm
    sweeps : motions it rests on
    """

    far_mm: np.ndarray
    loop_mm: float
    u_mm: float
    lag_s: float
    drift: float
    sweeps: int
    narrows_mm: float
    u_narrows_mm: float


def fit_driven_loop(
    time_s: np.ndarray, near_mm: np.ndarray, far: np.ndarray, *, lag_s: float | None = None
) -> DrivenLoop | None:
    """time (n,) [s] even, near (n,) [mm], far (n, k) as logged. None without enough motions in both directions.

    While the far end slides, near = p(far) + ½ loop · sign(v) + (lag + drift · t) · v. p is a cubic along the way and
    linear across it: angles for millimetres, and what detents and springs ask for at each place, are no loop.
    """
    rate = 1 / float(np.median(np.diff(time_s)))
    v = slope(near_mm, rate, SLOPE_S)
    centred = (time_s - time_s.mean()) / max(float(np.ptp(time_s)), 1e-9)
    lag, drift = _coarse_lag(v, far, rate) if lag_s is None else lag_s, 0.0
    for _ in range(LAG_ROUNDS):
        moved = _later(time_s, far, lag + drift * centred)
        fit = _fit(near_mm, moved, v, centred, rate)
        if fit is None:
            return None
        lag, drift = lag + fit.lag_s, drift + fit.drift
        if np.hypot(fit.lag_s, fit.drift) < SETTLED_S:
            break
    return replace(fit, lag_s=lag, drift=drift / max(float(np.ptp(time_s)), 1e-9))


def _later(time_s: np.ndarray, far: np.ndarray, lag_s: np.ndarray) -> np.ndarray:
    return np.stack([np.interp(time_s + lag_s, time_s, column) for column in far.T], axis=1)


def _coarse_lag(v: np.ndarray, far: np.ndarray, rate_hz: float) -> float:
    """The shift at which the far end's speeds explain most of the near end's [s]."""
    w = slope(far, rate_hz, SLOPE_S)
    step = max(round(COARSE_S * rate_hz), 1)
    reach = min(round(REACH_S * rate_hz), len(v) // 4)

    def explained(k: int) -> float:
        here = slice(reach, len(v) - reach)
        there = w[reach + k : len(w) - reach + k]
        found = np.linalg.lstsq(there, v[here], rcond=None)[0]
        return float(np.sum((there @ found) * v[here]))

    best = max(range(-reach, reach + 1, step), key=explained)
    fine = range(max(best - step, -reach), min(best + step, reach) + 1)
    return max(fine, key=explained) / rate_hz


def _fit(near_mm: np.ndarray, far: np.ndarray, v: np.ndarray, centred: np.ndarray, rate_hz: float) -> DrivenLoop | None:
    ways = far - far.mean(axis=0)
    sweeps_found = _find_sweeps(ways, far, v, rate_hz)
    if sweeps_found is None:
        return None
    sweep, unit = sweeps_found
    columns = np.column_stack([ways, unit**2, unit**3, np.ones(v.size), np.sign(v) / 2, v, v * centred])
    bend = np.sign(v) / 2 * ((unit / FREE) ** 2 - 1 / 3)
    found, covariance, sweeps = _solve(near_mm, columns, sweep)
    bent, bent_covariance, _ = _solve(near_mm, np.column_stack([columns, bend]), sweep)
    places = ways.shape[1] + 3
    return DrivenLoop(
        far_mm=columns[:, :places] @ found[:places], loop_mm=float(found[places]),
        u_mm=float(np.sqrt(covariance[places, places])), lag_s=float(found[places + 1]), drift=float(found[places + 2]),
        sweeps=sweeps, narrows_mm=float(bent[-1]), u_narrows_mm=float(np.sqrt(bent_covariance[-1, -1])),
    )  # fmt: skip


def _find_sweeps(
    ways: np.ndarray, far: np.ndarray, v: np.ndarray, rate_hz: float
) -> tuple[np.ndarray, np.ndarray] | None:
    """(n,) number of the sweep each sample is of, or -1, and (n,) place along the way from -1 to 1."""
    w = slope(far, rate_hz, SLOPE_S)
    quick = np.abs(v) > SLOWEST
    if quick.sum() < 10:
        return None
    along = ways @ np.linalg.lstsq(w[quick], v[quick], rcond=None)[0]
    share = slope(along, rate_hz, SLOPE_S) / np.where(quick, v, np.inf)
    slides = quick & (share > FOLLOWS[0]) & (share < FOLLOWS[1])
    taken = round(TAKEN_UP_S * rate_hz)
    runs = [(a + taken, b) for a, b in find_runs(slides) if b - a >= 3 + taken]
    up = sum(v[a:b].mean() > 0 for a, b in runs)
    if min(up, len(runs) - up) < LEAST_SWEEPS:
        return None
    # Away from the ends, where cones and stops load the cable whichever way it goes.
    unit = 2 * (along - along.min()) / max(float(np.ptp(along)), 1e-9) - 1
    runs = [piece for a, b in runs for piece in _pieces(a, b, np.abs(unit) < FREE)]
    sweep = np.full(v.size, -1)
    for number, (a, b) in enumerate(runs):
        sweep[a:b] = number
    return sweep, unit


def _pieces(first: int, last: int, free: np.ndarray) -> list[tuple[int, int]]:
    """Parts of a run in which the lever is free, of three samples and more."""
    return [(first + a, first + b) for a, b in find_runs(free[first:last]) if b - a >= 3]


def _solve(near_mm: np.ndarray, columns: np.ndarray, sweep: np.ndarray) -> tuple[np.ndarray, np.ndarray, int]:
    """Least squares without rows that lie far off: found, covariance by sweeps (one load each), sweeps."""
    rows = np.flatnonzero(sweep >= 0)
    for _ in range(ROUNDS):
        found = np.linalg.lstsq(columns[rows], near_mm[rows], rcond=None)[0]
        every = np.flatnonzero(sweep >= 0)
        left = near_mm[every] - columns[every] @ found
        sigma = max(1.4826 * float(np.median(np.abs(left - np.median(left)))), 1e-6)
        rows = every[np.abs(left) < OUTLIER_SIGMAS * sigma]
    left = near_mm[rows] - columns[rows] @ found
    inverse = np.linalg.pinv(columns[rows].T @ columns[rows])
    scores = np.stack(
        [columns[rows[mine]].T @ left[mine] for s in np.unique(sweep[rows]) for mine in (sweep[rows] == s,)]
    )
    covariance = inverse @ (scores.T @ scores) @ inverse
    return found, covariance, len(scores)
