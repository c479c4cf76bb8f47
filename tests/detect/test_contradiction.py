"""A gate map that engine and vehicle speed contradict is an error that names what is to blame."""

from dataclasses import replace

import numpy as np
import pytest

from shiftlog.detect.gates import fit_gate_map
from shiftlog.errors import CannotMeasure, ProfileError
from shiftlog.model.trace import Trace

RATIOS = {"1": 3.4, "2": 1.95, "3": 1.35, "4": 1.0, "5": 0.8}


@pytest.fixture
def geared(car):
    return replace(car, ratios=RATIOS, final_drive=dict.fromkeys(RATIOS, 4.0), rolling_radius_m=0.3)


def drive(hand, car, gears=("1", "2", "3", "4", "5", "4", "3", "2")):
    """Through the gears at 12 m/s, the engine at each gear's own speed while it is in."""
    hand.hold(2.5)
    spans = []
    for gear in gears:
        hand.shift(gear)
        spans.append((hand.now_s - 1.5, hand.now_s, 12 * car.rpm_per_mps(gear)))
    time = np.arange(0, hand.now_s, 0.05)
    rpm = np.full(time.size, 900.0)
    for start, end, speed in spans:
        rpm[(time >= start) & (time <= end)] = speed

    def trace(values):
        return Trace(
            time_s=time.copy(), values=values, spans=((0, time[-1]),), rate_hz=20, recording="bus", place="engine"
        )  # fmt: skip

    return {"vehicle_speed": trace(np.full(time.size, 12.0)), "engine_speed": trace(rpm)}


def test_speeds_that_agree_are_no_error(geared, make_hand):
    hand = make_hand(geared)
    speeds = drive(hand, geared)
    gate = fit_gate_map(hand.signals(lever_grows=("right", "forward"), **speeds), geared)
    assert {s.gear for s in gate.seats} == {"1", "2", "3", "4", "5"}


def test_a_tyre_five_per_cent_off_is_no_contradiction(geared, make_hand):
    hand = make_hand(geared)
    speeds = drive(hand, geared)
    fit_gate_map(hand.signals(lever_grows=("right", "forward"), **speeds), replace(geared, rolling_radius_m=0.315))


def test_wrong_directions_are_blamed_on_the_declaration(geared, make_hand):
    hand = make_hand(geared)
    speeds = drive(hand, geared)
    with pytest.raises(ProfileError, match="`grows` of select and engage"):
        fit_gate_map(hand.signals(lever_grows=("left", "rearward"), **speeds), geared)


def test_another_cars_ratios_are_blamed_on_the_profile_with_the_figures(geared, make_hand):
    hand = make_hand(geared)
    speeds = drive(hand, geared)
    with pytest.raises(ProfileError, match=r"2: \d+ rpm per km/h driven, \d+ by the profile"):
        fit_gate_map(
            hand.signals(lever_grows=("right", "forward"), **speeds),
            replace(geared, final_drive=dict.fromkeys(RATIOS, 2.9)),
        )


def test_a_lever_that_lay_in_one_gear_and_in_neutral_makes_no_map(car, make_hand):
    hand = make_hand(car).hold(1.0)
    for select in (20.0, -20.0, 6.0, -1.0):
        hand.move(select, 0.0, 0.2).hold(1.0)
    hand.across("1").push("1").hold(2.0)
    with pytest.raises(CannotMeasure, match="drive through more gears"):
        fit_gate_map(hand.signals(lever_grows=("right", "forward")), car)
