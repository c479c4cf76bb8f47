"""When the clutch takes up after a shift: from the pedal, from engine speed against the wheels, or only roughly."""

from dataclasses import dataclass

import numpy as np

from shiftlog.measure.scene import Scene
from shiftlog.model.car import NEUTRAL
from shiftlog.model.shift import Shift
from shiftlog.model.trace import Trace
from shiftlog.signal.crossing import find_runs
from shiftlog.signal.resample import hold_last

WITHIN_S = 3.0
"""A clutch that is still down then is being held."""
STEP_S = 0.01
RATIO_WITHIN, RATIO_FOR_S = 0.03, 0.15
"""Engine speed this near to the gear's ratio, for this long, is a clutch that has locked."""
LEAST_RATE_HZ = 5.0
LEAST_SPEED_MPS = 2.0
SWITCH_S = 0.8
"""Clutch switches change near the top of the pedal or near the floor: the bite lies this far off, either way."""
LOOSE_S = 1.5
"""With neither clutch nor speeds the clutch is taken to lock within this time of the gear going in."""
GAP_LEAD_S = 0.3
"""The second 50 % point of a drive gap lies in the middle of the rise, which has begun by then."""
BAND_U_S = 0.015
"""Standard uncertainty of the instant at which speeds meet, from the band's width at the pace clutches close."""
ROUND_LOCK_S = 0.2
"""How far the lock found from speeds may lie off: their rate, their delay, the width of the ratio's band."""


@dataclass(frozen=True, eq=False, kw_only=True)
class TakeUp:
    """Where to look.

    begin_s : nothing of the take-up lies before; earliest_s, latest_s : between them the clutch locks
    lock_s : when engine speed met the wheels, or None where speeds cannot tell; lock_u_s : its standard uncertainty
    until_s : the next shift begins, or the data end
    """

    begin_s: float
    earliest_s: float
    latest_s: float
    until_s: float
    lock_s: float | None = None
    lock_u_s: float | None = None


def find_take_up(shift: Shift, scene: Scene) -> TakeUp | str:
    """The take-up that follows a shift, or why there is none, in words."""
    why = _why_none(shift, scene)
    if why:
        return why
    begin_s = shift.end_s if shift.seen_by == "lever" else shift.end_s - GAP_LEAD_S
    until_s = min((s.start_s for s in scene.shifts if s.start_s > shift.start_s), default=np.inf)
    up_s = _clutch_up(scene.signals.clutch, shift.end_s, min(until_s, shift.end_s + WITHIN_S))
    if up_s is not None and np.isinf(up_s):
        return "the clutch stayed down"
    lock_s = _locks(shift, scene, begin_s if up_s is None else max(begin_s, up_s - SWITCH_S), until_s)
    if lock_s is not None and np.isinf(lock_s):
        return "engine speed did not meet the wheels: the clutch was held, or the car left in neutral"
    if lock_s is not None:
        return TakeUp(
            begin_s=begin_s, earliest_s=max(begin_s, lock_s - ROUND_LOCK_S), latest_s=lock_s + ROUND_LOCK_S,
            until_s=until_s, lock_s=lock_s, lock_u_s=_lock_u_s(scene),
        )  # fmt: skip
    if up_s is not None:
        first_s = max(begin_s, up_s - SWITCH_S)
        return TakeUp(begin_s=begin_s, earliest_s=first_s, latest_s=up_s + SWITCH_S, until_s=until_s)
    return TakeUp(begin_s=begin_s, earliest_s=begin_s, latest_s=shift.end_s + LOOSE_S, until_s=until_s)


def _lock_u_s(scene: Scene) -> float:
    """Speeds are read between samples, and the band round the ratio is entered a little before they meet."""
    rate_hz = min(scene.signals.engine_speed.rate_hz, scene.signals.vehicle_speed.rate_hz)
    return float(np.hypot(0.5 / rate_hz, BAND_U_S))


def _why_none(shift: Shift, scene: Scene) -> str | None:
    if shift.outcome == "missed":
        return "the gear was not entered, so no clutch took up in it"
    if shift.to_gear == NEUTRAL or shift.outcome in ("to_neutral", "jumped_out"):
        return "the journey ended in neutral: there is no take-up"
    if shift.end_s is None:
        return "the moment the gear was in is not known, so neither is the take-up"
    if shift.standing or _stands(scene, shift.end_s):
        return "the car stood: moving off is no take-up after a shift"
    return None


def _stands(scene: Scene, at_s: float) -> bool:
    speed = scene.signals.vehicle_speed
    if speed is None or not speed.time_s.size:
        return False
    return bool(np.interp(at_s, speed.time_s, speed.values) < scene.settings.standing_mps)


def _clutch_up(clutch: Trace | None, from_s: float, until_s: float) -> float | None:
    """When the pedal comes up, infinite where it does not; None where it was not logged."""
    at = np.arange(from_s, until_s, STEP_S)
    if clutch is None or not at.size or not any(a <= from_s <= b for a, b in clutch.spans):
        return None
    up = np.flatnonzero(hold_last(clutch.time_s, clutch.values, at) < 0.5)
    return float(at[up[0]]) if up.size else np.inf


def _locks(shift: Shift, scene: Scene, from_s: float, until_s: float) -> float | None:
    """When engine speed meets the ratio and stays; infinite where it never does; None where speeds cannot tell."""
    engine, speed = scene.signals.engine_speed, scene.signals.vehicle_speed
    gear = shift.from_gear if shift.outcome == "out_and_back" else shift.to_gear
    ratio = scene.rpm_per_mps.get(gear) if gear else None
    if engine is None or speed is None or ratio is None or min(engine.rate_hz, speed.rate_hz) < LEAST_RATE_HZ:
        return None
    at = np.arange(from_s, min(until_s, shift.end_s + WITHIN_S), STEP_S)
    if not at.size or not (_held(engine, at[0], at[-1]) and _held(speed, at[0], at[-1])):
        return None
    v = np.abs(np.interp(at, speed.time_s, speed.values))
    if v.min() < LEAST_SPEED_MPS:
        return None
    near = np.abs(np.interp(at, engine.time_s, engine.values) / (v * abs(ratio)) - 1) < RATIO_WITHIN
    runs = [run for run in find_runs(near) if (run[1] - run[0]) * STEP_S >= RATIO_FOR_S]
    return float(at[runs[0][0]]) if runs else np.inf


def _held(trace: Trace, first_s: float, last_s: float) -> bool:
    return any(a <= first_s and last_s <= b + 0.5 for a, b in trace.spans)
