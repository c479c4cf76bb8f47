"""The clearance test as figures of its own, and before against after through the whole chain."""

import importlib.util
from pathlib import Path

import pytest

from shiftlog.compare.drives import compare_drives
from shiftlog.guided.clearance import SOFT
from shiftlog.pipeline import load_drive, measure_drive

_SPEC = importlib.util.spec_from_file_location(
    "made_clearance_test", Path(__file__).parent.parent / "cables" / "made_test.py"
)
made = importlib.util.module_from_spec(_SPEC)
_SPEC.loader.exec_module(made)


def measured(one, folder):
    return measure_drive(load_drive(one.write(folder)))


def test_every_gear_has_its_clearance_with_what_it_is_worth(tmp_path):
    car = made.MadeTest(seed=7, clearances={"1": 0.4, "2": 2.0, "3": 1.0, "4": 3.0, "5": 1.5, "R": 2.5})
    (test,) = measure_drive(load_drive(car.write(tmp_path / "d"))).guided
    assert test.kind == "clearance" and test.says[0].startswith("Least room in 1: 0.")
    assert "1 0." in test.says[1] and "of 1.5 mm" in test.says[1]
    for figure in test.figures:
        # Four standard uncertainties: six gears, one in sixteen thousand lies beyond by chance.
        assert abs(figure.value - car.clearances[figure.of]) < 4 * figure.uncertainty, figure.of


def test_a_stop_that_gives_has_no_clearance_but_its_reason(tmp_path):
    car = made.MadeTest(seed=11, clearances=dict.fromkeys("12345R", 1.5), soft={"4": 1.6}, presses=5)
    (test,) = measured(car, tmp_path / "d").guided
    assert test.figure("clearance_mm", "4").why == SOFT


@pytest.mark.parametrize(("engage_mm", "least"), [(-1.2, "better"), (0.0, None)])
def test_before_against_after_goes_by_the_tightest_gear(tmp_path, engage_mm, least):
    car = made.MadeTest(seed=21, clearances={"1": 0.3, "2": 2.6, "3": 0.5, "4": 2.4, "5": 0.4, "R": 2.8})
    before, after = (
        measured(one, tmp_path / name) for name, one in (("before", car), ("after", car.turned(engage_mm)))
    )
    rows = {r.group: r for r in compare_drives([before], [after]).rows if r.measure == "clearance_mm"}
    whole = rows["all"]
    assert whole.provisional and whole.counted == "test" and whole.where == "standstill test"
    assert (whole.verdict == "better") == (least == "better") and whole.verdict != "worse"
    if least:
        # From 0.3 mm in first to 1.2 mm in fourth, which the turn brought nearer to its stop.
        assert whole.difference == pytest.approx(0.9, abs=3 * whole.smallest_change / 2)
        # Second went from 2.6 to 1.4 mm, more than the 1 mm that it wants.
        assert rows["1"].verdict == "better" and rows["2"].verdict == "same"
        assert {rows[g].verdict for g in "135"} == {"better"}
