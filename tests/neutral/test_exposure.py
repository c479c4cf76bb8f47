"""Engine speeds after a push straight in, against worked examples and by hand."""

import math
from dataclasses import replace

import pytest

from shiftlog.errors import CannotMeasure
from shiftlog.model.car import Car
from shiftlog.neutral.document import report_to_document
from shiftlog.neutral.exposure import find_near_misses, find_reach
from shiftlog.neutral.report import report_neutral
from shiftlog.units import MPS_PER_MPH


def test_a_worked_example_of_speed_gearing_and_tyre(make_rest, make_result, layout):
    """70 mph, final drive 3.55, ratio 1, a tyre of 26 in: 3211 rpm as printed, 3212.68 with exact constants.

    Source: a published road-speed calculator's example, kept with the reference values (gearing and tyres).
    Tolerance: half a turn, the rounding of the exact figure.
    """
    car = Car(
        name="x", gate=layout, redline_rpm=6000.0, ratios={"1": 1.0}, final_drive={"1": 3.55},
        rolling_radius_m=26 * 0.0254 / 2,
    )  # fmt: skip
    ratios = {"1": car.rpm_per_mps("1")}
    [first, _] = find_reach([make_result(make_rest(-25.0))], layout, car, ratios, [70 * MPS_PER_MPH])
    assert first.rpm_at[70 * MPS_PER_MPH] == pytest.approx(3212.68, abs=0.5)


def test_every_gear_straight_from_a_plane_that_was_rested_in(make_rest, make_result, layout, car):
    results = [make_result(make_rest(-24.0), make_rest(-25.0), make_rest(0.0))]
    ratios = {gear: car.rpm_per_mps(gear) for gear in car.ratios}
    reach = find_reach(results, layout, car, ratios, [20.0])
    assert [(r.plane, r.gear, r.rests, r.home) for r in reach] == [
        ("1-2", "1", 2, False), ("1-2", "2", 2, False), ("3-4", "3", 1, True), ("3-4", "4", 1, True),
    ]  # fmt: skip
    first = reach[0]
    by_hand = 20.0 / (2 * math.pi * 0.3) * 3.5 * 4.0 * 60
    assert first.rpm_at[20.0] == pytest.approx(by_hand)
    assert first.over_rev_above_mps == pytest.approx(7000 * 20.0 / by_hand)


def test_missing_ratio_and_redline_are_said(make_rest, make_result, layout, car):
    results = [make_result(make_rest(-24.0))]
    first, second = find_reach(results, layout, car, {"2": 100.0}, [20.0])
    assert first.rpm_at == {} and "ratio" in first.why and second.why is None
    no_redline = find_reach(results, layout, replace(car, redline_rpm=None), {"1": 200.0, "2": 100.0}, [20.0])
    assert no_redline[0].rpm_at and "redline" in no_redline[0].why


def test_ratios_as_driven_that_are_not_the_profiles_are_said(make_rest, make_result, car):
    result = make_result(make_rest(-24.0))
    driven = {gear: 1.12 * car.rpm_per_mps(gear) for gear in car.ratios}
    off = replace(result, summary=replace(result.summary, learnt_rpm_per_mps=driven))
    assert report_neutral([result], car).notes == ()
    [note] = report_neutral([off], car).notes
    assert "1 +12 %" in note and "car.toml" in note


def test_near_misses_are_rests_under_way_above_the_redline_the_worst_first(make_rest, make_result, car):
    rests = [
        make_rest(-24.0, speed=26.7, over_rev_if={"1": 11480.0, "2": 6600.0}, start_s=10.0, end_s=12.1),
        make_rest(-24.0, speed=30.0, over_rev_if={"1": 13000.0, "2": 7400.0}, start_s=50.0, end_s=50.5),
        make_rest(-24.0, speed=0.0, over_rev_if={"1": 9000.0}),
    ]
    misses = find_near_misses([make_result(*rests)], car)
    assert [(m.gear, round(m.rpm)) for m in misses] == [("1", 13000), ("1", 11480), ("2", 7400)]
    assert find_near_misses([make_result(*rests)], replace(car, redline_rpm=None)) == ()


def test_the_report_says_the_moment_as_a_driver_would(make_rest, make_result, car):
    rest = make_rest(-24.0, speed=96 / 3.6, over_rev_if={"1": 11480.0, "2": 6600.0}, start_s=10.0, end_s=12.1)
    report = report_neutral([make_result(rest)], car)
    assert report.says[-1] == (
        "At 96 km/h, 10 s into d1, the lever lay in the 1-2 plane for 2.1 s: first would have meant 11,480 rpm."
    )
    document = report_to_document(report)
    assert document["near_misses"][0]["says"] in report.says[-1].replace("At", "at")
    assert any("clutch held down does not save" in caution for caution in document["cautions"])


def test_every_moment_counts_however_many(make_rest, make_result, car):
    rests = [
        make_rest(-24.0, speed=30.0, over_rev_if={"1": 13000.0, "2": 7400.0}, start_s=10.0 * k, end_s=10.0 * k + 1)
        for k in range(24)
    ]
    report = report_neutral([make_result(*rests)], car)
    assert len(report.near_misses) == 48
    assert "There were 24 such moments in all." in report.says


def test_rests_whose_speed_was_not_logged_are_no_all_clear(make_rest, make_result, car):
    report = report_neutral([make_result(*(make_rest(mm, speed=None) for mm in (-24.0, -24.5, 0.0)))], car)
    assert report.near_misses == () and report.unchecked.startswith("2 rests out of home were not held")
    assert report.says[-1].startswith("2 rests out of home")
    known = report_neutral([make_result(make_rest(-24.0, speed=8.0, over_rev_if={"1": 900.0, "2": 500.0}))], car)
    assert known.unchecked is None


def test_a_gear_whose_ratio_is_not_known_is_named(make_rest, make_result, car):
    report = report_neutral([make_result(make_rest(-24.0, speed=30.0, over_rev_if={"2": 7400.0}))], car)
    assert report.unchecked.startswith("what 1 would have meant is not known")


def test_a_plane_in_which_a_hand_held_the_lever_under_way_stands_in_the_table(make_rest, make_result, layout, car):
    held = make_rest(-24.0, speed=30.0, over_rev_if={"1": 13000.0, "2": 7400.0}, released=False)
    reach = find_reach([make_result(held, make_rest(0.0))], layout, car, {}, [20.0])
    assert [(r.plane, r.rests) for r in reach] == [("1-2", 0), ("1-2", 0), ("3-4", 1), ("3-4", 1)]


def test_drives_without_a_lever_are_refused_with_their_reasons(make_result, car):
    bare = replace(make_result(), gate=None, gate_why="no recording at the lever")
    with pytest.raises(CannotMeasure, match="d1: no recording at the lever"):
        report_neutral([bare], car)


def test_a_drive_without_rests_names_the_release_test(make_result, car):
    assert "release test" in report_neutral([make_result()], car).says[0]


def test_a_lever_held_by_a_hand_does_not_rest_there(make_rest, make_result, layout, car):
    results = [make_result(make_rest(25.0, released=False), make_rest(0.0), make_rest(-25.0, released=None))]
    reach = find_reach(results, layout, car, {}, [])
    assert {r.plane for r in reach} == {"1-2", "3-4"}
