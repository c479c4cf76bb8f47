"""Whether engine speed steps with the gears, as it does only while the wheels turn the engine."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from shiftlog.detect.gate_beside import fit_gate
from shiftlog.detect.lever import build_path
from shiftlog.detect.shifts import find_lever_shifts
from shiftlog.errors import CannotMeasure, ProfileError
from shiftlog.model.car import Car
from shiftlog.model.drive import MarkedTest, Signals
from shiftlog.model.settings import Settings
from shiftlog.model.shift import Shift
from shiftlog.model.trace import Trace

_BEFORE_S, _AFTER_S = (-0.6, -0.1), (0.8, 1.5)
"""About the start of a shift and behind its end, where the clutch has taken up."""

_STEP = 1.08
"""The closest gears of a car are this far apart; an engine at idle steps by less as a lever goes through the gears."""

_LEAST_SHIFTS, _LEAST_SHARE = 8, 0.75
"""Blips at standstill would go the gears' way in a third of the shifts: six of eight by chance in one of fifty."""


def drives_through_gears(signals: Signals, car: Car, tests: Sequence[MarkedTest]) -> bool:
    """Whether engine speed steps with the gears that the lever shows, vehicle speed left aside."""
    signals = replace(signals, vehicle_speed=None)
    if signals.lever is None or signals.engine_speed is None:
        return False
    try:
        gate = fit_gate(signals, car, tests)
    except (CannotMeasure, ProfileError):
        return False
    settings = Settings()
    path = build_path(signals.lever, gate, settings)
    return engine_steps_with_gears(find_lever_shifts(path, signals, car, settings).shifts, signals.engine_speed)


def engine_steps_with_gears(shifts: Sequence[Shift], engine_speed: Trace) -> bool:
    """Whether engine speed falls over upshifts and rises over downshifts, as ratios make it."""
    steps = [step for shift in shifts if (step := _step(shift, engine_speed)) is not None]
    return len(steps) >= _LEAST_SHIFTS and np.mean(np.array(steps) > _STEP) >= _LEAST_SHARE


def _step(shift: Shift, engine_speed: Trace) -> float | None:
    """Engine speed in the lower gear over that in the higher; None where there is no such shift or no value."""
    gears = (shift.from_gear or "", shift.to_gear or "")
    if shift.end_s is None or not all(gear.isdigit() for gear in gears) or gears[0] == gears[1]:
        return None
    before = _level(engine_speed, shift.start_s, _BEFORE_S)
    after = _level(engine_speed, shift.end_s, _AFTER_S)
    if before is None or after is None:
        return None
    return before / after if int(gears[1]) > int(gears[0]) else after / before


def _level(engine_speed: Trace, at_s: float, span_s: tuple[float, float]) -> float | None:
    first, last = np.searchsorted(engine_speed.time_s, (at_s + span_s[0], at_s + span_s[1]))
    level = float(np.median(engine_speed.values[first:last])) if last > first else 0.0
    return level if level > 0 else None
