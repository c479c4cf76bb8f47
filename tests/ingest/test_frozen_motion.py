"""A motion sensor that freezes on the way, and sensors that repeat themselves by their nature."""

from collections.abc import Callable

import numpy as np
import pytest

from shiftlog.align.place import place_recordings
from shiftlog.model.car import Car
from shiftlog.model.drive import DriveHead, DriveLogs
from shiftlog.model.recording import ACCEL, GYRO

RATE = 100


def motion(*, seconds: int = 200, sigma: float = 0.15, seed: int = 4) -> dict[str, np.ndarray]:
    """A car that stands with its engine off for 50 s, then drives: m/s², rad/s and m/s."""
    rng = np.random.default_rng(seed)
    time = np.arange(seconds * RATE) / RATE
    shake = np.where(time < 50, 0.007, sigma)
    axes = {name: rng.normal(0, 1, time.size) * shake for name in ACCEL}
    axes["accel_z"] += 9.81
    axes |= {name: rng.normal(0, 1, time.size) * shake / 8 for name in GYRO}
    return {**axes, "vehicle_speed": np.where(time < 50, 0.0, 15 + 8 * np.sin(time / 9))}


def text(columns: dict[str, np.ndarray]) -> str:
    units = {"a": "m/s^2", "g": "rad/s", "v": "m/s"}
    header = ",".join(["time [s]", *(f"{name} [{units[name[0]]}]" for name in columns)])
    rows = zip(*columns.values(), strict=True)
    return "\n".join([header, *(f"{k / RATE:.2f}," + ",".join(f"{v:.6g}" for v in row) for k, row in enumerate(rows))])


def coarse(columns: dict[str, np.ndarray], step: float) -> dict[str, np.ndarray]:
    return {n: v if n == "vehicle_speed" else np.round(v / step) * step for n, v in columns.items()}


def every(columns: dict[str, np.ndarray], rows: int) -> dict[str, np.ndarray]:
    return {n: np.repeat(v[::rows], rows) for n, v in columns.items()}


@pytest.mark.parametrize("seconds", [1, 60])
@pytest.mark.parametrize("axes", [ACCEL, GYRO, ("accel_z",)])
def test_readings_of_a_frozen_sensor_are_no_values(read: Callable, axes: tuple[str, ...], seconds: int) -> None:
    columns, rows = motion(), slice(10_000, 10_000 + seconds * RATE)
    for name in axes:
        columns[name][rows] = columns[name][rows.start]
    recording = read(text(columns), place="body")
    assert recording.quality.frozen_s == {name: pytest.approx(seconds, abs=0.03) for name in axes}
    for name in (*ACCEL, *GYRO):
        gone = np.flatnonzero(np.isnan(recording.column(name)))
        assert gone.size == (0 if name not in axes else pytest.approx(seconds * RATE, abs=2))


def test_a_coarse_sensor_is_frozen_where_it_stands_in_a_car_that_drives(read: Callable) -> None:
    columns = coarse(motion(), 0.04)
    for name in ACCEL:
        columns[name][12_000:15_000] = columns[name][12_000]
    assert set(read(text(columns), place="body").quality.frozen_s) == set(ACCEL)


@pytest.mark.parametrize(
    "columns",
    [
        motion(),
        coarse(motion(), 0.04),
        coarse(motion(sigma=0.04), 0.1),
        every(motion(), 5),
        every(motion(), 50),
        coarse(every(motion(), 10), 0.02),
        coarse({n: v for n, v in motion(sigma=0.04).items() if n != "vehicle_speed"}, 0.1),
    ],
    ids=["fine", "coarse", "coarser", "20 Hz", "2 Hz", "coarse at 10 Hz", "no speed"],
)
def test_sensors_that_repeat_themselves_by_nature_lose_nothing(read: Callable, columns: dict[str, np.ndarray]) -> None:
    recording = read(text(columns), place="body")
    assert not recording.quality.frozen_s
    assert np.isfinite(recording.values).all()


def test_a_gyro_that_says_0_for_all_that_is_slow_is_not_frozen(read: Callable) -> None:
    columns = motion()
    for name in GYRO:
        columns[name][:4000] = 0.0
    assert not read(text(columns), place="body").quality.frozen_s


def test_the_drive_says_what_was_left_out(read: Callable) -> None:
    columns = motion()
    for name in ACCEL:
        columns[name][10_000:12_000] = columns[name][10_000]
    recording = read(text(columns), place="body")
    logs = DriveLogs(head=DriveHead(id="d"), car=Car(name="x", gate=None), recordings=(recording,))
    notes = place_recordings(logs).notes
    assert any(
        "accel_x, accel_y, accel_z stood at one value for 20 s where a sound sensor trembles" in n for n in notes
    )
