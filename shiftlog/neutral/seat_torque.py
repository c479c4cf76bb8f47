"""Which way the engine pulls while the lever lies in gear: drive, overrun, or neither for sure."""

from dataclasses import dataclass

import numpy as np

from shiftlog.measure.throttle import find_closed
from shiftlog.model.drive import Signals
from shiftlog.model.trace import Trace
from shiftlog.signal.resample import hold_last

PULLS_MPS2 = 0.4
"""Felt or gained by more than this a car is driven, lost by more than this (with the clutch up) it overruns; slope and
drag are worth less (common practice, no source)."""
BRAKES_MPS2 = 3.0
"""Slowing harder than this the clutch will soon be down."""
SLOWEST_MPS = 2.0
AROUND_S = 0.5
"""A speed's slope is taken over the window and this much on either side."""
OPEN, SHUT = 0.15, 0.03
"""Throttle above its own closed end: driven, and on the overrun."""
GROWS = 0.03
"""Engine speed that gains or loses by more than this share a second (a car in third at 50 km/h by 0.4 m/s²)."""
CLUTCH_DOWN = 0.5
NOTHING_TELLS = (
    "nothing in this drive tells drive from overrun: log a motion sensor at the body with its mounting, vehicle or "
    "engine speed, or the throttle"
)


@dataclass(frozen=True, eq=False, kw_only=True)
class Pull:
    """By window. sign (w,) : +1 driven, −1 on the overrun, 0 not sure; amount (w,) [m/s²] or None; by : what told"""

    sign: np.ndarray
    amount: np.ndarray | None
    by: str


def find_pull(signals: Signals, start_s: np.ndarray, end_s: np.ndarray) -> Pull | str:
    """How the engine pulled in each window (w,), by the best signal there is, or why that cannot be told."""
    usable = _clutch_up(signals, start_s, end_s) & _rolls(signals, start_s, end_s)
    felt = signals.accel_vehicle.get("body")
    if felt is not None:
        amount = _means(felt.time_s, felt.values[:, 0], start_s, end_s) - _level(signals, felt, start_s, end_s)
        return _by_amount(amount, usable, "longitudinal acceleration at the body")
    if signals.accel_forward is not None:
        trace = signals.accel_forward
        return _by_amount(_means(trace.time_s, trace.values, start_s, end_s), usable, "the car's own acceleration")
    if signals.vehicle_speed is not None:
        return _by_amount(_slopes(signals.vehicle_speed, start_s, end_s), usable, "vehicle speed")
    if signals.engine_speed is not None:
        middle = np.interp((start_s + end_s) / 2, signals.engine_speed.time_s, signals.engine_speed.values)
        grows = _slopes(signals.engine_speed, start_s, end_s) / np.maximum(middle, 1.0)
        return Pull(sign=_signs(grows, GROWS, usable), amount=None, by="engine speed")
    if signals.throttle is not None:
        return _by_throttle(signals.throttle, start_s, end_s, usable)
    return NOTHING_TELLS


def _by_amount(amount: np.ndarray, usable: np.ndarray, by: str) -> Pull:
    usable = usable & (amount > -BRAKES_MPS2)
    return Pull(sign=_signs(amount, PULLS_MPS2, usable), amount=amount, by=by)


def _by_throttle(throttle: Trace, start_s: np.ndarray, end_s: np.ndarray, usable: np.ndarray) -> Pull:
    opened = _means(throttle.time_s, throttle.values, start_s, end_s) - find_closed(throttle)
    sign = np.where(opened > OPEN, 1, np.where(opened < SHUT, -1, 0))
    return Pull(sign=np.where(usable & np.isfinite(opened), sign, 0), amount=None, by="throttle")


def _signs(amount: np.ndarray, least: float, usable: np.ndarray) -> np.ndarray:
    known = usable & np.isfinite(amount)
    return np.where(known, np.sign(amount) * (np.abs(np.where(known, amount, 0.0)) > least), 0).astype(int)


def _level(signals: Signals, felt: Trace, start_s: np.ndarray, end_s: np.ndarray) -> float:
    """What the sensor reads too much along the car [m/s²]: felt less gained, median over the drive; roads go up and
    down alike. Nothing without a speed."""
    if signals.vehicle_speed is None:
        return 0.0
    gained = _slopes(signals.vehicle_speed, start_s, end_s)
    over = _means(felt.time_s, felt.values[:, 0], start_s, end_s) - gained
    return float(np.median(over[np.isfinite(over)])) if np.isfinite(over).any() else 0.0


def _clutch_up(signals: Signals, start_s: np.ndarray, end_s: np.ndarray) -> np.ndarray:
    if signals.clutch is None:
        return np.ones(start_s.size, bool)
    at = np.linspace(start_s, end_s, 11)
    held = hold_last(signals.clutch.time_s, signals.clutch.values, at.ravel()).reshape(at.shape)
    return np.all(held < CLUTCH_DOWN, axis=0)


def _rolls(signals: Signals, start_s: np.ndarray, end_s: np.ndarray) -> np.ndarray:
    """A car that stands has its clutch down or its engine off."""
    if signals.vehicle_speed is None:
        return np.ones(start_s.size, bool)
    speed = _means(signals.vehicle_speed.time_s, signals.vehicle_speed.values, start_s, end_s)
    return np.where(np.isfinite(speed), speed, 0.0) > SLOWEST_MPS


def _means(time_s: np.ndarray, values: np.ndarray, start_s: np.ndarray, end_s: np.ndarray) -> np.ndarray:
    """Mean of a signal in each window (w,); where it has no sample there, what lies on a line between its neighbours,
    NaN beyond its ends."""
    total = np.concatenate([[0.0], np.cumsum(values)])
    first, last = np.searchsorted(time_s, start_s), np.searchsorted(time_s, end_s)
    between = np.interp((start_s + end_s) / 2, time_s, values, left=np.nan, right=np.nan)
    count = last - first
    return np.where(count > 0, (total[last] - total[first]) / np.maximum(count, 1), between)


def _slopes(trace: Trace, start_s: np.ndarray, end_s: np.ndarray) -> np.ndarray:
    """Change of a signal a second over each window and a little around it, NaN beyond its ends."""
    low, high = start_s - AROUND_S, end_s + AROUND_S
    before, after = (np.interp(t, trace.time_s, trace.values, left=np.nan, right=np.nan) for t in (low, high))
    return (after - before) / (high - low)
