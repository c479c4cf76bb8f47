"""How fast the input shaft turned when the clutch let go of it, and how fast the wheels would have it turn."""

import numpy as np

from shiftlog.measure.scene import Scene
from shiftlog.measure.speeds import value_at
from shiftlog.model.car import NEUTRAL
from shiftlog.model.shift import Shift
from shiftlog.signal.resample import hold_last

LONGEST_OPEN_S = 5.0
"""A clutch that was held down longer has let the shaft stop."""
STEP_S = 0.01


def let_free_rpm(shift: Shift, scene: Scene) -> float | None:
    """Input speed while the clutch was last closed: the engine's then, else the wheels' by the gear left [rpm].

    Where no clutch is logged the lever leaving the old gear stands for it, which ties shaft and wheels until then; the
    engine has lifted off by that time, and its own speed stands in where no gear of known ratio was left.
    """
    at_s = last_closed_s(shift, scene)
    engine, speed = scene.signals.engine_speed, scene.signals.vehicle_speed
    turning = None if engine is None else value_at(engine, at_s)
    ratio = scene.rpm_per_mps.get(shift.from_gear)
    rolling = None if speed is None or ratio is None or shift.standing else value_at(speed, at_s)
    pulled = None if rolling is None else rolling * ratio
    first, second = (pulled, turning) if scene.signals.clutch is None else (turning, pulled)
    return second if first is None else first


def pulled_rpm(shift: Shift, scene: Scene) -> float | None:
    """What the new gear will pull the input shaft to: the wheels' speed times its whole ratio [rpm].

    Without a vehicle speed it follows from the gear left, as the car hardly slows down meanwhile.
    """
    if shift.standing:
        return 0.0
    ratio, speed = scene.rpm_per_mps.get(shift.to_gear), scene.signals.vehicle_speed
    if ratio is None:
        return None
    if speed is not None:
        at_s = next(t for t in (shift.entered_s, shift.end_s, shift.start_s) if t is not None)
        rolling = value_at(speed, at_s)
        return None if rolling is None else rolling * ratio
    turning = let_free_rpm(shift, scene)
    if turning is None or shift.from_gear in (None, NEUTRAL) or shift.from_gear not in scene.rpm_per_mps:
        return None
    return turning * ratio / scene.rpm_per_mps[shift.from_gear]


def last_closed_s(shift: Shift, scene: Scene) -> float:
    """When the clutch was last closed before teeth could meet [s]; a double-declutched shift closes it in neutral."""
    until_s = next(t for t in (shift.entered_s, shift.out_s, shift.start_s) if t is not None)
    clutch = scene.signals.clutch
    if clutch is None:
        return shift.start_s
    at = np.arange(until_s, until_s - LONGEST_OPEN_S, -STEP_S)
    closed = np.flatnonzero(hold_last(clutch.time_s, clutch.values, at) < 0.5)
    return float(at[closed[0]]) if closed.size else shift.start_s
