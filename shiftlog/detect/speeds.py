"""Engine speed and vehicle speed brought together: which samples are new, how exact each is, the lag between."""

from dataclasses import dataclass

import numpy as np

from shiftlog.model.trace import Trace
from shiftlog.signal.renewal import find_renewals
from shiftlog.signal.robust import step_noise
from shiftlog.signal.rounding import find_step

HOLE_STEPS = 4.0
"""A wait of this many usual steps is a hole, across which nothing is interpolated."""

LEAST_HOLE_S = 0.5
"""A shorter wait is never a hole: speed cannot change much in it."""

SLOWEST_NOISE_S = 0.3
"""With longer waits the car itself changes speed from sample to sample, and noise cannot be told from it."""


@dataclass(frozen=True, eq=False, kw_only=True)
class Samples:
    """The new samples of one speed signal.

    time_s, values : (n,); period_s : usual wait between new values
    step : the signal's own rounding (0 where finer than its noise); noise : standard deviation of one sample
    as far as it shows, rounding included; hole_s : a longer wait is a hole
    """

    time_s: np.ndarray
    values: np.ndarray
    period_s: float
    step: float
    noise: float
    hole_s: float


def new_samples(trace: Trace) -> Samples:
    """The samples of a trace that are new, with what rounding and noise leave of them."""
    kept = find_renewals(trace.values)
    time_s, values = (trace.time_s, trace.values) if kept is None else (trace.time_s[kept], trace.values[kept])
    waits = np.diff(time_s)
    period_s = float(np.median(waits)) if waits.size else float("inf")
    step = find_step(values)
    shows_noise = not step and period_s <= SLOWEST_NOISE_S
    noise = step_noise(values) if shows_noise else step / np.sqrt(12)
    hole_s = max(LEAST_HOLE_S, HOLE_STEPS * period_s)
    return Samples(time_s=time_s, values=values, period_s=period_s, step=step, noise=noise, hole_s=hole_s)


def value_at(samples: Samples, at_s: np.ndarray) -> np.ndarray:
    """Linear interpolation, (n,), NaN across holes and outside the data."""
    after = np.clip(np.searchsorted(samples.time_s, at_s), 1, samples.time_s.size - 1)
    wait = samples.time_s[after] - samples.time_s[after - 1]
    inside = (at_s >= samples.time_s[0]) & (at_s <= samples.time_s[-1]) & (wait <= samples.hole_s)
    return np.where(inside, np.interp(at_s, samples.time_s, samples.values), np.nan)


def slope_at(samples: Samples, at_s: np.ndarray, *, over_s: float) -> np.ndarray:
    """Rate of change over a window centred on each instant, (n,) [unit/s]; one-sided at the ends of the data."""
    half = max(over_s, 2 * samples.period_s) / 2
    first = np.clip(at_s - half, samples.time_s[0], samples.time_s[-1])
    last = np.clip(at_s + half, samples.time_s[0], samples.time_s[-1])
    rise = np.interp(last, samples.time_s, samples.values) - np.interp(first, samples.time_s, samples.values)
    return rise / np.maximum(last - first, 1e-9)


def bend_at(samples: Samples, at_s: np.ndarray) -> np.ndarray:
    """Largest error of linear interpolation near each instant, an eighth of the second difference, (n,)."""
    bend = np.zeros(samples.values.size)
    bend[1:-1] = np.abs(np.diff(samples.values, n=2)) / 8
    rounding = samples.step / 4
    return np.maximum(np.interp(at_s, samples.time_s, bend) - rounding, 0.0)
