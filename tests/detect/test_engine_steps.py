"""Engine speed that steps with the gears, and one that does not."""

import numpy as np
import pytest

from shiftlog.detect.engine_steps import engine_steps_with_gears
from shiftlog.model.shift import Shift
from shiftlog.model.trace import Trace

GEARS = ["1", "2", "3", "4", "3", "2", "3", "4", "5", "4"]
TIME = np.arange(0, 100, 0.05)


def shifts(gears: list[str]) -> list[Shift]:
    pairs = zip(gears, gears[1:], strict=False)
    return [
        Shift(number=k, from_gear=a, to_gear=b, start_s=8.0 * k, end_s=8.0 * k + 0.6, seen_by="lever", outcome="clean")
        for k, (a, b) in enumerate(pairs, start=1)
    ]


def engine(rpm_in: dict[str, float]) -> Trace:
    gear = np.array(GEARS)[np.minimum((TIME / 8).astype(int), len(GEARS) - 1)]
    values = np.array([rpm_in[g] for g in gear])
    return Trace(recording="bus", place="engine", time_s=TIME, values=values, rate_hz=20.0, spans=((0.0, 100.0),))


def test_revs_that_fall_up_and_rise_down_are_a_drive() -> None:
    rpm = {"1": 4000.0, "2": 3300.0, "3": 2700.0, "4": 2300.0, "5": 2000.0}
    assert engine_steps_with_gears(shifts(GEARS), engine(rpm))
    assert not engine_steps_with_gears(shifts(GEARS)[:7], engine(rpm))
    assert not engine_steps_with_gears(shifts(GEARS), engine({g: 6000 - r for g, r in rpm.items()}))


@pytest.mark.parametrize("gears", [GEARS, ["N", *GEARS[1:-1], "R"]])
def test_an_engine_at_idle_does_not_step(gears: list[str]) -> None:
    assert not engine_steps_with_gears(shifts(gears), engine(dict.fromkeys("12345", 850.0)))
