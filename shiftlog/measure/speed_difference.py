"""The difference in speed that a synchroniser has to take away, where it has to: at the hub of the gear entered."""

from dataclasses import replace
from math import hypot

from shiftlog.measure.clash import hub_rpm
from shiftlog.measure.scene import Scene
from shiftlog.measure.speeds import RATIO_SHARE, doubt_at, value_at
from shiftlog.model.car import NEUTRAL, REVERSE, Car
from shiftlog.model.reading import Reading, measured, unmeasured
from shiftlog.model.shift import Shift

KEY = "speed_difference_rpm"
HUB, ENGINE = "hub", "engine"


def side_of(car: Car, gear: str) -> str:
    """Where the difference of a gear is taken: at its ``hub``, or at the ``engine`` where its ratio is not known."""
    return HUB if gear in car.ratios else ENGINE


def measure_speed_difference(shift: Shift, scene: Scene) -> tuple[Reading]:
    """n_input / i_gear − v · i_final · 60 / (2π r) [rpm], signed; on the engine's side n_input − v · (engine over
    vehicle speed in that gear).

    n_input is the wheels' speed at the start by the ratio of the gear left: until the clutch opened both turned as one.
    The engine has lifted off by then, by some 100 rpm or more; its own speed stands in where no gear of known ratio was
    left. What coasting takes off until the cone grips is not known, and stays in. v is that as the new gear is met.
    """
    why = _why_not(shift, scene)
    if why:
        return (unmeasured(KEY, why),)
    gear, ratio = shift.to_gear, scene.rpm_per_mps[shift.to_gear]
    met_s = next(t for t in (shift.entered_s, shift.end_s, shift.start_s) if t is not None)
    speed = value_at(scene.signals.vehicle_speed, met_s)
    turning = _input_rpm(shift, scene)
    if speed is None or turning is None:
        return (unmeasured(KEY, "engine or vehicle speed has a gap here"),)
    side = side_of(scene.car, gear)
    factor = abs(hub_rpm(scene.car, gear, 1.0, 0.0)) if side == HUB else 1.0
    apart = turning - ratio * speed
    u = factor * _doubt_rpm(shift, scene, apart, met_s)
    return (replace(measured(KEY, factor * apart, uncertainty=u), side=side),)


def _why_not(shift: Shift, scene: Scene) -> str | None:
    if shift.to_gear in (None, NEUTRAL):
        return "no gear was entered, or it is not known which"
    if shift.to_gear == REVERSE:
        return "reverse turns the other way, and is entered standing"
    if scene.signals.vehicle_speed is None:
        return "vehicle speed was not logged, or its recording could not be placed in time"
    if shift.to_gear not in scene.rpm_per_mps:
        return f"the ratio of gear {shift.to_gear} is not known: add ratios, final drive and tyre to car.toml"
    if scene.signals.engine_speed is None and not _by_wheels(shift, scene):
        return "engine speed was not logged, and no gear of known ratio was left"
    return None


def _by_wheels(shift: Shift, scene: Scene) -> bool:
    return shift.from_gear in scene.rpm_per_mps and shift.from_gear != REVERSE and not shift.standing


def _input_rpm(shift: Shift, scene: Scene) -> float | None:
    if not _by_wheels(shift, scene):
        return value_at(scene.signals.engine_speed, shift.start_s)
    speed = value_at(scene.signals.vehicle_speed, shift.start_s)
    return None if speed is None else speed * scene.rpm_per_mps[shift.from_gear]


def _doubt_rpm(shift: Shift, scene: Scene, apart_rpm: float, met_s: float) -> float:
    """Of the difference at the engine: ratios or tyre wrong by a share, which a shift between two gears feels in the
    difference alone; noise and age of the speeds."""
    ratio, wheels, engine = scene.rpm_per_mps[shift.to_gear], scene.signals.vehicle_speed, scene.signals.engine_speed
    if _by_wheels(shift, scene):
        step = abs(scene.rpm_per_mps[shift.from_gear] - ratio)
        return hypot(RATIO_SHARE * apart_rpm, step * doubt_at(wheels, shift.start_s))
    parts = (
        RATIO_SHARE * ratio * abs(value_at(wheels, met_s) or 0.0),
        ratio * doubt_at(wheels, met_s),
        doubt_at(engine, shift.start_s, instant_u_s=shift.instant_u_s.get("start_s", 0.0)),
    )
    return hypot(*parts)
