"""Whether the clutch was held down, from its own channel, else from engine speed against vehicle speed."""

import numpy as np

from shiftlog.model.car import Car
from shiftlog.model.drive import Signals
from shiftlog.signal.resample import hold_last

# Engine speed over vehicle speed within this share of a gear's ratio, held this long, is a closed clutch.
CLOSED_WITHIN = 0.03
CLOSED_FOR_S = 0.15
SLOWEST_MPS = 2.0


def held_throughout(signals: Signals, car: Car, gear: str, start_s: float, end_s: float) -> bool | None:
    """Whether the clutch was down from one instant to another with this gear in; None where nothing tells."""
    if signals.clutch is not None:
        at = np.linspace(start_s, end_s, 20)
        return bool(np.all(hold_last(signals.clutch.time_s, signals.clutch.values, at) > 0.5))
    return _by_ratio(signals, car, gear, start_s, end_s)


def is_up(signals: Signals, at_s: float) -> bool | None:
    """Whether the clutch pedal was up at an instant; None without a clutch channel."""
    if signals.clutch is None:
        return None
    return bool(hold_last(signals.clutch.time_s, signals.clutch.values, np.array([at_s]))[0] < 0.5)


def _by_ratio(signals: Signals, car: Car, gear: str, start_s: float, end_s: float) -> bool | None:
    ratio = car.rpm_per_mps(gear)
    engine, speed = signals.engine_speed, signals.vehicle_speed
    if ratio is None or engine is None or speed is None or min(engine.rate_hz, speed.rate_hz) < 5:
        return None
    at = np.arange(start_s + 0.1, end_s, 0.02)
    v = np.interp(at, speed.time_s, speed.values)
    n = np.interp(at, engine.time_s, engine.values)
    if at.size * 0.02 < CLOSED_FOR_S or v.min() < SLOWEST_MPS:
        return None
    close = np.abs(n / (v * ratio) - 1) < CLOSED_WITHIN
    run = np.convolve(close, np.ones(int(CLOSED_FOR_S / 0.02)), "valid")
    return not bool(run.max(initial=0) >= int(CLOSED_FOR_S / 0.02) - 0.5)
