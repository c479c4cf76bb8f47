"""The gate map: found from the stays in gear, whatever the sensor's axes, and not dragged along by neutral."""

from dataclasses import replace

import numpy as np
import pytest

from shiftlog.detect.gates import fit_gate_map
from shiftlog.errors import CannotMeasure, ProfileError
from shiftlog.model.drive import Signals

LAYOUTS = {
    "four": (("1", "2"), ("3", "4")),
    "five": (("1", "2"), ("3", "4"), ("5", "R")),
    "six": (("R", None), ("1", "2"), ("3", "4"), ("5", "6")),
    "dog-leg": (("R", "1"), ("2", "3"), ("4", "5")),
    "seven": (("R", None), ("1", "2"), ("3", "4"), ("5", "6"), ("7", None)),
}
# Rows: select and engage as read, columns: mm to the right and forward.
SENSORS = {
    "plain": ((11.0, 0.0), (0.0, 11.0)),
    "mirrored": ((-11.0, 0.0), (0.0, 11.0)),
    "turned": ((10.0, -4.0), (4.0, 10.0)),
    "swapped": ((0.0, 11.0), (-11.0, 0.0)),
    "uneven": ((14.0, 1.0), (-1.0, 7.0)),
}


def drive_through(hand, gears, times=2):
    hand.hold(2.5)
    for gear in list(gears) * times:
        hand.shift(gear)
    return hand.out().hold(2.5)


@pytest.mark.parametrize("sensor", SENSORS)
@pytest.mark.parametrize("name", LAYOUTS)
def test_every_seat_is_found_where_the_layout_has_it(make_profile, make_hand, name, sensor):
    car = make_profile(LAYOUTS[name], home=None)
    forward = sorted(g for g in car.gate.gears if g != "R")
    signals = drive_through(make_hand(car), forward).signals(SENSORS[sensor], noise=2.0, lever_grows=grows(sensor))
    gate = fit_gate_map(signals, car)
    assert {s.gear for s in gate.seats} == set(forward)
    for seat in gate.seats:
        assert (seat.select_mm, seat.engage_mm) == pytest.approx(car.gate.position_mm(seat.gear), abs=0.3)


def grows(sensor):
    return {"mirrored": ("left", "forward")}.get(sensor, (None, None) if sensor == "swapped" else ("right", "forward"))


def test_undeclared_mirrored_axes_are_found_from_the_order_of_gears(make_profile, make_hand):
    car = make_profile(LAYOUTS["six"], home="3-4")
    signals = drive_through(make_hand(car), ("1", "2", "3", "4", "5", "6")).signals(SENSORS["mirrored"])
    gate = fit_gate_map(signals, car)
    assert gate.orientation == "found"
    assert gate.matrix[0, 0] < 0 < gate.matrix[1, 1]


def test_where_nothing_tells_right_and_forward_are_assumed_and_said_to_be(make_profile, make_hand):
    car = make_profile(LAYOUTS["four"], home=None)
    signals = make_hand(car).shift("2").shift("3").shift("1").shift("4").shift("2").shift("3").signals()
    gate = fit_gate_map(signals, car)
    assert gate.orientation == "assumed"
    assert "grows" in gate.evidence
    assert gate.matrix[0, 0] > 0 and gate.matrix[1, 1] > 0


def test_a_lever_that_rests_in_the_wrong_plane_does_not_drag_the_map(car, make_hand):
    hand = drive_through(make_hand(car), ("1", "2", "3", "4", "5"))
    for _ in range(6):
        hand.shift("3").out().move(-21.0, 1.0, 0.3).hold(6.0)
    gate = fit_gate_map(hand.signals(lever_grows=("right", "forward")), car)
    for seat in gate.seats:
        assert np.hypot(*seat.off_mm) < 0.2


def test_a_gear_off_its_place_shows_as_a_residual_and_leaves_the_others_alone(car, make_hand):
    hand = make_hand(car).hold(2.0)
    for _ in range(3):
        for gear in ("1", "2", "3", "4"):
            hand.shift(gear)
        hand.out().across("5").move(28.0, 12.0, 0.15).hold(1.5)
        hand.out().across("R").push("R").hold(1.5)
    gate = fit_gate_map(hand.signals(lever_grows=("right", "forward")), car)
    assert gate.seat("5").off_mm == pytest.approx((3.0, -3.0), abs=0.6)
    for gear in ("1", "2", "3", "4"):
        assert np.hypot(*gate.seat(gear).off_mm) < 0.5


def test_a_ruler_keeps_travel_absolute(make_profile, make_hand):
    car = make_profile()
    ruled = replace(car, gate=replace(car.gate, mm_per_unit={"select": 0.08, "engage": 0.08}))
    signals = drive_through(make_hand(car), ("1", "2", "3", "4", "5")).signals(
        ((11.0, 0.0), (0.0, 11.0)), lever_grows=("right", "forward")
    )
    gate = fit_gate_map(signals, ruled)
    assert gate.scale == "absolute"
    forward, rear = gate.seat("3").engage_mm, gate.seat("4").engage_mm
    assert forward - rear == pytest.approx(30 * 11 * 0.08, abs=0.1)


def test_by_a_ruler_short_travel_leaves_the_neutral_line_midway(make_profile, make_hand):
    """Four forward seats and two rearward ones, each 2.3 mm short: the line does not follow the greater number."""
    car = make_profile((("1", "2"), ("3", "4"), ("5", None), ("R", None)))
    ruled = replace(car, gate=replace(car.gate, mm_per_unit={"select": 1 / 11, "engage": 0.85 / 11}))
    signals = drive_through(make_hand(car), ("1", "2", "3", "4", "5", "R")).signals(
        ((11.0, 0.0), (0.0, 11.0)), lever_grows=("right", "forward")
    )
    gate = fit_gate_map(signals, ruled)
    for seat in gate.seats:
        assert abs(seat.engage_mm) == pytest.approx(0.85 * 15, abs=0.15), seat.gear


def test_a_gear_the_profile_lacks_is_an_error_that_says_where(make_profile, make_hand):
    full, lacking = make_profile(LAYOUTS["five"]), make_profile((("1", "2"), ("3", "4"), ("5", None)))
    signals = drive_through(make_hand(full), ("1", "2", "3", "4", "5", "R")).signals(lever_grows=("right", "forward"))
    cut = replace(signals, lever=replace(signals.lever, clipped=signals.lever.values[:, 0] > 10))
    with pytest.raises(CannotMeasure, match=r"\d % of the lever's readings stand at an end of the sensor's range"):
        fit_gate_map(cut, lacking)
    with pytest.raises(ProfileError, match=r"in a gear \w+ at \+2\d mm .* add that gear to planes"):
        fit_gate_map(signals, lacking)


def test_a_lever_that_never_moves_is_refused(car, make_hand):
    with pytest.raises(CannotMeasure, match="does not move"):
        fit_gate_map(make_hand(car).hold(20.0).signals(noise=2.0), car)


def test_no_lever_is_refused(car):
    with pytest.raises(CannotMeasure, match="no lever sensor"):
        fit_gate_map(Signals(), car)
