"""Measured drives made by hand, for comparing."""

from collections.abc import Callable

import pytest

from shiftlog.model.drive import DriveHead
from shiftlog.model.reading import measured, unmeasured
from shiftlog.model.result import DriveResult, Summary
from shiftlog.model.shift import Shift


def make_shift(number=1, gears=("2", "3"), time_s=0.4, outcome="clean", **more) -> Shift:
    readings = {"shift_time_s": measured("shift_time_s", time_s) if time_s else unmeasured("shift_time_s", "refused")}
    for key, value in more.pop("figures", {}).items():
        readings[key] = measured(key, value)
    return Shift(
        number=number, from_gear=gears[0], to_gear=gears[1], start_s=10.0 * number, end_s=10.0 * number + 0.5,
        seen_by="lever", outcome=outcome, readings=readings, **more,
    )  # fmt: skip


def make_result(name: str, shifts, car: str = "test car", driver: str | None = None, cold=None) -> DriveResult:
    return DriveResult(
        head=DriveHead(id=name, driver=driver, cold=cold), car=car, version="0", settings={}, inputs=(),
        clock_recording="lever", clock_zero_s=0.0, recordings=(), left_out=(), gate=None, gate_why="none",
        shifts=tuple(shifts), rests=(), rejected=(), summary=Summary(),
    )  # fmt: skip


@pytest.fixture
def shift() -> Callable[..., Shift]:
    return make_shift


@pytest.fixture
def result() -> Callable[..., DriveResult]:
    return make_result
