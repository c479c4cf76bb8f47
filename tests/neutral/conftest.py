"""Hand-made results of drives: rests by side, speed and temperature."""

from collections.abc import Callable

import numpy as np
import pytest

from shiftlog.model.car import Car, GateLayout, Plane
from shiftlog.model.drive import DriveHead
from shiftlog.model.gate import GateMap
from shiftlog.model.reading import measured
from shiftlog.model.rest import Rest
from shiftlog.model.result import DriveResult, Summary

LAYOUT = GateLayout(
    planes=(Plane(forward="1", rear="2"), Plane(forward="3", rear="4"), Plane(forward="5", rear="R")), home="3-4"
)
CAR = Car(
    name="Made car", gate=LAYOUT, redline_rpm=7000.0, rolling_radius_m=0.3,
    ratios={"1": 3.5, "2": 2.0, "3": 1.4, "4": 1.0, "5": 0.8, "R": 3.3},
    final_drive=dict.fromkeys(("1", "2", "3", "4", "5", "R"), 4.0),
)  # fmt: skip


@pytest.fixture
def layout() -> GateLayout:
    return LAYOUT


@pytest.fixture
def car() -> Car:
    return CAR


@pytest.fixture
def make_rest() -> Callable[..., Rest]:
    def make(select_mm: float, *, speed: float | None = 0.0, temp: float | None = None, **different) -> Rest:
        index = int(np.argmin([abs(LAYOUT.plane_mm(i) - select_mm) for i in range(3)]))
        readings = [measured("offset_mm", select_mm)]
        readings += [] if speed is None else [measured("vehicle_speed_mps", speed)]
        readings += [] if temp is None else [measured("gearbox_temp_c", temp)]
        plain = {
            "start_s": 10.0, "end_s": 12.1, "select_mm": select_mm, "engage_mm": 0.0, "in_bend": False,
            "plane": LAYOUT.planes[index].name, "released": True, "came_from": "right" if select_mm > 0 else "left",
            "readings": {r.key: r for r in readings}, "moved_mm": 20.0,
        }  # fmt: skip
        return Rest(**(plain | different))

    return make


@pytest.fixture
def make_result() -> Callable[..., DriveResult]:
    def make(*rests: Rest, layout: GateLayout = LAYOUT, **head) -> DriveResult:
        gate = GateMap(
            matrix=np.eye(2), offset=np.zeros(2), orientation="declared", evidence="", scale="relative", seats=(),
            layout=layout, noise_mm=0.1,
        )  # fmt: skip
        return DriveResult(
            head=DriveHead(**({"id": "d1"} | head)), car="Made car", version="0", settings={}, inputs=(),
            clock_recording="lever", clock_zero_s=0.0, recordings=(), left_out=(), gate=gate, gate_why=None, shifts=(),
            rests=rests, rejected=(), summary=Summary(fastest_mps=30.0),
        )  # fmt: skip

    return make
