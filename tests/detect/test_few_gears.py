"""A map of few gears: neutral and one gear are never taken for gears, two gears only with something that says so."""

from dataclasses import replace

import pytest

from shiftlog.detect.gates import fit_gate_map
from shiftlog.errors import CannotMeasure

FIVE = (("1", "2"), ("3", "4"), ("5", "R"))


def _one_gear(hand, car, gear, *, waits_s, stands_s=0.0):
    """Six times from home across the gate, a wait in front of the gear or none, in, and home again.

    stands_s : how long the lever stands at the teeth on its way in
    """
    select, engage = car.gate.position_mm(gear)
    hand.hold(2.0)
    for _ in range(6):
        if select:
            hand.move(select, 0.0, 0.2)
        if waits_s:
            hand.hold(waits_s)
        if stands_s:
            hand.move(select, 0.4 * engage, 0.1).hold(stands_s)
        hand.move(select, engage, 0.15).hold(1.5).move(select, 0.0, 0.15)
        if select:
            hand.move(0.0, 0.0, 0.2)
        hand.hold(1.5)
    return hand


@pytest.mark.parametrize("grows", [(None, None), ("right", "forward")])
@pytest.mark.parametrize("waits_s", [0.0, 0.5])
@pytest.mark.parametrize("gear", ["1", "4", "5", "R"])
def test_neutral_and_one_gear_make_no_map(make_profile, make_hand, gear, waits_s, grows):
    car = make_profile(FIVE, home="3-4")
    signals = _one_gear(make_hand(car), car, gear, waits_s=waits_s).signals(lever_grows=grows)
    with pytest.raises(CannotMeasure, match="neutral and one gear|do not fit the gate"):
        fit_gate_map(signals, car)


@pytest.mark.parametrize("gear", ["1", "5", "R"])
def test_where_the_lever_stands_at_the_teeth_is_no_neutral(make_profile, make_hand, gear):
    car = make_profile(FIVE, home="3-4")
    signals = _one_gear(make_hand(car), car, gear, waits_s=2.0, stands_s=0.35).signals()
    with pytest.raises(CannotMeasure, match="neutral and one gear|do not fit the gate"):
        fit_gate_map(signals, car)


def test_a_ruler_says_whether_two_places_are_two_gears(make_profile, make_hand):
    car = make_profile(FIVE, home="3-4")
    hand = make_hand(car).hold(2.0)
    for _ in range(4):
        hand.shift("3").shift("4")
    signals = hand.signals(((11.0, 0.0), (0.0, 11.0)), lever_grows=("right", "forward"))
    with pytest.raises(CannotMeasure, match="mm_per_unit"):
        fit_gate_map(signals, car)
    ruled = replace(car, gate=replace(car.gate, mm_per_unit={"select": 1 / 11, "engage": 1 / 11}))
    assert {seat.gear for seat in fit_gate_map(signals, ruled).seats} == {"3", "4"}
