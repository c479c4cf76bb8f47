"""A vehicle speed that never changes, and what in the drive contradicts it."""

import numpy as np
import pytest

from shiftlog.align.place import place_recordings
from shiftlog.align.still_speed import find_contradictions, without_speeds
from shiftlog.model.drive import DriveLogs

TIME = np.arange(0, 120, 0.1)
REVS = 2500 + 900 * np.sin(TIME / 5)
FLAT = np.tile([0.3, -0.2, 9.8], (TIME.size, 1))


def bus(make, mps: float, **more):
    columns = {"engine_speed": REVS, "vehicle_speed": np.full(TIME.size, mps)}
    return make("bus", TIME, columns, place="engine", clock="box", **more)


def phone(make, accel: np.ndarray, **speed: np.ndarray):
    columns = dict(zip(("accel_x", "accel_y", "accel_z"), accel.T, strict=True))
    return make("phone", TIME, {**columns, **speed}, place="body", clock="box")


def driving(rms_mps2: float) -> np.ndarray:
    """What a car feels that speeds up and slows down, over engine and road."""
    shake = np.random.default_rng(2).normal(0, 0.6, FLAT.shape)
    return FLAT + shake + np.outer(np.sqrt(2) * rms_mps2 * np.sin(TIME / 1.3), [1.0, 0.1, 0.0])


def contradicted(*recordings, logs_of) -> dict[str, str]:
    return dict(find_contradictions(place_recordings(logs_of(*recordings)).placed))


def test_acceleration_contradicts_a_car_at_rest(make, logs_of) -> None:
    found = contradicted(bus(make, 0.0), phone(make, driving(1.0)), logs_of=logs_of)
    assert found == {"bus": "the accelerometer of phone felt"}
    assert not contradicted(bus(make, 14.0), phone(make, driving(1.0)), logs_of=logs_of)


def test_a_car_at_rest_that_shakes_or_a_phone_that_is_taken_up_contradicts_nothing(make, logs_of) -> None:
    held = driving(0.0)
    held[:200] = held[:200, ::-1]
    held[210:230] += 3.0
    assert not contradicted(bus(make, 0.0), phone(make, held), logs_of=logs_of)


@pytest.mark.parametrize("mps", [0.0, 14.0])
def test_another_speed_contradicts_whatever_the_value(make, logs_of, mps: float) -> None:
    gps = make("gps", np.arange(0, 120.0), {"vehicle_speed": 12 + 10 * np.sin(np.arange(120) / 9)}, clock="box")
    assert contradicted(bus(make, mps), gps, logs_of=logs_of) == {"bus": "the speed in gps shows"}
    same = make("gps", np.arange(0, 120.0), {"vehicle_speed": np.full(120, mps)}, clock="box")
    assert not contradicted(bus(make, mps), same, logs_of=logs_of)


def test_what_is_on_no_drive_time_contradicts_nothing(make, logs_of) -> None:
    placed = place_recordings(logs_of(bus(make, 0.0), phone(make, driving(1.0)))).placed
    assert not find_contradictions(placed[:1])


def test_the_speed_alone_is_taken_out_and_said_once(make, logs_of) -> None:
    logs: DriveLogs = without_speeds(logs_of(bus(make, 0.0), phone(make, FLAT)), {"bus": "the speed in gps shows"})
    assert [c.name for c in logs.recordings[0].channels] == ["engine_speed"]
    np.testing.assert_array_equal(logs.recordings[0].column("engine_speed"), REVS)
    assert logs.notes == (
        "bus.csv: vehicle_speed never changes, it stays at 0 m/s, but the speed in gps shows that the car drove; it is "
        "left out. Check its sensor, lead, or how it is decoded.",
    )


def test_a_log_that_holds_nothing_else_is_left_out(make, logs_of) -> None:
    gps = make("gps", TIME, {"vehicle_speed": np.zeros(TIME.size)})
    logs = without_speeds(logs_of(bus(make, 0.0), gps), {"gps": "the accelerometer of phone felt"})
    assert [r.name for r in logs.recordings] == ["bus"] and logs.notes == ()
    assert logs.left_out[0].file == "gps.csv" and "never changes" in logs.left_out[0].why
