"""Sensors: what is drawn from the path comes back by their own declared figures."""

from dataclasses import replace

import numpy as np
import pytest

from shiftlog.synth.recorder import Sensors, lever_matrix, mounting, sample_times
from shiftlog.synth.scenario import make_drive

TURNED = Sensors(lever_turn_deg=8.0, lever_mirror=(-1, 1), lever_stretch=(1.2, 0.9), gearbox_rate_hz=400.0)


@pytest.fixture(scope="module")
def drive():
    return make_drive(car="hatch5", seed=4, health="healthy", minutes=1.0, sensors=TURNED)


def test_counts_are_the_path_through_the_declared_matrix(drive):
    """Residual after the best offset is noise of 2 counts and rounding: 2.02 counts."""
    lever = drive.recordings[0]
    place = np.stack([np.interp(lever.time_s, drive.lever.time_s, drive.lever.path[:, k]) for k in (0, 1)], axis=1)
    counts = np.stack([lever.columns["select"], lever.columns["engage"]], axis=1)
    rest = counts - place @ lever_matrix(TURNED).T
    assert rest.std(axis=0) == pytest.approx([2.02, 2.02], rel=0.03)


def test_declared_growth_is_true(drive):
    lever = drive.recordings[0]
    right = np.corrcoef(lever.columns["select"], np.interp(lever.time_s, drive.lever.time_s, drive.lever.path[:, 0]))[
        0, 1
    ]
    assert (lever.grows["select"] == "right") == (right > 0)
    assert lever.grows["engage"] == "forward"


def test_standing_car_feels_gravity_upwards_through_the_declared_mounting(drive):
    """ISO 8855: at rest and level +9.81 m/s² on z; 0.02 for noise and rounding over a second."""
    for place in ("gearbox", "body"):
        trace = drive.signals().accel_vehicle[place]
        standing = trace.values[trace.time_s < 2.0].mean(axis=0)
        assert standing == pytest.approx([0.0, 0.0, 9.80665], abs=0.02)


def test_mounting_is_a_rotation():
    rotation = mounting((30.0, -20.0, 75.0))
    assert rotation @ rotation.T == pytest.approx(np.eye(3))
    assert np.linalg.det(rotation) == pytest.approx(1.0)


def test_lost_samples_and_jitter_keep_time_in_order():
    rng = np.random.default_rng(2)
    time_s = sample_times(20.0, 250.0, jitter_s=0.002, lost_share=0.05, rng=rng)
    assert np.all(np.diff(time_s) > 0) and time_s[0] == 0.0
    assert 0.93 < time_s.size / 5000 < 0.97


def test_body_clock_runs_as_declared(drive):
    phone = next(r for r in drive.recordings if r.name == "phone")
    lever = drive.recordings[0]
    apart = phone.recorder_time_s - phone.time_s
    assert apart[0] == pytest.approx(lever.offset_s + TURNED.body_offset_s)
    drift = (apart[-1] - apart[0]) / (phone.time_s[-1] - phone.time_s[0])
    assert drift == pytest.approx(TURNED.body_drift_ppm * 1e-6, rel=1e-6)


def test_gps_speed_comes_seldom_and_late():
    sensors = replace(TURNED, bus_rate_hz=None, gps_rate_hz=5.0, speed_lag_s=0.3, gearbox_rate_hz=None)
    drive = make_drive(car="hatch5", seed=4, minutes=1.0, sensors=sensors)
    speed = drive.signals().vehicle_speed
    assert speed.rate_hz == pytest.approx(5.0, rel=0.02)
    lags = np.arange(0.0, 0.8, 0.05)
    true = [np.interp(speed.time_s - lag, drive.motion.time_s, np.abs(drive.motion.speed_mps)) for lag in lags]
    errors = [np.mean((speed.values - t) ** 2) for t in true]
    assert lags[int(np.argmin(errors))] == pytest.approx(0.3, abs=0.051)
