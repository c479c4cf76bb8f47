"""Mountings found from the signals: what tells, what does not, and what must not change them."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from shiftlog.align.mounting import declared_mountings, find_mountings
from shiftlog.align.signals import build_signals
from shiftlog.model.drive import ClockMatch, Mounting, Placed
from shiftlog.model.recording import Channel, Recording

G = 9.80665
TIME_S = np.arange(0, 360, 0.02)


def a_course(*, bends: bool = True, slope: float = 0.0) -> dict[str, np.ndarray]:
    """Speed, force and turning of a car that speeds up and brakes, bends left and right, and stops every minute."""
    rng = np.random.default_rng(5)
    speed = np.maximum(12 * np.sin(2 * np.pi * TIME_S / 60), 0) + np.maximum(6 * np.sin(2 * np.pi * TIME_S / 20), 0)
    speed *= np.clip(np.abs(np.sin(np.pi * TIME_S / 60)) * 4, 0, 1)
    across = 2.0 * np.sin(2 * np.pi * TIME_S / 27) * np.clip(speed / 5, 0, 1) * bends
    yaw = np.divide(across, speed, out=np.zeros_like(speed), where=speed > 0.5)
    along = np.gradient(speed, TIME_S) + G * np.sin(slope)
    shaking = rng.normal(0, 0.3, (TIME_S.size, 3)) * (0.05 + np.clip(speed, 0, 15) / 15)[:, None]
    force = np.column_stack([along, across, np.full(TIME_S.size, G * np.cos(slope))]) + shaking
    turning = np.column_stack([0 * yaw, 0 * yaw, yaw])
    return {"speed": speed, "force": force, "turning": turning}


@pytest.fixture
def log(make: Callable[..., Recording]) -> Callable[..., Placed]:
    """A sensor's log, turned by ``turn`` (vehicle = turn · sensor) and placed on drive time."""

    def build(
        course: dict[str, np.ndarray], turn: np.ndarray, *, gyro: bool = True, speed: bool = True, sign: float = 1.0
    ) -> Placed:
        columns = {f"accel_{a}": sign * (course["force"] @ turn)[:, k] for k, a in enumerate("xyz")}
        if gyro:
            columns |= {f"gyro_{a}": (course["turning"] @ turn)[:, k] for k, a in enumerate("xyz")}
        if speed:
            columns["vehicle_speed"] = course["speed"]
        return placed(make("phone", TIME_S, columns))

    return build


def placed(recording: Recording) -> Placed:
    clock = ClockMatch(offset_s=0.0, drift_ppm=0.0, how="reference", confidence=1.0)
    return Placed(recording=recording, clock=clock, mounting=Mounting(rotation=None, how="unknown"))


def find(*items: Placed) -> dict[str, Mounting]:
    declared = declared_mountings(tuple(p.recording for p in items))
    return {name: found.mounting for name, found in find_mountings(items, declared).items()}


def off_deg(mounting: Mounting, turn: np.ndarray) -> float:
    return float(np.rad2deg(Rotation.from_matrix(mounting.rotation @ turn.T).magnitude()))


TURNS = [np.eye(3), *Rotation.random(4, random_state=3).as_matrix()]


@pytest.mark.parametrize("turn", TURNS)
def test_gravity_and_speed(log, turn: np.ndarray) -> None:
    found = find(log(a_course(), turn))["phone"]
    assert found.how == "gravity and speed" and found.confidence > 0.9
    assert off_deg(found, turn) < 1.0 and found.slipped_at_s is None


@pytest.mark.parametrize("turn", TURNS)
def test_gravity_and_yaw_rate(log, turn: np.ndarray) -> None:
    found = find(log(a_course(), turn, speed=False))["phone"]
    assert found.how == "gravity and yaw rate"
    assert off_deg(found, turn) < 2.0


def test_gravity_and_stops(log) -> None:
    found = find(log(a_course(), TURNS[2], speed=False, gyro=False))["phone"]
    assert found.how == "gravity and stops" and found.confidence <= 0.9
    assert off_deg(found, TURNS[2]) < 6.0


def test_by_another_sensor_whose_mounting_is_declared(log, make) -> None:
    course = a_course()
    mine = log(course, TURNS[1], gyro=False, speed=False)
    columns = {f"accel_{a}": (course["force"] @ TURNS[2])[:, k] for k, a in enumerate("xyz")}
    other = placed(make("box", TIME_S, columns, mounting=TURNS[2]))
    found = find(mine, other)
    assert found["box"].how == "declared"
    assert found["phone"].how == "by box" and off_deg(found["phone"], TURNS[1]) < 1.0


