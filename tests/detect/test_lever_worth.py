"""What a lever known from two motion sensors is good for, and what that does to its figures."""

from dataclasses import replace

import numpy as np
import pytest

from shiftlog.detect.gates import describe_worth, fit_gate_map
from shiftlog.detect.lever import build_path
from shiftlog.detect.rests import find_rests
from shiftlog.detect.shifts import find_lever_shifts
from shiftlog.errors import CannotMeasure, ProfileError
from shiftlog.model.settings import Settings
from shiftlog.synth.recorder import Sensors
from shiftlog.synth.scenario import make_drive

U_UNITS = 4.4
"""0.4 mm of a sensor with 11 counts a millimetre."""


@pytest.fixture(scope="module")
def drive():
    return make_drive(car="hatch5", seed=4, minutes=2.0, sensors=Sensors(gearbox_rate_hz=None, body_rate_hz=None))


def told(drive, lever_u: float | None):
    """Gate map, path, shifts and rests of the same lever, of which so much is known."""
    signals = replace(drive.signals(), lever_u=lever_u)
    gate = fit_gate_map(signals, drive.car)
    path = build_path(signals.lever, gate, Settings())
    shifts = find_lever_shifts(path, signals, drive.car, Settings()).shifts
    return gate, path, shifts, find_rests(path, gate, signals, shifts, (), Settings())


def test_the_part_that_drifts_goes_through_the_map_and_no_smoothing_takes_it_away(drive):
    plain, drifts = told(drive, None), told(drive, U_UNITS)
    assert plain[0].slow_mm == 0.0
    assert drifts[0].slow_mm == pytest.approx(0.4, rel=0.05)
    assert drifts[0].noise_mm == pytest.approx(np.hypot(plain[0].noise_mm, drifts[0].slow_mm))
    assert drifts[1].noise_mm == pytest.approx(np.hypot(plain[1].noise_mm, drifts[0].slow_mm))


def test_every_instant_and_every_rest_carries_it(drive):
    plain, drifts = told(drive, None), told(drive, U_UNITS)
    assert len(plain[2]) == len(drifts[2]) > 5
    for one, other in zip(plain[2], drifts[2], strict=True):
        assert all(other.instant_u_s[name] > u for name, u in one.instant_u_s.items())
    offsets = [r.readings["offset_mm"] for r in drifts[3]]
    assert offsets
    assert all(o.uncertainty == pytest.approx(drifts[0].slow_mm) for o in offsets)
    assert all(r.readings["offset_mm"].uncertainty is None for r in plain[3])


def test_it_is_said_in_millimetres_and_not_said_of_other_sensors(drive):
    assert describe_worth(told(drive, None)[0]) == ()
    assert describe_worth(told(drive, U_UNITS)[0]) == (
        "lever position from two motion sensors: good for 0.4 mm (standard uncertainty)",
    )


def test_a_range_that_is_drift_alone_is_no_lever_that_moves(drive):
    lever = drive.signals().lever
    span = float(np.ptp(lever.values, axis=0).max())
    with pytest.raises(CannotMeasure, match="fix the sensor to the lever"):
        fit_gate_map(replace(drive.signals(), lever_u=span / 6), drive.car)


def test_a_lever_that_could_not_be_had_says_why(drive):
    without = replace(drive.signals(), lever=None, lever_why="the lever's sensor has no fellow on the body")
    with pytest.raises(CannotMeasure, match="no fellow on the body"):
        fit_gate_map(without, drive.car)


@pytest.mark.parametrize("lever_u", [None, U_UNITS])
def test_places_that_fit_no_gate_may_come_of_a_sensor_that_slipped_where_it_can_slip(drive, lever_u):
    signals = drive.signals()
    moved = signals.lever.values + np.where(signals.lever.time_s > 60.0, 80.0, 0.0)[:, None]
    with pytest.raises((CannotMeasure, ProfileError), match=r"\[gate\]") as refused:
        fit_gate_map(replace(signals, lever=replace(signals.lever, values=moved), lever_u=lever_u), drive.car)
    assert ("motion sensors may have turned in its holder" in str(refused.value)) is (lever_u is not None)
