"""Whether a lever ran a way by itself or was led along it: spring, friction or creep against a hand's smooth move."""

from dataclasses import dataclass

import numpy as np

from shiftlog.signal.braked_return import fit_braked_return
from shiftlog.signal.free_motion import FreeReturn, GuidedMove, fit_free_return, fit_guided_move, fit_half_swing
from shiftlog.signal.steady_run import fit_steady_run

MODEL_SHARE = 0.003
"""No model is right to better than this share of the way."""
EXPLAINED_SHARE = 0.04
"""Where the better model leaves more than this share of the way, neither is this motion, and the shape says little."""
MOST_ODDS = 30.0
SWINGS_MM = 8.0
"""A shorter return says too little of its swing to tell friction from damping."""


@dataclass(frozen=True, eq=False, kw_only=True)
class WayHome:
    """A way from one place to another.

    odds : natural logarithm of the odds that the lever ran by itself, swinging or creeping, 0 where the shape does not
    tell; swing_odds : the same for a swing alone, as a hand that nothing is known of may lead a lever at one speed
    free : the fitted second-order return, None for a lever that crept at one speed; guided : the fitted hand's move
    """

    odds: float
    swing_odds: float
    free: FreeReturn | None
    guided: GuidedMove


def judge_way(time_s: np.ndarray, select_mm: np.ndarray, *, noise_mm: float, rest_mm: float) -> WayHome | None:
    """Judge a stretch that begins just before the lever leaves and ends as it lies; None where it is too short.

    time_s, select_mm : (n,); noise_mm : of one reading; rest_mm : where it then lies
    """
    if time_s.size < 12:
        return None
    guided = fit_guided_move(time_s, select_mm)
    swings = [s for fit in (fit_free_return, fit_half_swing) if (s := fit(time_s, select_mm)) is not None]
    if guided is None or not swings:
        return None
    free = min(swings, key=lambda swing: swing.rms_mm)
    steady_mm = fit_steady_run(time_s, select_mm)
    way = abs(float(select_mm[0]) - rest_mm)
    floor = float(np.hypot(0.5 * noise_mm, MODEL_SHARE * way))
    swing_odds = time_s.size / 2 * float(np.log(np.hypot(guided.rms_mm, floor) / np.hypot(free.rms_mm, floor)))
    best_mm = min(free.rms_mm, np.inf if steady_mm is None else steady_mm)
    odds = time_s.size / 2 * float(np.log(np.hypot(guided.rms_mm, floor) / np.hypot(best_mm, floor)))
    unlike = min(guided.rms_mm, best_mm) / max(float(np.hypot(noise_mm, EXPLAINED_SHARE * way)), 1e-9)
    return WayHome(
        odds=float(np.clip(odds, -MOST_ODDS, MOST_ODDS)) / max(unlike, 1.0) ** 2, swing_odds=swing_odds,
        free=None if best_mm < free.rms_mm else free, guided=guided,
    )  # fmt: skip


def refine_swing(time_s: np.ndarray, select_mm: np.ndarray, free: FreeReturn | None) -> FreeReturn | None:
    """The fitted return with dry friction beside damping, where it is long enough to tell the two apart."""
    if free is None or abs(free.from_mm - free.to_mm) <= SWINGS_MM:
        return free
    return fit_braked_return(time_s, select_mm, free)