def test_turning_the_sensor_turns_the_rotation(log) -> None:
    extra = Rotation.from_euler("zyx", [40, -20, 110], degrees=True).as_matrix()
    one = find(log(a_course(), TURNS[1]))["phone"]
    other = find(log(a_course(), TURNS[1] @ extra))["phone"]
    assert np.allclose(other.rotation, one.rotation @ extra, atol=np.deg2rad(0.1))
    assert other.confidence == pytest.approx(one.confidence, abs=0.01)


def test_a_car_that_stood_all_the_time_gives_no_forward(log) -> None:
    course = a_course()
    still = {
        "speed": 0 * course["speed"],
        "force": np.array([0, 0, G]) + np.random.default_rng(1).normal(0, 0.05, (TIME_S.size, 3)),
        "turning": 0 * course["turning"],
    }
    found = find(log(still, TURNS[1]))["phone"]
    assert found.rotation is None and found.how == "unknown"
    assert "declare the mounting" in found.why


def test_without_speed_and_gyro_the_reason_says_what_to_log(log) -> None:
    course = a_course()
    moving = course["speed"] > 3
    course = {k: v[moving] for k, v in course.items()}
    short = {k: np.resize(v, (TIME_S.size, *v.shape[1:])) for k, v in course.items()}
    found = find(log(short, TURNS[1], speed=False, gyro=False))["phone"]
    assert found.rotation is None and "log GPS speed" in found.why


@pytest.mark.parametrize("mirror", [(-1, -1, -1), (-1, 1, 1)], ids=["gyro turned", "x of the accelerometer turned"])
def test_a_gyro_that_mirrors_the_accelerometer_is_left_aside(log, mirror: tuple[int, int, int]) -> None:
    item, columns = log(a_course(), TURNS[1]), slice(3, 6) if mirror == (-1, -1, -1) else slice(0, 3)
    values = item.recording.values.copy()
    values[:, columns] *= mirror
    item = replace(item, recording=replace(item.recording, values=values))
    found = find(item)["phone"]
    forward = TURNS[1][0] * (mirror if columns == slice(0, 3) else 1)
    assert np.rad2deg(np.arccos(found.rotation[0] @ forward)) < 2 * found.uncertainty_deg
    assert "mirror images" in found.why and "turn the signs" in found.why and not found.gyro_fits
    assert build_signals((replace(item, mounting=found),)).yaw_rate is None


@pytest.mark.parametrize(("factor", "fits"), [(180 / np.pi, "deg/s"), (np.pi / 180, "rad/s")])
def test_a_gyro_in_the_other_unit_is_left_aside_with_the_unit_that_fits(log, factor: float, fits: str) -> None:
    course = a_course()
    item = log(course | {"turning": course["turning"] * factor}, TURNS[1])
    found = find(item)["phone"]
    assert np.rad2deg(np.arccos(found.rotation[0] @ TURNS[1][0])) < 2 * found.uncertainty_deg
    assert f"as {fits} its numbers fit" in found.why and f'unit = "{fits}"' in found.why
    assert build_signals((replace(item, mounting=found),)).yaw_rate is None


@pytest.mark.parametrize("turning", [0.0, 1.0])
def test_a_straight_road_and_a_dead_gyro_blame_no_unit(log, turning: float) -> None:
    course = a_course(bends=turning == 0.0)
    noise = np.random.default_rng(0).normal(0, 0.01, (TIME_S.size, 3))
    found = find(log(course | {"turning": course["turning"] * turning + noise}, TURNS[1]))["phone"]
    assert found.rotation is not None and "unit" not in (found.why or "")


def test_a_gyro_in_other_axes_is_left_aside(log, make) -> None:
    course = a_course()
    whole = log(course, TURNS[1])
    values = whole.recording.values.copy()
    values[:, 3:6] = np.random.default_rng(0).normal(0, 0.05, (TIME_S.size, 3))
    found = find(replace(whole, recording=replace(whole.recording, values=values)))["phone"]
    assert np.rad2deg(np.arccos(found.rotation[0] @ TURNS[1][0])) < 2 * found.uncertainty_deg
    assert found.confidence < 0.9


def test_a_declared_mounting_is_kept(log, make) -> None:
    item = log(a_course(), TURNS[1])
    declared = replace(item, recording=replace(item.recording, mounting=TURNS[3]))
    found = find_mountings((declared,), declared_mountings((declared.recording,)))["phone"]
    assert found.mounting.how == "declared" and np.allclose(found.mounting.rotation, TURNS[3])
    # Speed is as late as it is whatever was declared.
    assert found.by_speed_of == "phone" and found.lag_s == pytest.approx(0.0, abs=0.05)


