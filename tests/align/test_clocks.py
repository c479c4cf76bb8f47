"""Clocks matched by their signals: offset, drift, what does not change them, and what is refused."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from scipy import signal
from scipy.spatial.transform import Rotation

from shiftlog.align.clocks import match_clocks, on_drive_time
from shiftlog.model.drive import ClockMatch
from shiftlog.model.recording import Recording

RATE_HZ = 100.0
LENGTH_S = 300.0
TIME = np.arange(int(LENGTH_S * RATE_HZ)) / RATE_HZ
TURN = Rotation.from_euler("zyx", [130, -40, 75], degrees=True).as_matrix()
ACCEL = ("accel_x", "accel_y", "accel_z")
LEVEL = np.eye(3)
GYRO = ("gyro_x", "gyro_y", "gyro_z")

# A motion sensor's own noise leaves a tenth of a millisecond here; 2 ms is what a technician may count on.
OFFSET_S, DRIFT_PPM = 0.002, 5.0


def shaken(seed: int, band_hz: tuple[float, float] = (0.3, 15.0)) -> np.ndarray:
    """(n, 3) shaking in a band, of unit size."""
    white = np.random.default_rng(seed).normal(0, 1, (TIME.size, 3))
    band = signal.sosfiltfilt(signal.butter(2, band_hz, "bandpass", fs=RATE_HZ, output="sos"), white, axis=0)
    return band / band.std()


SPEED = 15 + 2 * shaken(9, (0.02, 0.3))[:, 0]
CAR = shaken(1) + np.column_stack([np.gradient(SPEED, 1 / RATE_HZ), 0 * TIME, 0 * TIME + 9.81])
TURNING = shaken(2, (0.2, 8.0))


@pytest.fixture
def sensor(make) -> Callable[..., Recording]:
    """A motion sensor that feels ``motion`` turned by ``turn``, with noise of its own."""

    def build(name: str, motion=CAR, *, names=ACCEL, turn=LEVEL, offset_s=0.0, drift_ppm=0.0, keep=None, **more):
        felt = motion @ turn + 0.3 * np.random.default_rng(len(name)).normal(0, 1, motion.shape)
        rows = slice(None) if keep is None else keep
        reading = TIME * (1 + drift_ppm * 1e-6) + offset_s
        return make(name, reading[rows], dict(zip(names, felt[rows].T, strict=True)), **more)

    return build


@pytest.fixture
def bus(make) -> Callable[..., Recording]:
    """Vehicle speed nine times a second, in steps of 0.1 m/s."""

    def build(offset_s=0.0, drift_ppm=0.0, **more):
        at_s = np.arange(0, LENGTH_S, 1 / 9)
        speed = np.round(np.interp(at_s, TIME, SPEED), 1)
        return make("bus", at_s * (1 + drift_ppm * 1e-6) + offset_s, {"vehicle_speed": speed}, **more)

    return build


def match(first: Recording, *others: Recording) -> ClockMatch:
    """The match of the last one, the first being the reference."""
    return match_clocks((first, *others), first)[(others or (first,))[-1].name]


@pytest.mark.parametrize(("offset_s", "drift_ppm"), [(41.3, 120.0), (-57.0, -150.0), (0.0, 0.0), (1.7e9, 200.0)])
def test_offset_and_drift_are_found_whatever_the_mounting(sensor, offset_s, drift_ppm) -> None:
    found = match(sensor("box"), sensor("phone", turn=TURN, offset_s=offset_s, drift_ppm=drift_ppm))
    assert found.how == "matched" and found.confidence > 0.95 and found.uncertainty_s < 0.005
    assert found.offset_s == pytest.approx(offset_s, abs=OFFSET_S)
    assert found.drift_ppm == pytest.approx(drift_ppm, abs=DRIFT_PPM)
    assert found.evidence == "accelerations of box and phone over 300 s"


def test_with_its_match_a_recording_lies_on_drive_time(sensor) -> None:
    away = sensor("phone", offset_s=30.0, drift_ppm=150.0, keep=np.abs(TIME - 100) > 2)
    placed = on_drive_time(away, match(sensor("box"), away))
    assert placed.time_s[[0, -1]] == pytest.approx(TIME[[0, -1]], abs=OFFSET_S)
    assert placed.quality.gaps[0] == pytest.approx((98.0, 102.0), abs=0.02)
    assert placed.spans[0][1] == pytest.approx(98.0, abs=0.02)


def test_shifting_a_clock_shifts_the_offset_and_nothing_else(sensor) -> None:
    one, other = (match(sensor("box"), sensor("phone", offset_s=s)) for s in (12.0, 62.25))
    assert other.offset_s - one.offset_s == pytest.approx(50.25, abs=1e-6)
    assert other.drift_ppm == pytest.approx(one.drift_ppm, abs=1e-3)


def test_swapping_the_two_inverts_the_match(sensor) -> None:
    box, phone = sensor("box"), sensor("phone", turn=TURN, offset_s=20.0, drift_ppm=100.0)
    there, back = match(box, phone), match(phone, box)
    # Drive time begins at the phone's first sample when the phone is the reference.
    assert (1 + there.drift_ppm * 1e-6) * (1 + back.drift_ppm * 1e-6) == pytest.approx(1, abs=2e-6)
    assert there.offset_s == pytest.approx(20.0, abs=OFFSET_S)
    assert back.offset_s == pytest.approx(0.0, abs=OFFSET_S)


def test_turning_a_sensor_changes_nothing(sensor) -> None:
    # The noise turns with it, so that it is the same noise.
    phone = sensor("phone", offset_s=20.0)
    still, moved = (match(sensor("box"), p) for p in (phone, replace(phone, values=phone.values @ TURN)))
    assert moved.offset_s == pytest.approx(still.offset_s, abs=1e-4)
    assert moved.drift_ppm == pytest.approx(still.drift_ppm, abs=0.5)


def test_gravity_does_not_hide_the_rest(sensor) -> None:
    found = match(sensor("box", CAR + [0, 0, 90.0]), sensor("phone", turn=TURN, offset_s=33.0))
    assert found.offset_s == pytest.approx(33.0, abs=OFFSET_S)


def test_half_a_drive_lies_where_it_belongs(sensor) -> None:
    found = match(sensor("box"), sensor("phone", offset_s=10.0, keep=TIME > 180))
    assert found.offset_s == pytest.approx(10.0, abs=0.005)


def test_gaps_and_lost_samples_do_no_harm(sensor) -> None:
    lost = np.random.default_rng(5).random(TIME.size) > 0.02
    keep = lost & (np.abs(TIME - 60) > 1.5) & (np.abs(TIME - 200) > 4)
    found = match(sensor("box"), sensor("phone", turn=TURN, offset_s=-8.0, drift_ppm=80.0, keep=keep))
    assert found.offset_s == pytest.approx(-8.0, abs=OFFSET_S)
    assert found.drift_ppm == pytest.approx(80.0, abs=DRIFT_PPM)


def test_a_log_that_goes_on_the_next_day_is_matched_by_its_longer_part(sensor) -> None:
    phone = sensor("phone", offset_s=10.0)
    later = replace(phone, time_s=phone.time_s + 86400.0 * (TIME > 200))
    assert match(sensor("box"), later).offset_s == pytest.approx(10.0, abs=OFFSET_S)


def test_speed_from_a_bus_is_matched_with_acceleration(sensor, bus) -> None:
    found = match(sensor("box", turn=TURN), bus(offset_s=25.0, drift_ppm=60.0))
    assert found.offset_s == pytest.approx(25.0, abs=0.05)
    assert 0.5 < found.confidence <= 0.9
    assert "vehicle speed and acceleration of bus and box" in found.evidence and "delay" in found.evidence


def test_the_bus_may_be_the_reference(sensor, bus) -> None:
    found = match(bus(), sensor("phone", turn=TURN, offset_s=25.0))
    assert found.offset_s == pytest.approx(25.0, abs=0.05)


def test_a_clock_that_shares_nothing_is_reached_through_a_third(sensor, make) -> None:
    both = np.column_stack([CAR @ TURN, TURNING @ TURN])
    columns = dict(zip((*ACCEL, *GYRO), both.T, strict=True))
    middle = make("middle", TIME * (1 + 50e-6) + 7.0, columns)
    gyro = sensor("gyro", TURNING, names=GYRO, offset_s=-15.0, drift_ppm=-90.0)
    found = match(sensor("box"), middle, gyro)
    assert found.offset_s == pytest.approx(-15.0, abs=2 * OFFSET_S)
    assert found.drift_ppm == pytest.approx(-90.0, abs=2 * DRIFT_PPM)
    assert found.evidence.startswith("accelerations of box and middle") and "; then turn rates" in found.evidence


def test_recordings_that_share_a_clock_are_matched_together(sensor, make, bus) -> None:
    temperature = make("temperature", TIME[::100] + 40.0, {"oil_temp": TIME[::100]}, clock="phone")
    matches = match_clocks((box := sensor("box"), temperature, sensor("phone", offset_s=40.0)), box)
    assert matches["temperature"].offset_s == matches["phone"].offset_s == pytest.approx(40.0, abs=OFFSET_S)


def test_a_declared_clock_is_believed(sensor) -> None:
    found = match(sensor("box"), replace(sensor("phone", offset_s=40.0), clock_offset_s=3.2))
    assert (found.how, found.offset_s) == ("declared", 3.2)


@pytest.mark.parametrize(
    "other",
    [
        pytest.param(lambda sensor: sensor("phone", shaken(77) + [0, 0, 9.81]), id="another drive"),
        pytest.param(lambda sensor: sensor("phone", 0 * CAR), id="standing still"),
        pytest.param(lambda sensor: sensor("phone", keep=TIME < 8), id="too short"),
    ],
)
def test_a_match_that_is_not_there_is_refused(sensor, other) -> None:
    found = match(sensor("box"), other(sensor))
    assert (found.how, found.offset_s, found.drift_ppm, found.confidence) == ("not placed", None, None, None)
    assert "nothing in it lines up with box" in found.why and "let them run for some minutes" in found.mend


def test_a_steady_tone_in_both_is_no_match(sensor) -> None:
    tone = np.outer(np.sin(2 * np.pi * 7.3 * TIME), [0.3, 1.0, 0.4])
    assert match(sensor("box", tone), sensor("phone", tone @ TURN, offset_s=20.0)).offset_s is None


def test_what_shares_no_signal_is_told_what_would_help(sensor, make) -> None:
    found = match(sensor("box"), make("oil", TIME, {"oil_temp": TIME}))
    assert found.how == "not placed" and "shares no signal with box" in found.why
    assert "fix a motion sensor to its logger;" in found.mend and "let them run" not in found.mend


def test_a_motion_sensor_is_asked_for_where_there_is_none(sensor, make) -> None:
    lever, tower = (make(name, TIME, {"engage": TIME}) for name in ("lever", "tower"))
    assert "fix a motion sensor to the logger of lever;" in match(lever, sensor("phone")).mend
    assert "fix a motion sensor to its logger and one to that of lever;" in match(lever, tower).mend


@pytest.mark.parametrize("lost_s", [7.5, 3.0])
def test_a_restart_on_the_way_is_noticed(sensor, lost_s: float) -> None:
    box, phone = sensor("box"), sensor("phone", turn=TURN, offset_s=20.0)
    # Rows after the restart follow at once; how long the recorder was away nobody wrote down.
    before, after = TIME < 200, 200 + lost_s < TIME
    reading = np.concatenate([phone.time_s[before], phone.time_s[after] - phone.time_s[after][0]
                              + phone.time_s[before][-1] + 0.01])  # fmt: skip
    seam = replace(phone, time_s=reading, values=phone.values[before | after], spans=((20.0, float(reading[-1])),))
    found = match(box, seam)
    assert found.offset_s == pytest.approx(20.0, abs=OFFSET_S)
    assert found.slipped_at_s == pytest.approx(200.0, abs=8.0)
    assert "jumps" in found.evidence and "split the log there" in found.evidence


def test_standing_still_for_a_while_is_no_restart(sensor) -> None:
    stood = CAR * (TIME < 180)[:, None]
    assert match(sensor("box", stood), sensor("phone", stood, offset_s=20.0)).slipped_at_s is None


def test_a_clock_that_keeps_time_has_not_slipped(sensor) -> None:
    assert match(sensor("box"), sensor("phone", turn=TURN, offset_s=20.0, drift_ppm=-200.0)).slipped_at_s is None
