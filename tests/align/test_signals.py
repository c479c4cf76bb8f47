"""Signals: each from the recording that holds it best, turned to the vehicle where that is known."""

from dataclasses import replace

import numpy as np
import pytest

from shiftlog.align.place import place_recordings

TIME = np.arange(1000) / 100
WAVE = np.sin(TIME)


def test_of_two_recordings_the_faster_is_taken(make, logs_of) -> None:
    slow = make("obd", TIME[::20], {"vehicle_speed": WAVE[::20] + 20}, clock="box")
    fast = make("gps", TIME, {"vehicle_speed": WAVE + 20}, clock="box")
    assert place_recordings(logs_of(slow, fast)).signals.vehicle_speed.recording == "gps"


def test_fast_rows_that_repeat_slow_values_do_not_count_as_fast(make, logs_of) -> None:
    held = make("obd", TIME, {"vehicle_speed": np.repeat(WAVE[::10], 10)}, clock="box")
    true = make("gps", TIME[::4], {"vehicle_speed": WAVE[::4] + 0.01}, clock="box")
    drive = place_recordings(logs_of(held, true))
    assert drive.signals.vehicle_speed.recording == "gps"
    alone = place_recordings(logs_of(held)).signals.vehicle_speed
    assert alone.rate_hz == pytest.approx(10.0)
    np.testing.assert_allclose(alone.values, WAVE[::10])
    np.testing.assert_allclose(alone.time_s, TIME[::10])


def test_rows_without_a_value_are_left_out_and_holes_end_a_span(make, logs_of) -> None:
    values = WAVE.copy()
    values[::3] = np.nan
    values[400:500] = np.nan
    trace = place_recordings(logs_of(make("can", TIME, {"engine_speed": values}))).signals.engine_speed
    assert not np.any(np.isnan(trace.values))
    assert len(trace.spans) == 2
    assert trace.spans[1][0] == pytest.approx(5.0 - 0.01)


def test_a_lever_needs_both_axes_and_keeps_its_direction(make, logs_of) -> None:
    grows = {"select": "left"}
    both = make("lever", TIME, {"select": WAVE, "engage": -WAVE}, place="lever", grows=grows)
    signals = place_recordings(logs_of(both)).signals
    np.testing.assert_allclose(signals.lever.values, np.column_stack((WAVE, -WAVE)))
    assert signals.lever_grows == ("left", None)
    assert place_recordings(logs_of(make("lever", TIME, {"select": WAVE}, place="lever"))).signals.lever is None


def test_acceleration_and_yaw_rate_are_turned_to_the_vehicle(make, logs_of) -> None:
    # Sensor: y forward, x to the right, z up, so that vehicle x = y, y = -x, z = z.
    mounting = np.array([[0.0, 1, 0], [-1, 0, 0], [0, 0, 1]])
    forward, left, up = WAVE, np.cos(TIME), np.full(TIME.size, 9.81)
    columns = {"accel_x": -left, "accel_y": forward, "accel_z": up}
    gyro = {"gyro_x": 0 * WAVE, "gyro_y": 0 * WAVE, "gyro_z": WAVE / 2}
    signals = place_recordings(logs_of(make("imu", TIME, columns | gyro, mounting=mounting))).signals
    np.testing.assert_allclose(signals.accel_vehicle["body"].values, np.column_stack((forward, left, up)))
    np.testing.assert_allclose(signals.yaw_rate.values, WAVE / 2)
    np.testing.assert_allclose(signals.accel["body"].values[:, 0], -left)


def test_without_a_mounting_there_are_no_vehicle_axes(make, logs_of) -> None:
    columns = {f"{kind}_{axis}": WAVE + i for i, axis in enumerate("xyz") for kind in ("accel", "gyro")}
    signals = place_recordings(logs_of(make("imu", TIME, columns))).signals
    assert list(signals.accel) == ["body"]
    assert signals.accel_vehicle == {}
    assert signals.yaw_rate is None


def test_an_accelerometer_that_gives_nothing_says_why(make, logs_of) -> None:
    columns = {f"accel_{axis}": WAVE + i for i, axis in enumerate("xyz")}
    other = make("engine", TIME, {"engine_speed": WAVE + 9}, clock="a")
    apart = make("box", TIME, columns, place="gearbox", clock="b")
    (place, why), *_ = place_recordings(logs_of(other, apart)).signals.accel_why.items()
    assert place == "gearbox" and why.startswith("box is not placed on the drive's clock; ")
    del columns["accel_z"]
    dead = make("box", TIME, columns, place="gearbox", clock="a")
    dead = replace(dead, quality=replace(dead.quality, stuck=("accel_z",)))
    assert "box: accel_z never changes" in place_recordings(logs_of(other, dead)).signals.accel_why["gearbox"]
    assert place_recordings(logs_of(other)).signals.accel_why == {}


def test_accelerations_are_kept_apart_by_place(make, logs_of) -> None:
    columns = {f"accel_{axis}": WAVE + i for i, axis in enumerate("xyz")}
    one = make("box", TIME, columns, place="gearbox", clock="c")
    two = make("phone", TIME, columns, place="body", clock="c")
    assert set(place_recordings(logs_of(one, two)).signals.accel) == {"gearbox", "body"}