@pytest.mark.parametrize("late_s", [0.3, 1.0])
def test_how_late_speed_comes(log, late_s: float) -> None:
    course = a_course()
    late = np.interp(TIME_S - late_s, TIME_S, course["speed"])
    item = log(course | {"speed": late}, TURNS[2])
    found = find_mountings((item,), declared_mountings((item.recording,)))["phone"]
    assert found.lag_s == pytest.approx(late_s, abs=max(0.05, 3 * found.lag_u_s))
    assert off_deg(found.mounting, TURNS[2]) < 1.0


def test_an_accelerometer_with_all_signs_turned_is_told_by_its_positions(log) -> None:
    course = a_course()
    heading = np.cumsum(course["turning"][:, 2]) * 0.02
    metres = np.cumsum(course["speed"][:, None] * np.column_stack([np.cos(heading), np.sin(heading)]), axis=0) * 0.02
    for sign, mirrored in ((1.0, False), (-1.0, True)):
        item = log(course, TURNS[1], sign=sign)
        where = np.column_stack([50 + np.rad2deg(metres[:, 1] / 6.371e6),
                                 10 + np.rad2deg(metres[:, 0] / 6.371e6 / np.cos(np.deg2rad(50)))])  # fmt: skip
        values = np.column_stack([item.recording.values, where])
        channels = (
            *item.recording.channels,
            Channel(name="latitude", unit="deg"),
            Channel(name="longitude", unit="deg"),
        )
        found = find(replace(item, recording=replace(item.recording, values=values, channels=channels)))["phone"]
        assert ("signs turned" in (found.why or "")) is mirrored
        # What the sensor feels at rest still lies along up, and what speed does along forward.
        assert found.rotation[2] @ (sign * TURNS[1][2]) > 0.999 and found.rotation[0] @ (sign * TURNS[1][0]) > 0.999


def test_a_sensor_not_on_drive_time_is_judged_by_its_own_speed(log) -> None:
    item = log(a_course(), TURNS[3])
    alone = replace(item, clock=ClockMatch(offset_s=None, drift_ppm=None, how="not placed", confidence=None))
    found = find(alone, log(a_course(), TURNS[1], speed=False))["phone"]
    assert found.how in ("gravity and speed", "gravity and yaw rate")


def test_acceleration_without_gravity_is_refused_with_what_to_log(log) -> None:
    course = a_course()
    found = find(log(course | {"force": course["force"] - [0, 0, G]}, TURNS[1]))["phone"]
    assert found.rotation is None and "log acceleration with gravity" in found.why


def test_a_unit_that_is_off_is_said(log) -> None:
    course = a_course()
    found = find(log(course | {"force": course["force"] * 1.1}, TURNS[1]))["phone"]
    assert "check its unit and scale" in found.why


def test_a_sensor_on_the_lever_has_no_mounting(log) -> None:
    item = log(a_course(), TURNS[1], speed=False)
    found = find(replace(item, recording=replace(item.recording, place="lever")))["phone"]
    assert found.rotation is None and "lever" in found.why


@pytest.mark.parametrize("way", [(25, 0, 0), (0, 0, 25), (10, -10, 15)], ids=["tilted", "about the vertical", "both"])
def test_a_slip_is_found_and_both_sides_are_right(log, way: tuple[float, float, float]) -> None:
    course, at_s = a_course(), 170.0
    after = Rotation.from_euler("xyz", way, degrees=True).as_matrix() @ TURNS[1]
    one, other = log(course, TURNS[1]), log(course, after)
    values = np.where(TIME_S[:, None] < at_s, one.recording.values, other.recording.values)
    found = find(replace(one, recording=replace(one.recording, values=values)))["phone"]
    assert found.slipped_at_s == pytest.approx(at_s, abs=6.0)
    assert off_deg(found, TURNS[1]) < 2.0
    ((from_s, rotation),) = found.later
    assert from_s == found.slipped_at_s
    assert np.rad2deg(Rotation.from_matrix(rotation @ after.T).magnitude()) < 2.0
    assert "turned in its holder" in found.why


@pytest.mark.parametrize("gyro", [True, False])
def test_a_long_hill_a_pothole_and_a_long_bend_are_no_slip(log, gyro: bool) -> None:
    flat, hill = a_course(), a_course(slope=np.arctan(0.12))
    up = (TIME_S > 120) & (TIME_S < 300)
    force = np.where(up[:, None], hill["force"], flat["force"])
    hit = (TIME_S > 80) & (TIME_S < 80.1)
    force[hit] += [8.0, 4.0, 30.0]
    found = find(log(flat | {"force": force}, TURNS[1], gyro=gyro))["phone"]
    assert found.slipped_at_s is None and found.rotation is not None
    # Without a gyro nothing tells these bends, as long as the changes of speed, from forward: its own doubt counts.
    off = np.rad2deg(np.arccos(found.rotation[0] @ TURNS[1][0]))
    assert off < (3.0 if gyro else 2 * found.uncertainty_deg)
