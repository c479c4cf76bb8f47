"""Recordings on drive time: reference, offsets, what is not placed, what lies apart."""

from collections.abc import Callable

import numpy as np
import pytest

from shiftlog.align.place import place_recordings
from shiftlog.errors import DriveError, ProfileError
from shiftlog.model.car import Car
from shiftlog.model.drive import DriveHead, DriveLogs, LeftOut

TIME = np.arange(1000) / 100
WAVE = np.sin(TIME)


@pytest.fixture
def lever(make) -> Callable:
    def build(start_s: float = 12.345, **more):
        columns = {"select": WAVE, "engage": WAVE}
        return make("lever", start_s + TIME, columns, place="lever", **more)

    return build


@pytest.fixture
def gps(make) -> Callable:
    def build(start_s: float = 0.0, **more):
        return make("gps", start_s + TIME, {"vehicle_speed": WAVE + 20}, **more)

    return build


def test_drive_time_begins_with_the_lever_wherever_it_is_listed(lever, gps, logs_of) -> None:
    drive = place_recordings(logs_of(gps(), lever()))
    assert drive.clock_recording == "lever"
    assert drive.clock_zero_s == pytest.approx(12.345)
    assert drive.signals.lever.time_s[0] == 0.0
    clock = next(p.clock for p in drive.placed if p.recording.name == "lever")
    assert (clock.offset_s, clock.how) == (pytest.approx(12.345), "reference")


def test_without_a_lever_it_begins_with_the_first(gps, make, logs_of) -> None:
    other = make("imu", 7.0 + TIME, {"engine_speed": WAVE})
    assert place_recordings(logs_of(other, gps())).clock_recording == "imu"


def test_zero_is_the_first_row_that_holds_a_value(make, logs_of) -> None:
    values = WAVE.copy()
    values[:50] = np.nan
    drive = place_recordings(logs_of(make("can", TIME, {"engine_speed": values})))
    assert drive.clock_zero_s == pytest.approx(0.5)
    assert drive.signals.engine_speed.time_s[0] == 0.0


def test_one_clock_keeps_its_distances(lever, gps, logs_of) -> None:
    drive = place_recordings(logs_of(lever(clock="box"), gps(15.0, clock="box")))
    assert drive.placed[1].clock.how == "same clock"
    assert drive.placed[1].recording.time_s[0] == pytest.approx(15.0 - 12.345)


def test_a_declared_offset_is_recorder_time_less_drive_time(lever, gps, logs_of) -> None:
    drive = place_recordings(logs_of(lever(), gps(offset_s=3.2)))
    placed = drive.placed[1]
    assert (placed.clock.how, placed.clock.offset_s) == ("declared", 3.2)
    np.testing.assert_allclose(placed.recording.time_s, TIME - 3.2)
    assert placed.recording.spans[0] == pytest.approx((-3.2, 6.79))


def test_two_declared_offsets_count_from_one_common_time(lever, gps, logs_of) -> None:
    # offset = zero + (declared - declared of the reference).
    drive = place_recordings(logs_of(lever(offset_s=10.0), gps(offset_s=1.5)))
    assert drive.placed[1].clock.offset_s == pytest.approx(12.345 + 1.5 - 10.0)


@pytest.mark.parametrize("shift", [-1e6, 0.25, 1.7e9])
def test_shifting_every_clock_changes_nothing_but_the_offsets(lever, gps, logs_of, shift: float) -> None:
    still = place_recordings(logs_of(lever(clock="box"), gps(12.0, clock="box")))
    moved = place_recordings(logs_of(lever(12.345 + shift, clock="box"), gps(12.0 + shift, clock="box")))
    # Seconds since 1970 in double precision resolve 0.24 us.
    for a, b in zip(still.placed, moved.placed, strict=True):
        np.testing.assert_allclose(a.recording.time_s, b.recording.time_s, atol=1e-6)
        assert b.clock.offset_s - a.clock.offset_s == pytest.approx(shift)


def test_an_offset_holds_for_every_recording_of_its_clock(lever, gps, make, logs_of) -> None:
    imu = make("imu", TIME, {"engine_speed": WAVE}, clock="phone")
    drive = place_recordings(logs_of(lever(), gps(clock="phone", offset_s=2.0), imu))
    assert [p.clock.offset_s for p in drive.placed[1:]] == [2.0, 2.0]


def test_an_unknown_clock_is_not_placed_and_says_why(lever, gps, logs_of) -> None:
    drive = place_recordings(logs_of(lever(), gps()))
    placed = drive.placed[1]
    assert not placed.on_drive_time
    assert placed.clock.how == "not placed"
    assert "one recorder" in placed.clock.mend
    np.testing.assert_array_equal(placed.recording.time_s, TIME)
    assert drive.signals.vehicle_speed is None


def test_recordings_that_share_no_moment_are_left_out_with_both_spans(lever, gps, logs_of) -> None:
    drive = place_recordings(logs_of(lever(clock="box"), gps(500.0, clock="box")))
    assert [p.recording.name for p in drive.placed] == ["lever"]
    (left,) = drive.left_out
    assert left.why.startswith(
        "gps.csv: covers 487.7 to 497.6 s of drive time and lever.csv 0.0 to 10.0 s: they do not overlap."
    )
    assert "\n" not in left.why


def test_gaps_move_with_their_recording(make, logs_of) -> None:
    time = np.concatenate((TIME[:400], TIME[500:])) + 30
    drive = place_recordings(logs_of(make("can", time, {"engine_speed": np.sin(time)})))
    recording = drive.placed[0].recording
    assert recording.quality.gaps == ((pytest.approx(3.99), pytest.approx(5.0)),)
    assert len(recording.spans) == len(drive.signals.engine_speed.spans) == 2


def test_nothing_usable_is_one_line_with_the_reasons() -> None:
    from_files = (LeftOut(name="a", file="a.csv", why="a.csv: is empty."),)
    car = Car(name="x", gate=None)
    base = DriveLogs(head=DriveHead(id="d"), car=car, recordings=(), left_out=from_files)
    with pytest.raises(DriveError, match=r"^d: no recording can be used. a.csv: is empty.$"):
        place_recordings(base)


@pytest.mark.parametrize(
    ("matrix", "message"),
    [
        (np.diag([1.0, 1.0, -1.0]), "it is a mirror image"),
        (np.diag([1.0, 1.0, 1.1]), "not three unit vectors"),
        (np.array([[1.0, 0.2, 0], [0, 1, 0], [0, 0, 1]]), "not three unit vectors"),
        (np.zeros((3, 3)), "not three unit vectors"),
    ],
)
def test_a_mounting_that_is_no_rotation_is_a_fault(gps, logs_of, matrix, message: str) -> None:
    with pytest.raises(ProfileError, match=rf"^drive.toml: mounting of gps: .*{message}"):
        place_recordings(logs_of(gps(mounting=matrix)))


def test_a_typed_rotation_is_made_exact(gps, logs_of) -> None:
    typed = np.array([[0.866, -0.5, 0], [0.5, 0.866, 0], [0, 0, 1]])
    rotation = place_recordings(logs_of(gps(mounting=typed))).placed[0].mounting.rotation
    np.testing.assert_allclose(rotation @ rotation.T, np.eye(3), atol=1e-12)
    np.testing.assert_allclose(rotation, typed, atol=1e-3)
