"""Over-rev, speeds at a shift and rev mismatch, from drawn signals."""

import math
from dataclasses import replace

import numpy as np
import pytest

from shiftlog.measure.scene import Scene
from shiftlog.measure.speeds import doubt_at, measure_speeds, value_at
from shiftlog.model.car import Car
from shiftlog.model.drive import Signals
from shiftlog.model.settings import Settings
from shiftlog.model.shift import Shift
from shiftlog.model.trace import Trace

RADIUS_M = 0.3
CAR = Car(
    name="test car", gate=None, redline_rpm=6500, ratios={"2": 2.0, "3": 1.4}, final_drive={"2": 4.0, "3": 4.0},
    rolling_radius_m=RADIUS_M,
)  # fmt: skip
TIME = np.arange(0, 20, 0.05)


def trace(values):
    return Trace(
        time_s=TIME.copy(), values=values, spans=((0.0, TIME[-1]),), rate_hz=20.0, recording="bus", place="engine"
    )


def read(speed_mps, rpm, to_gear="2", **more):
    signals = Signals(vehicle_speed=trace(speed_mps), engine_speed=trace(rpm), **more)
    ratios = {g: CAR.rpm_per_mps(g) for g in CAR.ratios}
    shift = Shift(
        number=1, from_gear="3", to_gear=to_gear, start_s=10.0, end_s=10.4, seen_by="lever", outcome="clean"
    )  # fmt: skip
    scene = Scene(signals=signals, car=CAR, path=None, settings=Settings(), rpm_per_mps=ratios)
    return {r.key: r for r in measure_speeds(shift, scene)}


def test_over_rev_is_the_speed_times_the_ratio_against_the_redline():
    """n = v / (2π r) · i_gear · i_final · 60: 25 m/s in second is 6,366 rpm, 26 m/s is 6,621."""
    assert 25 / (2 * math.pi * RADIUS_M) * 8 * 60 == pytest.approx(6366.2, abs=0.1)
    steady = np.full(TIME.size, 4000.0)
    assert read(np.full(TIME.size, 25.0), steady)["over_rev"].value is False
    assert read(np.full(TIME.size, 26.0), steady)["over_rev"].value is True


def test_did_over_rev_is_the_engines_own_speed():
    rpm = np.full(TIME.size, 4000.0)
    assert read(np.full(TIME.size, 20.0), rpm)["did_over_rev"].value is False
    rpm = rpm.copy()
    rpm[(TIME > 10.5) & (TIME < 10.8)] = 6600.0
    assert read(np.full(TIME.size, 20.0), rpm)["did_over_rev"].value is True


def test_locked_wheels_say_nothing_of_the_cars_speed():
    locked = np.where(TIME < 10.2, 30.0, np.maximum(30.0 - 60.0 * (TIME - 10.2), 0.0))
    reading = read(locked, np.full(TIME.size, 4000.0))["over_rev"]
    assert reading.value is None and "locked or spinning" in reading.why


def test_rev_mismatch_is_engine_speed_less_what_the_wheels_ask_for():
    v = np.full(TIME.size, 20.0)
    rpm = np.full(TIME.size, 20.0 * CAR.rpm_per_mps("2") + 300.0)
    assert read(v, rpm)["rev_mismatch_rpm"].value == pytest.approx(300.0, abs=0.5)


def test_speeds_are_those_at_the_start():
    readings = read(TIME * 1.0, 3000.0 + 10 * TIME)
    assert readings["vehicle_speed_mps"].value == pytest.approx(10.0)
    assert readings["engine_speed_rpm"].value == pytest.approx(3100.0)


def test_a_gear_without_a_ratio_is_refused_with_the_mend():
    reading = read(np.full(TIME.size, 20.0), np.full(TIME.size, 3000.0), to_gear="5")["over_rev"]
    assert reading.value is None and "add ratios" in reading.why


def test_the_doubt_of_a_speed_is_its_rounding_and_its_change_over_the_doubt_of_the_instant() -> None:
    """Whole km/h leave at least 1/3.6/√12 m/s; 1,000 rpm a second leave 100 rpm of 0.1 s; a straight line no bend."""
    whole = np.round(20 + 3 * np.sin(TIME / 2)) / 3.6
    assert 0.999 / 3.6 / np.sqrt(12) <= doubt_at(trace(whole), 10.2) < 0.3
    assert doubt_at(trace(1000 * TIME), 10.02) < 1e-6
    assert doubt_at(trace(1000 * TIME), 10.0, instant_u_s=0.1) == pytest.approx(100, rel=0.02)


def test_a_slow_speed_may_have_been_new_since_the_sample_before() -> None:
    """At 2 Hz 1,000 rpm a second leave 1,000 · 0.5 s / √12."""
    slow = replace(trace(1000 * TIME[::10]), time_s=TIME[::10].copy(), rate_hz=2.0)
    assert doubt_at(slow, 10.0) == pytest.approx(1000 * 0.5 / np.sqrt(12), rel=0.05)


def test_the_stated_doubt_of_a_noisy_speed_is_how_far_it_lies_off() -> None:
    """A bent course with 6 rpm of noise, read half way and a quarter of the way between samples."""
    rng = np.random.default_rng(5)
    for at_s in (10.025, 10.0125):
        runs = [trace(3000 + 600 * np.sin(2 * TIME) + rng.normal(0, 6, TIME.size)) for _ in range(400)]
        off = np.array([value_at(run, at_s) - 3000 - 600 * np.sin(2 * at_s) for run in runs])
        said = np.array([doubt_at(run, at_s) for run in runs])
        assert np.sqrt(np.mean(off**2)) == pytest.approx(np.sqrt(np.mean(said**2)), rel=0.15)


def test_a_speed_that_comes_late_is_that_of_the_instant_and_carries_the_doubt_of_it():
    """Speed falls by 2 m/s²; what is logged 0.9 s late at 10 s is the 20 m/s of 9.1 s, 1.8 m/s too much."""
    falling = trace(20.0 - 2.0 * (TIME - 9.1))
    late = replace(falling, late_s=0.9, late_u_s=0.1)
    assert value_at(falling, 10.0) == pytest.approx(18.2)
    assert value_at(late, 10.0) == pytest.approx(16.4)
    assert doubt_at(late, 10.0) == pytest.approx(0.2, rel=0.05)
    assert value_at(late, TIME[-1] - 0.5) is None


def test_one_fix_a_second_has_a_doubt_too():
    """Of a speed that changes by 2 m/s² and is new once a second: 2 · 1 / √12 for how old it is."""
    time_s = np.arange(0.0, 20.0)
    slow = replace(trace(TIME), time_s=time_s, values=20.0 - 0.5 * time_s * 2.0, rate_hz=1.0)
    assert doubt_at(slow, 10.4) == pytest.approx(1.0 / math.sqrt(12), rel=0.05)
