"""Engine and vehicle speed at a shift: over-rev and rev mismatch."""

import numpy as np

from shiftlog.measure.scene import Scene
from shiftlog.model.car import NEUTRAL
from shiftlog.model.reading import Reading, measured, unmeasured
from shiftlog.model.shift import Shift
from shiftlog.model.trace import Trace
from shiftlog.signal.resample import hold_last
from shiftlog.signal.robust import step_noise
from shiftlog.signal.rounding import find_step

# The engine follows the wheels within this time of the gear going in (clutch up, common practice, no source).
FOLLOWS_S = 2.0
LEAST_RATE_HZ = 5.0
# Road tyres hold a little over 1 g, slicks more (common knowledge, no source); looked at over a time in which whole
# km/h or a late sample cannot feign it.
TYRE_LIMIT_MPS2 = 15.0
SLIP_WINDOW_S = 0.4
# Noise is read this far on both sides of an instant, and over no fewer samples; of signals that are new more often than
# the last figure: slower ones change from sample to sample by themselves.
DOUBT_S, DOUBT_SAMPLES = 1.0, 2.5
STEADY_HZ = 4.0
# A parabola strays from its chord over a step h by u (1 − u) / 2 · h² times its bend: its r.m.s. over u.
BEND_SHARE = 1 / np.sqrt(120)
# A driven tyre slips, and its rolling radius is known, to about this share (common practice, no source).
RATIO_SHARE = 0.01


def value_at(trace: Trace, at_s: float) -> float | None:
    """Value at an instant, between samples, where it is known how late they come as of then; None outside the data or
    inside a gap."""
    logged_s = at_s + trace.late_s
    if not any(start <= logged_s <= end for start, end in trace.spans):
        return None
    return float(np.interp(logged_s, trace.time_s, trace.values))


def doubt_at(trace: Trace, at_s: float, *, instant_u_s: float = 0.0) -> float:
    """Standard uncertainty of the value at an instant, which itself is known to ``instant_u_s``, in the trace's unit.

    Its parts: noise of the two samples it is read between, weighed as they are; rounding, which they share; what a
    straight line between them leaves of a bend; the signal's own change over the doubt of the instant and of how late
    it comes. A slow signal may besides have been new at any time since the sample before (rectangular over that wait).
    """
    at_s, reach_s = at_s + trace.late_s, max(DOUBT_S, DOUBT_SAMPLES / trace.rate_hz)
    near = slice(*np.searchsorted(trace.time_s, (at_s - reach_s, at_s + reach_s)))
    time, values = trace.time_s[near], trace.values[near]
    if values.size < 3:
        return 0.0
    steady = trace.rate_hz > STEADY_HZ
    after = int(np.clip(np.searchsorted(time, at_s), 1, time.size - 1))
    share = float(np.clip((time[after] - at_s) / (time[after] - time[after - 1]), 0.0, 1.0))
    noise = step_noise(values) if steady else 0.0
    rounding = find_step(trace.values) / np.sqrt(12)
    slopes = np.gradient(values, time)
    turns = float(np.interp(at_s, time, np.gradient(slopes, time))) / trace.rate_hz**2
    age_s = 0.0 if steady else 1 / (trace.rate_hz * np.sqrt(12))
    moves = abs(float(np.interp(at_s, time, slopes))) * np.linalg.norm((instant_u_s, age_s, trace.late_u_s))
    return float(np.linalg.norm((max(noise * np.hypot(share, 1 - share), rounding), BEND_SHARE * turns, moves)))


def measure_fastest(vehicle_speed: Trace | None) -> float | None:
    """Greatest speed of a drive [m/s], but for the thousandth part above it: wheels may spin, a log may stray."""
    if vehicle_speed is None or not vehicle_speed.values.size:
        return None
    return float(np.quantile(np.abs(vehicle_speed.values), 0.999))


def measure_speeds(shift: Shift, scene: Scene) -> tuple[Reading, ...]:
    """Engine speed, vehicle speed and gearbox temperature at the start; over-rev; rev mismatch."""
    return (
        _at_start("engine_speed_rpm", scene.signals.engine_speed, shift, "engine speed"),
        _at_start("vehicle_speed_mps", scene.signals.vehicle_speed, shift, "vehicle speed"),
        read_temperature(shift.start_s, scene),
        _would_over_rev(shift, scene),
        _did_over_rev(shift, scene),
        _rev_mismatch(shift, scene),
    )


def _at_start(key: str, trace: Trace | None, shift: Shift, words: str) -> Reading:
    if trace is None:
        return unmeasured(key, f"{words} was not logged, or its recording could not be placed in time")
    value = value_at(trace, shift.start_s)
    if value is None:
        return unmeasured(key, f"{words} has a gap here")
    u = doubt_at(trace, shift.start_s, instant_u_s=shift.instant_u_s.get("start_s", 0.0))
    return measured(key, value, uncertainty=u)


