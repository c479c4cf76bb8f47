"""Stretches in which engine speed over vehicle speed stands still, and the ratios at which it does."""

from dataclasses import dataclass

import numpy as np

from shiftlog.detect.idle import find_idle, is_idling
from shiftlog.detect.lag import LEAST_MPS, LEAST_STEPS, LOG_BIN, LOG_HIGH, LOG_LOW
from shiftlog.detect.speeds import Samples, value_at
from shiftlog.signal.density import find_peaks, fit_density

WINDOW_S = 0.5
"""A ratio that has stood this long is settled; where signals are slower, three samples stand for it."""

LONG_WINDOW_S = 1.0
"""A ratio that has stood this long is quiet: slip on the way out of a bend has gone."""

WANDER = 0.03
"""Largest range of the log ratio over the window: tyres, bends and noise stay below it, a slipping clutch
or a coasting car mostly does not."""

KERNEL = 0.01
"""Width of the density's kernel, log ratio: the spread of one gear's ratio in driving (tyre slip, bends)."""

LEAST_APART = 0.08
"""Gears of one box lie at least this far apart in log ratio; two peaks closer than this are one gear."""

REACH = 0.04
"""A settled sample within this of a peak, log ratio, belongs to it."""

LEAST_SETTLED_S = 0.8
"""A ratio must be held this long in all to be called a gear."""

LEAST_CONTRAST = 3.0
"""How many times thicker than around it the samples must lie at a gear's ratio."""

IDLE_SHARE = 0.8
"""A ratio seen with the engine at idle for more than this share of the time is a car that coasts, not a gear."""

FOLLOW_LOW, FOLLOW_HIGH = 0.6, 1.5
"""Change of log vehicle speed over change of log engine speed with the clutch closed is 1; within these."""


@dataclass(frozen=True, eq=False, kw_only=True)
class Settled:
    """Samples of vehicle speed at which the ratio had settled, with engine speed at the same true moment.

    time_s, rpm, mps, weight_s : (n,); weight_s : the time each sample stands for; stretch : (n,) int, one number
    for each unbroken stretch; quiet : (n,) bool, settled over the long window as well; idling : (n,) bool
    """

    time_s: np.ndarray
    rpm: np.ndarray
    mps: np.ndarray
    weight_s: np.ndarray
    stretch: np.ndarray
    quiet: np.ndarray
    idling: np.ndarray


def find_settled(engine: Samples, vehicle: Samples, *, lag_s: float) -> Settled:
    """Samples above walking pace whose ratio stands still over the window."""
    rpm = value_at(engine, vehicle.time_s - lag_s)
    fast = vehicle.values > max(LEAST_MPS, LEAST_STEPS * vehicle.step)
    usable = np.flatnonzero(fast & (np.nan_to_num(rpm) > 1.0))
    ratio = np.log(rpm[usable] / vehicle.values[usable])
    allowed = WANDER + 2 * vehicle.step / vehicle.values[usable] + 4 * vehicle.noise / vehicle.values[usable]
    still, quiet = (
        _range_over(ratio, vehicle.time_s[usable], _samples_in(window, vehicle), vehicle.hole_s) < allowed
        for window in (WINDOW_S, LONG_WINDOW_S)
    )
    kept = usable[still]
    broken = np.concatenate(([True], np.diff(kept) > 1))
    return Settled(
        time_s=vehicle.time_s[kept],
        rpm=rpm[kept],
        mps=vehicle.values[kept],
        weight_s=np.full(kept.size, vehicle.period_s),
        stretch=np.cumsum(broken)[: kept.size],
        quiet=quiet[still],
        idling=is_idling(rpm[kept], find_idle(engine, vehicle)),
    )


def _samples_in(window_s: float, vehicle: Samples) -> int:
    """Samples to either side that make up the window, at least one."""
    return max(1, int(round(window_s / 2 / vehicle.period_s)))


def _range_over(ratio: np.ndarray, time_s: np.ndarray, reach: int, hole_s: float) -> np.ndarray:
    """Range of the ratio over ``reach`` samples to either side, infinite at the ends and across holes."""
    found = np.full(ratio.size, np.inf)
    if ratio.size < 2 * reach + 1:
        return found
    windows = np.lib.stride_tricks.sliding_window_view(ratio, 2 * reach + 1)
    whole = np.lib.stride_tricks.sliding_window_view(np.diff(time_s), 2 * reach).max(axis=1) <= hole_s
    low, high = np.quantile(windows, (0.1, 0.9), axis=1) if reach > 2 else (windows.min(1), windows.max(1))
    found[reach:-reach] = np.where(whole, high - low, np.inf)
    return found


def find_ratio_peaks(settled: Settled, *, bias_mps: float) -> np.ndarray:
    """Log ratios at which the car was driven with the clutch closed, highest first, (k,) [log rpm/(m/s)]."""
    ratio = np.log(settled.rpm / (settled.mps + bias_mps))
    centres, density = fit_density(ratio, settled.weight_s, low=LOG_LOW, high=LOG_HIGH, bin_width=LOG_BIN, width=KERNEL)
    found: list[float] = []
    for peak in find_peaks(density):
        apart = all(abs(centres[peak] - other) > LEAST_APART for other in found)
        if apart and _is_gear(settled, ratio, centres[peak]):
            found.append(float(centres[peak]))
    return np.array(sorted(found, reverse=True))


def _is_gear(settled: Settled, ratio: np.ndarray, centre: float) -> bool:
    """Whether a ratio was held long enough, stands out from what lies around it, and drove the car."""
    off = np.abs(ratio - centre)
    inside = off < REACH / 2
    held_s = settled.weight_s[inside].sum()
    around_s = settled.weight_s[(off >= REACH) & (off < 2 * REACH)].sum() / 2
    if held_s < LEAST_SETTLED_S or np.count_nonzero(inside) < 3 or held_s < LEAST_CONTRAST * around_s:
        return False
    if np.mean(settled.idling[inside]) > IDLE_SHARE:
        return False
    return _follows(settled, off < REACH)


def _follows(settled: Settled, inside: np.ndarray) -> bool:
    """Whether engine and vehicle speed change together within each stretch; true where neither changes."""
    log_rpm, log_mps = np.log(settled.rpm[inside]), np.log(settled.mps[inside])
    _, stretch = np.unique(settled.stretch[inside], return_inverse=True)
    count = np.bincount(stretch)
    rpm_off = log_rpm - (np.bincount(stretch, log_rpm) / count)[stretch]
    mps_off = log_mps - (np.bincount(stretch, log_mps) / count)[stretch]
    moved = np.sqrt(np.mean(mps_off**2))
    if moved < WANDER:
        return True
    slope = np.sum(rpm_off * mps_off) / max(float(np.sum(rpm_off**2)), 1e-12)
    return bool(FOLLOW_LOW < slope < FOLLOW_HIGH)
