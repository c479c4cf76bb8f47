"""Driveline clunk and shuffle: what the car does along the road when the clutch takes up after a shift."""

from collections.abc import Callable

import numpy as np

from shiftlog.measure.jerk import KEY as JERK
from shiftlog.measure.jerk import prepare_jerk
from shiftlog.measure.scene import Scene
from shiftlog.measure.shuffle import DECREMENT, prepare_shuffle
from shiftlog.measure.shuffle import KEYS as SWING
from shiftlog.measure.take_up import NOT_SEEN, find_take_up
from shiftlog.model.reading import Reading, unmeasured
from shiftlog.model.shift import Shift

KEYS = (JERK, *SWING, DECREMENT)
NO_BODY = "no accelerometer at the body whose mounting is known"


def prepare_driveline(scene: Scene) -> Callable[[Shift], tuple[Reading, ...]]:
    """Learn the road once; then jerk and swing of each shift."""
    trace = scene.signals.accel_vehicle.get("body")
    if trace is None:
        why = scene.why_no_accel("body", lacks=NO_BODY)
        return lambda shift: tuple(unmeasured(key, why) for key in KEYS)
    jerk, shuffle = prepare_jerk(scene, trace), prepare_shuffle(scene, trace)

    def measure(shift: Shift) -> tuple[Reading, ...]:
        take_up = find_take_up(shift, scene)
        if isinstance(take_up, str):
            return tuple(unmeasured(key, take_up) for key in KEYS)
        speed = _speed(scene, take_up.earliest_s)
        clunk = jerk(speed, take_up, sure=shift.seen_by != "acceleration")
        readings = (clunk, *shuffle(speed, take_up))
        return readings if take_up.seen else tuple(_unless_seen(reading) for reading in readings)

    return measure


def _unless_seen(reading: Reading) -> Reading:
    """A figure that is missing after a take-up that nothing shows: there may have been none to measure."""
    return reading if reading.why is None else unmeasured(reading.key, f"{reading.why}; {NOT_SEEN}")


def _speed(scene: Scene, at_s: float) -> float | None:
    speed = scene.signals.vehicle_speed
    if speed is None or not speed.time_s.size:
        return None
    return float(abs(np.interp(at_s, speed.time_s, speed.values)))
