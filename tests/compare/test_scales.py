"""Millimetres of another scale are no change of the car."""

from dataclasses import replace

import numpy as np
import pytest

from shiftlog.compare.drives import compare_drives
from shiftlog.model.car import GateLayout, Plane
from shiftlog.model.gate import GateMap
from shiftlog.model.guided import Figure, GuidedResult

PLANES = (Plane(forward="1", rear="2"), Plane(forward="3", rear="4"))


@pytest.fixture
def scaled(result, shift):
    """A drive whose profile has a scale of its own, with a release test and shifts of the same hand."""

    def make(name, *, scale="relative", longer=1.0, **layout):
        gate = GateMap(
            matrix=np.eye(2), offset=np.zeros(2), orientation="found", evidence="", scale=scale, seats=(),
            layout=GateLayout(planes=PLANES, home="3-4", **layout), noise_mm=0.1,
        )  # fmt: skip
        offset = Figure(
            key="offset_mm", label="", unit="mm", of="left", value=-20.0 * longer, uncertainty=0.1, interval95=None
        )
        test = GuidedResult(
            kind="release", start_s=0.0, end_s=9.0, configuration=None, figures=(offset,), says=("said",)
        )
        shifts = [shift(k, figures={"approach_speed_mmps": 200.0 * longer}) for k in range(6)]
        return replace(result(name, shifts), gate=gate, guided=(test,))

    return make


def rows_in_mm(comparison):
    return [row for row in comparison.rows if "mm" in row.unit and row.verdict != "too_few"]


@pytest.mark.parametrize(
    "after",
    [
        {"plane_pitch_mm": 32.0, "longer": 1.28},
        {"engage_travel_mm": 40.0, "longer": 1.28},
        {"travel_at": "sensor"},
        {"scale": "absolute", "longer": 1.28},
    ],
)
def test_figures_in_millimetres_of_another_scale_are_left_out(scaled, after):
    found = compare_drives([scaled(f"b{k}") for k in range(3)], [scaled(f"a{k}", **after) for k in range(3)])
    assert rows_in_mm(found) == [] and found.hand is None
    assert any("measure all drives with one car.toml" in said for said in found.caveats)
    times = next(row for row in found.rows if row.measure == "shift_time_s")
    assert (times.n_before, times.n_after) == (18, 18)


def test_a_pitch_read_again_to_half_a_millimetre_is_the_same_scale(scaled):
    found = compare_drives([scaled(f"b{k}") for k in range(3)], [scaled("a", plane_pitch_mm=25.4)])
    assert rows_in_mm(found) and found.caveats == ()
