"""The difference in speed at the hub: constructed speeds, both shafts, and the reasons where it cannot be had."""

from math import pi

import numpy as np
import pytest

from shiftlog.measure.scene import Scene
from shiftlog.measure.speed_difference import ENGINE, HUB, measure_speed_difference, side_of
from shiftlog.model.car import Car
from shiftlog.model.drive import Signals
from shiftlog.model.settings import Settings
from shiftlog.model.shift import Shift
from shiftlog.model.trace import Trace

RATIOS, FINAL, RADIUS_M = {"2": 2.0, "3": 1.4}, 4.0, 0.3


def car(**different) -> Car:
    plain = {"ratios": RATIOS, "final_drive": dict.fromkeys(RATIOS, FINAL), "rolling_radius_m": RADIUS_M}
    return Car(**({"name": "test car", "gate": None} | plain | different))


def steady(value: float) -> Trace:
    time = np.arange(0, 4, 0.05)
    return Trace(
        time_s=time, values=np.full(time.size, value), spans=((0.0, 3.95),), rate_hz=20.0, recording="bus", place="body"
    )  # fmt: skip


def reading(profile: Car, *, engine_rpm: float | None, speed_mps: float, old="N", ratios=None):
    known = ratios or {g: r for g in profile.ratios if (r := profile.rpm_per_mps(g))}
    signals = Signals(engine_speed=None if engine_rpm is None else steady(engine_rpm), vehicle_speed=steady(speed_mps))
    scene = Scene(signals=signals, car=profile, path=None, settings=Settings(), rpm_per_mps=known)
    shift = Shift(number=1, from_gear=old, to_gear="3", start_s=1.0, end_s=1.4, seen_by="lever", outcome="clean")
    return measure_speed_difference(shift, scene)[0]


def test_the_hub_on_the_output_shaft_sees_the_wheels_against_the_gear_wheel():
    # 5,000 rpm over 1.4 is 3,571 rpm; 20 m/s on 0.3 m and a final drive of 4 turn the output at 2,546 rpm.
    expected = 5000 / 1.4 - 20 * FINAL * 60 / (2 * pi * RADIUS_M)
    assert reading(car(), engine_rpm=5000.0, speed_mps=20.0).value == pytest.approx(expected, rel=1e-9)


def test_a_hub_on_the_input_shaft_sees_it_by_the_ratio_more():
    at_output = reading(car(), engine_rpm=5000.0, speed_mps=20.0)
    at_input = reading(car(hub={"3": "input"}), engine_rpm=5000.0, speed_mps=20.0)
    assert at_input.value == pytest.approx(RATIOS["3"] * at_output.value, rel=1e-9)
    assert at_input.uncertainty == pytest.approx(RATIOS["3"] * at_output.uncertainty, rel=1e-9)


def test_without_the_gear_s_own_ratio_it_is_the_engine_s_difference_and_says_so():
    bare = car(ratios={}, final_drive={}, rolling_radius_m=None)
    assert (side_of(bare, "3"), side_of(car(), "3")) == (ENGINE, HUB)
    assert reading(bare, engine_rpm=5000.0, speed_mps=20.0, ratios={"3": 180.0}).value == pytest.approx(1400.0)


def test_the_gear_left_tells_how_fast_the_shaft_turned_whatever_the_engine_does_by_then():
    profile = car()
    expected = reading(profile, engine_rpm=20.0 * profile.rpm_per_mps("2"), speed_mps=20.0).value
    for engine_rpm in (None, 900.0, 7000.0):
        given = reading(profile, engine_rpm=engine_rpm, speed_mps=20.0, old="2")
        assert given.value == pytest.approx(expected, rel=1e-9)


def test_a_tyre_that_is_wrong_by_a_share_is_felt_by_no_more_than_that_share():
    given = reading(car(), engine_rpm=None, speed_mps=20.0, old="2")
    assert given.uncertainty == pytest.approx(0.01 * given.value, rel=1e-6)


def test_out_of_neutral_with_no_engine_speed_there_is_none():
    given = reading(car(), engine_rpm=None, speed_mps=20.0)
    assert given.value is None and "engine speed was not logged" in given.why


def test_a_gear_of_unknown_ratio_says_what_to_add():
    given = reading(car(), engine_rpm=5000.0, speed_mps=20.0, ratios={"2": 100.0})
    assert given.value is None and "car.toml" in given.why


def test_each_difference_says_on_which_side_it_was_taken():
    at_hub = reading(car(), engine_rpm=5000.0, speed_mps=20.0)
    at_engine = reading(car(ratios={"2": 2.0}), engine_rpm=5000.0, speed_mps=20.0, ratios={"3": 178.25})
    assert (at_hub.side, at_engine.side) == (HUB, ENGINE)
    assert at_engine.value == pytest.approx(1.4 * at_hub.value, rel=0.01)
