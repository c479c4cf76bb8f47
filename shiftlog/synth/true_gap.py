"""The true drive gap: how long the car was without drive (or drag), from its own noise-free acceleration."""

import numpy as np
from scipy import signal

from shiftlog.synth.levels import crossings
from shiftlog.synth.vehicle import STEP_S, Motion

LEAST_STEP_MPS2 = 0.3
"""A step below this on either side is no drive gap that anybody could tell from the road's own grade."""
TURNS = 4
"""The levels hang on the gap and the gap on the levels; four turns settle both to under a step."""


def true_gap(motion: Motion, start_s: float, end_s: float) -> tuple[float, float] | None:
    """(start, end) of the gap about a shift from ``start_s`` to ``end_s`` [s], or None where there is no clear one.

    Acceleration low-passed (Butterworth, N = 2 at 3 Hz, zero phase); levels are medians from 0.6 to 0.2 s before the
    gap, over 0.1 s about its middle, and from 0.4 to 1.2 s after it; the gap runs between the 50 % crossings.
    """
    near = slice(max(int((start_s - 3.0) / STEP_S), 0), int((end_s + 4.0) / STEP_S))
    time_s = motion.time_s[near]
    sos = signal.butter(2, 3.0, fs=1 / STEP_S, output="sos")
    smooth = signal.sosfiltfilt(sos, motion.accel_mps2[near])
    gap = (start_s, end_s)
    for _ in range(TURNS):
        found = _between_levels(time_s, smooth, gap)
        if found is None:
            return None
        gap = found
    return gap


def _between_levels(time_s: np.ndarray, smooth: np.ndarray, gap: tuple[float, float]) -> tuple[float, float] | None:
    start_s, end_s = gap
    middle_s = (start_s + end_s) / 2
    before = _median(time_s, smooth, start_s - 0.6, start_s - 0.2)
    within = _median(time_s, smooth, middle_s - 0.05, middle_s + 0.05)
    after = _median(time_s, smooth, end_s + 0.4, end_s + 1.2)
    if before is None or within is None or after is None:
        return None
    steps = (before - within, after - within)
    if min(abs(s) for s in steps) < LEAST_STEP_MPS2 or steps[0] * steps[1] < 0:
        return None
    into = crossings(time_s, smooth, (before + within) / 2, rising=steps[0] < 0)
    back = crossings(time_s, smooth, (after + within) / 2, rising=steps[1] > 0)
    into, back = into[into < middle_s], back[back > middle_s]
    return (float(into[-1]), float(back[0])) if into.size and back.size else None


def _median(time_s: np.ndarray, values: np.ndarray, first_s: float, last_s: float) -> float | None:
    inside = (time_s >= first_s) & (time_s <= last_s)
    return float(np.median(values[inside])) if inside.any() else None