def read_temperature(at_s: float, scene: Scene) -> Reading:
    """Gearbox temperature at an instant, as logged, else as typed for the drive."""
    key = "gearbox_temp_c"
    trace = scene.signals.gearbox_temp
    value = value_at(trace, at_s) if trace is not None else scene.typed_temp_c
    if value is None:
        return unmeasured(key, "gearbox temperature was neither logged nor typed into drive.toml")
    return measured(key, value)


def _why_no_gear(shift: Shift, scene: Scene) -> str | None:
    if shift.outcome == "missed":
        return "the gear was not entered"
    if shift.to_gear == NEUTRAL:
        return "the journey ended in neutral"
    if shift.to_gear is None:
        return "the gear entered is not known"
    if shift.end_s is None:
        return "engine and vehicle speed are too slow to show when the gear was in"
    if shift.to_gear not in scene.rpm_per_mps:
        return f"the ratio of gear {shift.to_gear} is not known: add ratios, final drive and tyre to car.toml"
    return None


def _would_over_rev(shift: Shift, scene: Scene) -> Reading:
    key = "over_rev"
    why = _why_no_gear(shift, scene)
    if why:
        return unmeasured(key, why)
    if scene.car.redline_rpm is None:
        return unmeasured(key, "the redline is not known: add redline_rpm to car.toml")
    speed = scene.signals.vehicle_speed and value_at(scene.signals.vehicle_speed, shift.end_s)
    if speed is None:
        return unmeasured(key, "vehicle speed was not logged, or has a gap here")
    if _wheels_slip(scene.signals.vehicle_speed, shift.end_s):
        return unmeasured(key, "the wheels were locked or spinning: their speed is not the car's")
    return measured(key, bool(speed * scene.rpm_per_mps[shift.to_gear] > scene.car.redline_rpm))


def _wheels_slip(speed: Trace, at_s: float) -> bool:
    """Whether the logged speed changes faster than tyres on a road can change the car's."""
    if speed.rate_hz < LEAST_RATE_HZ:
        return False
    first, last = (value_at(speed, at_s + side * SLIP_WINDOW_S / 2) for side in (-1, 1))
    return first is not None and last is not None and abs(last - first) / SLIP_WINDOW_S > TYRE_LIMIT_MPS2


def _did_over_rev(shift: Shift, scene: Scene) -> Reading:
    key = "did_over_rev"
    engine = scene.signals.engine_speed
    if engine is None:
        return unmeasured(key, "engine speed was not logged, or its recording could not be placed in time")
    if scene.car.redline_rpm is None:
        return unmeasured(key, "the redline is not known: add redline_rpm to car.toml")
    until = (shift.end_s or shift.start_s) + FOLLOWS_S
    inside = engine.values[(engine.time_s >= shift.start_s) & (engine.time_s <= until)]
    if not inside.size:
        return unmeasured(key, "engine speed has a gap here")
    return measured(key, bool(inside.max() > scene.car.redline_rpm))


def _rev_mismatch(shift: Shift, scene: Scene) -> Reading:
    key = "rev_mismatch_rpm"
    why = _why_no_gear(shift, scene)
    if why:
        return unmeasured(key, why)
    engine, speed = scene.signals.engine_speed, scene.signals.vehicle_speed
    if engine is None or speed is None:
        return unmeasured(key, "engine speed and vehicle speed are both needed")
    if engine.rate_hz < LEAST_RATE_HZ:
        return unmeasured(key, f"engine speed is new only {engine.rate_hz:.1f} times a second; 5 are needed")
    at = _take_up(shift, scene)
    n, v = value_at(engine, at), value_at(speed, at)
    if n is None or v is None:
        return unmeasured(key, "engine or vehicle speed has a gap here")
    if v < scene.settings.standing_mps:
        return unmeasured(key, "the car stood")
    ratio = scene.rpm_per_mps[shift.to_gear]
    apart_s = shift.instant_u_s.get("end_s", 0.0)
    parts = (doubt_at(engine, at, instant_u_s=apart_s), ratio * doubt_at(speed, at), RATIO_SHARE * ratio * v)
    return measured(key, n - v * ratio, uncertainty=float(np.linalg.norm(parts)))


def _take_up(shift: Shift, scene: Scene) -> float:
    """When the clutch comes up after the gear is in; without a clutch channel, when the gear is in."""
    clutch = scene.signals.clutch
    if clutch is None:
        return shift.end_s
    at = np.arange(shift.end_s, shift.end_s + FOLLOWS_S, 0.01)
    up = np.flatnonzero(hold_last(clutch.time_s, clutch.values, at) < 0.5)
    return float(at[up[0]]) if up.size else shift.end_s
