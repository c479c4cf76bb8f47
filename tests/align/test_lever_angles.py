"""The lever's angles from two motion sensors against a made car, and what must not change them."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from shiftlog.align import lever_slip
from shiftlog.align.lever_angles import LeverAngles, trace_lever_angles
from shiftlog.align.signals import build_signals
from shiftlog.errors import CannotMeasure
from shiftlog.model.drive import Mounting
from tests.align.made_lever import Fitting, Made, make_two, without

ANYHOW = Rotation.random(2, rng=np.random.default_rng(5))
PLAIN = Fitting(seconds=90.0, lever_turn=ANYHOW[0], body_turn=ANYHOW[1])
"""1.5 mm at the knob of a lever of 300 mm are 0.29 degrees; half of that is left to the gate map."""
MOST_DEG = 0.15


def errors_deg(made: Made, angles: LeverAngles) -> np.ndarray:
    """(n, 2) by which readings miss the truth, a common origin left out."""
    missed = angles.trace.values - made.true_at(angles.trace.time_s)
    return missed - np.median(missed, axis=0)


def fitted_errors_deg(made: Made, angles: LeverAngles) -> np.ndarray:
    """(n, 2) by which they miss it after the affine map that a gate map is."""
    true = made.true_at(angles.trace.time_s)
    known = np.column_stack([angles.trace.values, np.ones(len(true))])
    return true - known @ np.linalg.lstsq(known, true, rcond=None)[0]


CONDITIONS = {
    "plain": {},
    "clock 10 ms and 10 ppm off": {"clock_error_s": 0.01, "drift_ppm": 10.0},
    "clock 60 ms off the other way": {"clock_error_s": -0.06},
    "sensors 0.8 m apart": {"apart": (0.6, 0.4, 0.3)},
    "gyro scales 2 % wrong": {"gyro_scale": 0.02},
    "lever leaning back": {"leaning": (5.0, -25.0, 10.0)},
    "rough road, sensors apart": {"road": 2.5, "apart": (0.6, 0.4, 0.3)},
    "engine shakes the lever": {"engine_shake": 5.0},
    "holes of the body's sensor": {"body_holes": ((20.0, 21.4), (50.0, 50.5), (80.0, 81.0))},
    "holes of the lever's sensor": {"lever_holes": ((20.0, 21.4), (50.0, 50.5), (70.0, 74.0))},
    "bias of 4 deg/s that wanders": {"gyro_bias": 4.0, "gyro_wander": 0.5},
    "100 and 50 Hz": {"lever_hz": 100.0, "body_hz": 50.0},
    "jitter and lost samples": {"jitter_s": 0.001, "lost_share": 0.01},
    "20 s": {"seconds": 20.0},
}


@pytest.mark.parametrize("wrong", CONDITIONS.values(), ids=CONDITIONS)
def test_both_angles_follow_the_lever_and_the_stated_uncertainty_is_honest(wrong):
    made = make_two(replace(PLAIN, **wrong))
    angles = trace_lever_angles(made.placed)
    assert angles.grows == ("right", "forward")
    missed = errors_deg(made, angles)
    assert np.median(np.linalg.norm(missed, axis=1)) < MOST_DEG
    rms = float(np.sqrt(np.mean(missed**2)))
    assert rms / 2.5 < angles.u_deg < max(4 * rms, 0.1)
    assert angles.slips == ()


def test_everything_wrong_at_once_still_makes_a_lever():
    made = make_two(
        replace(
            PLAIN, clock_error_s=0.01, drift_ppm=10.0, apart=(0.6, 0.4, 0.3), gyro_scale=0.02, road=2.5,
            leaning=(5.0, -20.0, 0.0), engine_shake=3.0, jitter_s=0.001, lost_share=0.005,
        )
    )  # fmt: skip
    angles = trace_lever_angles(made.placed)
    assert np.median(np.linalg.norm(errors_deg(made, angles), axis=1)) < 0.29


def test_a_gyro_that_clips_during_shifts_is_mended_by_gravity_between_them():
    quick = replace(PLAIN, shift_s=0.08, gyro_range=60.0)
    made = make_two(quick)
    rates = np.column_stack([made.placed[0].recording.column(f"gyro_{a}") for a in "xyz"])
    assert np.mean(np.abs(rates) >= 0.999 * np.deg2rad(60.0)) > 0.001
    angles = trace_lever_angles(made.placed)
    assert np.median(np.linalg.norm(errors_deg(made, angles), axis=1)) < MOST_DEG


def test_turning_either_sensor_changes_nothing():
    """Sensors without noise and bias, whose own axes would turn with them; what is left is where the solver stops."""
    clean = replace(PLAIN, seconds=40.0, gyro_noise=0, gyro_bias=0, gyro_wander=0, accel_noise=0, accel_bias=0)
    first = trace_lever_angles(make_two(clean).placed).trace.values
    for turns in ({"lever_turn": ANYHOW[1]}, {"body_turn": ANYHOW[0] * ANYHOW[1]}):
        other = trace_lever_angles(make_two(replace(clean, **turns)).placed).trace.values
        assert first == pytest.approx(other, abs=1e-3)


def test_a_lever_that_comes_back_reads_the_same_minutes_later():
    made = make_two(replace(PLAIN, seconds=300.0, lever_hz=100.0, body_hz=50.0, gyro_bias=2.0))
    angles = trace_lever_angles(made.placed)
    true = made.true_at(angles.trace.time_s)
    in_gear = np.linalg.norm(true - [0.0, -4.5], axis=1) < 0.01
    early, late = in_gear & (angles.trace.time_s < 100), in_gear & (angles.trace.time_s > 200)
    assert early.sum() > 200 and late.sum() > 200
    apart = np.median(angles.trace.values[late], axis=0) - np.median(angles.trace.values[early], axis=0)
    assert np.abs(apart) == pytest.approx(0.0, abs=0.1)


def test_a_still_lever_in_a_driven_car_reads_still():
    made = make_two(replace(PLAIN, moves=False))
    angles = trace_lever_angles(made.placed)
    assert np.all(np.std(angles.trace.values, axis=0) < MOST_DEG)


def test_standing_with_a_body_mounting_the_sides_cannot_be_known_but_the_angles_can():
    """Nothing but gravity tells: the turn about the vertical stays open."""
    made = make_two(replace(PLAIN, parked=True))
    angles = trace_lever_angles(made.placed)
    assert angles.grows == (None, None)
    assert np.median(np.linalg.norm(fitted_errors_deg(made, angles), axis=1)) < MOST_DEG


def test_standing_with_both_mountings_declared_the_sides_are_known():
    made = make_two(replace(PLAIN, parked=True))
    lever, body = made.placed
    declared = Mounting(rotation=ANYHOW[0].as_matrix(), how="declared", confidence=1.0)
    angles = trace_lever_angles((replace(lever, mounting=declared), body))
    assert angles.grows == ("right", "forward")
    assert np.median(np.linalg.norm(errors_deg(made, angles), axis=1)) < 0.29


def test_without_a_body_mounting_the_axes_are_those_it_turned_about_most():
    made = make_two(replace(PLAIN, mounting_known=False))
    angles = trace_lever_angles(made.placed)
    assert angles.grows == (None, None)
    assert np.median(np.linalg.norm(fitted_errors_deg(made, angles), axis=1)) < MOST_DEG


def test_a_doubtful_mounting_declares_no_sides():
    lever, body = make_two(PLAIN).placed
    doubtful = replace(body.mounting, how="gravity and speed", confidence=0.6)
    assert trace_lever_angles((lever, replace(body, mounting=doubtful))).grows == (None, None)


def test_a_top_that_goes_forward_and_right_reads_positive():
    """ISO 8855: x forward, y to the left, z up; a turn about +y moves the top forward, about +x to the right."""
    about_y, about_x = Rotation.from_euler("y", 5, degrees=True), Rotation.from_euler("x", 5, degrees=True)
    assert about_y.apply([0, 0, 1])[0] > 0 and about_x.apply([0, 0, 1])[1] < 0
    made = make_two(PLAIN)
    angles = trace_lever_angles(made.placed)
    true = made.true_at(angles.trace.time_s)
    for axis in (0, 1):
        assert np.corrcoef(true[:, axis], angles.trace.values[:, axis])[0, 1] > 0.999


SLIP = replace(PLAIN, slip_s=44.0)
TURNED = {"as the lever goes": (0.0, 3.0, 0.0), "askew": (1.5, -2.0, 1.7), "by 2": (2.0, 0.0, 0.0)}


@pytest.mark.parametrize("turn", TURNED.values(), ids=TURNED)
@pytest.mark.parametrize("of_lever", [False, True], ids=["body", "lever"])
def test_a_sensor_that_slips_is_found_said_and_mended(of_lever, turn):
    made = make_two(replace(SLIP, **{"lever_slip" if of_lever else "body_slip": turn}))
    angles = trace_lever_angles(made.placed)
    (slip,) = angles.slips
    assert slip.of_lever is of_lever
    assert slip.at_s == pytest.approx(44.15, abs=0.3)
    assert slip.turned_deg == pytest.approx(np.linalg.norm(turn), abs=0.3)
    missed = errors_deg(made, angles)
    assert np.median(np.linalg.norm(missed, axis=1)) < MOST_DEG
    rms = float(np.sqrt(np.mean(missed**2)))
    assert rms / 2.5 < angles.u_deg < max(4 * rms, 0.15)
    (line,) = build_signals(made.placed).lever_slips
    assert line.startswith("lever.csv" if of_lever else "phone.csv")
    assert f"about {slip.turned_deg:.1f}° at {slip.at_s:.1f} s" in line


def test_sensors_that_lie_loose_are_refused_with_that_reason(monkeypatch):
    monkeypatch.setattr(lever_slip, "MOST_SLIPS", 0)
    with pytest.raises(CannotMeasure, match="turned in their holders more than 0 times; fix both firmly"):
        trace_lever_angles(make_two(replace(SLIP, body_slip=(0.0, 3.0, 0.0))).placed)


def test_an_engine_that_rolls_on_its_mounts_is_no_slip():
    """A sensor on the gearbox turns by itself as torque comes; only places of the lever tell, and here there is one."""
    lever, body = make_two(replace(SLIP, seconds=60.0, moves=False, body_slip=(0.0, 2.0, 0.0))).placed
    rolls = replace(body, recording=replace(body.recording, place="gearbox"))
    assert len(trace_lever_angles((lever, body)).slips) == 1
    assert trace_lever_angles((lever, rolls)).slips == ()


@pytest.mark.parametrize("told_s", [44.15, 50.0, 38.0])
def test_a_slip_known_from_driving_takes_its_instant_and_what_driving_left_of_it_from_the_gyros(told_s):
    """The mounting after it a degree off, as driving may tell it."""
    made = make_two(replace(SLIP, body_slip=(0.0, 8.0, 0.0)))
    lever, body = made.placed
    off = Rotation.from_euler("xy", [0.7, -0.7], degrees=True)
    after = off * PLAIN.body_turn * Rotation.from_euler("y", 8.0, degrees=True)
    known = replace(body.mounting, slipped_at_s=told_s, later=((told_s, after.as_matrix()),))
    angles = trace_lever_angles((lever, replace(body, mounting=known)))
    (slip,) = angles.slips
    assert slip.at_s == pytest.approx(44.15, abs=0.3)
    assert slip.turned_deg == pytest.approx(8.0, abs=0.3)
    assert np.median(np.linalg.norm(errors_deg(made, angles), axis=1)) < MOST_DEG
    assert angles.u_deg < 0.3


def test_nothing_is_read_across_a_hole_of_the_levers_sensor():
    angles = trace_lever_angles(make_two(replace(PLAIN, lever_holes=((30.0, 33.0),))).placed)
    assert len(angles.trace.spans) == 2
    assert not np.any((angles.trace.time_s > 30.0) & (angles.trace.time_s < 33.0))


def test_a_drive_without_a_motion_sensor_on_the_lever_has_no_lever_angles():
    assert trace_lever_angles(make_two(PLAIN).placed[1:]) is None


@pytest.mark.parametrize("channels", [("gyro",), ("accel",)])
def test_a_body_that_logs_only_half_of_it_is_said_to(channels):
    with pytest.raises(CannotMeasure, match="fit a second one"):
        trace_lever_angles(without(make_two(PLAIN), *channels, place="body"))


def test_a_body_on_an_unknown_clock_is_named():
    lever, body = make_two(PLAIN).placed
    adrift = replace(body, clock=replace(body.clock, offset_s=None, how="not placed", why="phone shares nothing"))
    with pytest.raises(CannotMeasure, match="phone on the drive's clock: phone shares nothing"):
        trace_lever_angles((lever, adrift))


def test_signals_hold_the_lever_its_sides_and_what_it_is_good_for_or_why_it_is_not_there():
    made = make_two(PLAIN)
    signals = build_signals(made.placed)
    assert signals.lever.recording == "lever"
    assert signals.lever.rate_hz == pytest.approx(200.0, rel=0.01)
    assert signals.lever_grows == ("right", "forward")
    assert 0.0 < signals.lever_u < MOST_DEG
    alone = build_signals(made.placed[:1])
    assert alone.lever is None
    assert "second one" in alone.lever_why
