"""When the clutch takes up after a shift: from the pedal, from engine speed against the wheels, or only roughly."""

from dataclasses import dataclass

import numpy as np

from shiftlog.measure.scene import Scene
from shiftlog.model.car import NEUTRAL
from shiftlog.model.shift import Shift
from shiftlog.model.trace import Trace
from shiftlog.signal.resample import hold_last
from shiftlog.signal.robust import step_noise
from shiftlog.signal.rounding import find_step

WITHIN_S = 3.0
"""A clutch that is still down then is being held."""
STEP_S = 0.01
RATIO_WITHIN = 0.03
"""Engine speed this near to the gear's ratio on average is a locked clutch; tyres and a profile leave so much."""
SWING_S = 0.5
"""A locked engine swings about the ratio, a slipping one stays on one side: told apart over the slowest swing's period.
"""
SWING_MEAN = 0.01
"""A swing's mean over about a period is a small share of it."""
LEAST_SEEN_S = 0.3
"""Where the next shift begins sooner, speeds do not tell a lock from a clutch that slips past the ratio."""
LEAST_MET = 0.005
"""Where engine speed comes to the ratio without passing it, it has met it this near, or within its noise."""
MET_NOISE = 2.0
AFTERWARDS_S = 0.3
"""The twist that the shafts are left with at the lock shows in this time after it."""
LEAST_RATE_HZ = 5.0
LEAST_SPEED_MPS = 2.0
SWITCH_S = 0.8
"""Clutch switches change near the top of the pedal or near the floor: the bite lies this far off, either way."""
LOOSE_S = 1.5
"""With neither clutch nor speeds the clutch is taken to lock within this time of the gear going in."""
GAP_LEAD_S = 0.3
"""The second 50 % point of a drive gap lies in the middle of the rise, which has begun by then."""
NOT_SEEN = (
    "whether and when the clutch took up is not known; log the clutch pedal, or engine and vehicle speed with the "
    "ratio of this gear"
)
"""Beside the reason of a figure that the take-up did not show."""
ROUND_LOCK_S = 0.2
"""How far the lock found from speeds may lie off: their rate, their delay, the width of the ratio's band."""


@dataclass(frozen=True, eq=False, kw_only=True)
class TakeUp:
    """Where to look.

    begin_s : nothing of the take-up lies before; earliest_s, latest_s : between them the clutch locks
    lock_s : when engine speed met the wheels, or None where speeds cannot tell; lock_u_s : its standard uncertainty
    until_s : the next shift begins, or the data end
    seen : whether pedal or speeds show that the clutch took up at all
    """

    begin_s: float
    earliest_s: float
    latest_s: float
    until_s: float
    lock_s: float | None = None
    lock_u_s: float | None = None
    seen: bool = True


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
    lock = _locks(shift, scene, begin_s if up_s is None else max(begin_s, up_s - SWITCH_S), until_s)
    if lock is not None and np.isinf(lock[0]):
        return (
            "engine speed did not meet the wheels: the clutch was held, the car left in neutral, or the ratio of this "
            "gear is not the car's"
        )
    if lock is not None:
        lock_s, lock_u_s = lock
        return TakeUp(
            begin_s=begin_s, earliest_s=max(begin_s, lock_s - ROUND_LOCK_S), latest_s=lock_s + ROUND_LOCK_S,
            until_s=until_s, lock_s=lock_s, lock_u_s=lock_u_s,
        )  # fmt: skip
    if up_s is not None:
        first_s = max(begin_s, up_s - SWITCH_S)
        return TakeUp(begin_s=begin_s, earliest_s=first_s, latest_s=up_s + SWITCH_S, until_s=until_s)
    latest_s = shift.end_s + LOOSE_S
    return TakeUp(begin_s=begin_s, earliest_s=begin_s, latest_s=latest_s, until_s=until_s, seen=False)


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


def _locks(shift: Shift, scene: Scene, from_s: float, until_s: float) -> tuple[float, float] | None:
    """When engine speed meets the ratio and stays about it, and its standard uncertainty [s].

    Infinite where it never does; None where speeds cannot tell.
    """
    engine, speed = scene.signals.engine_speed, scene.signals.vehicle_speed
    gear = shift.from_gear if shift.outcome == "out_and_back" else shift.to_gear
    ratio = scene.rpm_per_mps.get(gear) if gear else None
    if engine is None or speed is None or ratio is None or min(engine.rate_hz, speed.rate_hz) < LEAST_RATE_HZ:
        return None
    at = np.arange(from_s, min(until_s, shift.end_s + WITHIN_S + SWING_S), STEP_S)
    if at.size < LEAST_SEEN_S / STEP_S or not (_held(engine, at[0], at[-1]) and _held(speed, at[0], at[-1])):
        return None
    v = np.abs(np.interp(at, speed.time_s, speed.values))
    if v.min() < LEAST_SPEED_MPS:
        return None
    slip = np.interp(at, engine.time_s, engine.values) / (v * abs(ratio)) - 1
    v_near = float(np.median(v))
    noise = float(np.hypot(step_noise(_near(engine, at)) / (v_near * abs(ratio)), _doubt(_near(speed, at)) / v_near))
    met = _meets(slip, max(LEAST_MET, MET_NOISE * noise))
    if met is None:
        return np.inf, np.inf
    # Slip breaks off at the lock, and where between two samples of either speed it does cannot be seen.
    corner_s = 0.5 / min(engine.rate_hz, speed.rate_hz)
    return float(at[0] + STEP_S * met[0]), float(np.hypot(STEP_S * met[1], corner_s))


def _near(trace: Trace, at: np.ndarray) -> np.ndarray:
    return trace.values[slice(*np.searchsorted(trace.time_s, (at[0], at[-1])))]


def _doubt(values: np.ndarray) -> float:
    """Noise of a speed, or its rounding."""
    return max(step_noise(values), find_step(values) / np.sqrt(12))


def _meets(slip: np.ndarray, close: float) -> tuple[float, float] | None:
    """Place and standard uncertainty, in samples, where slip (n,) meets its later level and swings about it from then.

    The shafts twist and untwist as the clutch locks, so that engine and wheels need not turn alike just then: the place
    is known to as long as slip takes for what it goes on to swing by, at an unknown phase of that swing (U-shaped:
    JCGM 101:2008, 6.4.6). ``close`` : slip as small as this is none.
    """
    ahead = round(SWING_S / STEP_S)
    near = slip[np.abs(slip) < RATIO_WITHIN]
    if near.size < ahead // 2:
        return None
    off = slip - float(np.median(near[-2 * ahead :]))
    sums = np.concatenate(([0.0], np.cumsum(off)))
    stops = np.minimum(np.arange(off.size) + ahead, off.size)
    mean = (sums[stops] - sums[:-1]) / (stops - np.arange(off.size))
    there = np.abs(off) < close
    there[1:] |= off[1:] * off[:-1] < 0
    there &= (np.abs(mean) < max(SWING_MEAN, close)) & (stops - np.arange(off.size) >= ahead // 2)
    if not there.any():
        return None
    place = int(np.argmax(there))
    swings = float(np.abs(off[place : place + round(AFTERWARDS_S / STEP_S)]).max())
    before = max(place - ahead // 5, 0)
    pace = float(np.abs(off[before] - off[place])) / max(place - before, 1)
    return float(place), min(max(swings, close) / max(pace, 1e-6), ahead) / np.sqrt(2)


def _held(trace: Trace, first_s: float, last_s: float) -> bool:
    return any(a <= first_s and last_s <= b + 0.5 for a, b in trace.spans)
