"""The synchroniser test on made roads: t = J Δω / T with a known slope, through the whole chain."""

import numpy as np
import pytest

from shiftlog.guided.synchroniser import _say
from shiftlog.measure.synchro import SLOPE
from shiftlog.model.result import SynchroRow
from shiftlog.pipeline import load_drive, measure_drive

from .made_road import MadeRoad

ROWS = (("3", "up"), ("2", "down"), ("4", "up"), ("3", "down"))


def _told(made: MadeRoad, folder):
    return measure_drive(load_drive(made.write(folder))).guided


def test_slopes_are_those_of_the_cones(tmp_path):
    made = MadeRoad(seed=1)
    made.synchroniser(each=4)
    (told,) = _told(made, tmp_path / "d")
    errors = [told.figure(SLOPE, f"{gear} {way} hot").value / made.slopes[gear] - 1 for gear, way in ROWS]
    assert np.median(np.abs(errors)) < 0.1


def test_twice_the_torque_of_friction_is_half_the_time(tmp_path):
    told = []
    for k, factor in enumerate((1.0, 2.0)):
        made = MadeRoad(seed=2, slopes={g: factor * s for g, s in {"2": 80.0, "3": 60.0, "4": 50.0}.items()})
        made.synchroniser(each=3)
        told.append(_told(made, tmp_path / str(k))[0])
    ratios = [
        told[1].figure(SLOPE, f"{g} {w} hot").value / told[0].figure(SLOPE, f"{g} {w} hot").value for g, w in ROWS
    ]
    assert np.median(ratios) == pytest.approx(2.0, rel=0.1)


def test_cold_and_hot_stand_beside_one_another(tmp_path):
    made = MadeRoad(seed=3)
    made.slopes = {g: 1.8 * s for g, s in made.slopes.items()}
    made.synchroniser("cold", each=3)
    made.slopes = {g: s / 1.8 for g, s in made.slopes.items()}
    made.synchroniser("hot", each=3)
    cold, hot = _told(made, tmp_path / "d")
    changes = [f for f in hot.figures if f.key == "slope_change"]
    assert len(changes) == len(ROWS) and not [f for f in cold.figures if f.key == "slope_change"]
    assert all(f.value < 0 for f in changes)


def test_a_gear_that_stands_out_is_named(tmp_path):
    made = MadeRoad(seed=4, slopes={"2": 60.0, "3": 180.0, "4": 60.0})
    made.synchroniser(each=4)
    (told,) = _told(made, tmp_path / "d")
    named = [words for _, words in told.points_to]
    assert not [words for words in named if words.startswith(("2 ", "4 "))]


def test_a_span_without_shifts_says_what_to_drive(tmp_path):
    made = MadeRoad(seed=5)
    made.synchroniser(each=1)
    made.marks[0].end_s = made.marks[0].start_s + 1.0
    (told,) = _told(made, tmp_path / "d")
    assert not told.figures and "2-3, 3-2, 3-4 and 4-3" in told.says[0]


def _row(gear: str, slope: float | None, u: float = 2.0) -> SynchroRow:
    interval = None if slope is None else (slope - 2 * u, slope + 2 * u)
    return SynchroRow(
        gear=gear, direction="up", band="hot", side="hub", n=9, shifts=(), reading="", slope_ms_per_krpm=slope,
        u_ms_per_krpm=u, interval95=interval,
    )  # fmt: skip


def test_a_gear_that_was_not_measured_well_enough_is_named_and_not_called_alike():
    says, _ = _say([_row("2", None), _row("3", 30.0), _row("4", 12.0, 280.0)])
    assert says == (
        "No gear of those measured stands out; ms for 1,000 rpm: 3 up hot 30.",
        "Not known of 2 up hot, 4 up hot: see the reasons and intervals.",
    )
    assert _say([_row("3", 12.0, 280.0)])[0][0].startswith("Not known: no slope")
