"""The drives of the three who follow the road, as a phone in a cradle logs them, with the truth beside."""

from dataclasses import dataclass
from types import SimpleNamespace

import numpy as np
from scipy import signal

from shiftlog.model.drive import Signals
from shiftlog.model.trace import Trace
from shiftlog.synth.true_gap import true_gap
from tests.truth.other_driver import OtherShift
from tests.truth.road_car import STEP_S, G
from tests.truth.road_driver import STYLES, RoadDriver

RATE_HZ = 100.0


@dataclass(frozen=True, eq=False, kw_only=True)
class RoadDrive:
    """``rows`` : (n, 6) felt, speed, curve, acceleration, drive [SI] and engine speed [rad/s]"""

    seed: int
    rows: np.ndarray
    shifts: tuple[OtherShift, ...]
    gaps: tuple[tuple[float, float] | None, ...]
    cylinders: int

    @property
    def minutes(self) -> float:
        return len(self.rows) * STEP_S / 60


def make_road_drive(style: str, seed: int, *, minutes: float = 5.0, shifting: bool = True) -> RoadDrive:
    rng = np.random.default_rng([seed, 707, list(STYLES).index(style)])
    driver = RoadDriver(style=STYLES[style], rng=rng, shifting=shifting)
    driver.drive_about(until_s=minutes * 60)
    rows = np.array(driver.car.rows)
    motion = SimpleNamespace(time_s=np.arange(0, len(rows), 2) * STEP_S, accel_mps2=rows[::2, 0])
    gaps = tuple(true_gap(motion, s.start_s, s.end_s) for s in driver.shifts)
    cylinders = int(rng.choice([3, 4, 4, 6]))
    return RoadDrive(seed=seed, rows=rows, shifts=tuple(driver.shifts), gaps=gaps, cylinders=cylinders)


def read_cradle(drive: RoadDrive) -> Signals:
    """Acceleration in vehicle axes and speed from satellites."""
    rng = np.random.default_rng([drive.seed, 808])
    true_s = np.arange(len(drive.rows)) * STEP_S
    time_s = np.arange(0, true_s[-1], 1 / RATE_HZ)
    shaken = _road(np.interp(time_s, true_s, drive.rows[:, 1]), rng) + _engine(drive, true_s, time_s, rng)
    accel = _body(drive, true_s, time_s, rng) + _cradle(shaken, rng)
    turned = np.deg2rad(rng.normal(0, 1.0, 2))
    accel[:, 0] += G * turned[0] + turned[1] * accel[:, 1]
    accel += rng.normal(0, rng.uniform(0.01, 0.06), accel.shape) + rng.normal(0, 0.08, 3)
    span = ((float(time_s[0]), float(time_s[-1])),)
    body = Trace(time_s=time_s, values=accel, spans=span, rate_hz=RATE_HZ, recording="phone", place="body")
    fix_s = np.arange(0.5, true_s[-1], 1.0)
    speed = np.interp(fix_s - rng.uniform(0.2, 0.9), true_s, drive.rows[:, 1]) + rng.normal(0, 0.08, fix_s.size)
    span = ((float(fix_s[0]), float(fix_s[-1])),)
    seen = Trace(time_s=fix_s, values=np.abs(speed), spans=span, rate_hz=1.0, recording="phone", place="body")
    return Signals(accel_vehicle={"body": body}, vehicle_speed=seen)


def _body(drive: RoadDrive, true_s: np.ndarray, time_s: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """Acceleration with dive and squat, and with the body leaning in bends."""
    omega = 2 * np.pi * rng.uniform(1.1, 1.8)
    b, a = signal.bilinear([omega**2], [1, 2 * rng.uniform(0.2, 0.4) * omega, omega**2], fs=1 / STEP_S)
    pitch = np.deg2rad(rng.uniform(0.15, 0.6)) * signal.lfilter(b, a, drive.rows[:, 3])
    across = signal.lfilter(b, a, drive.rows[:, 2]) * drive.rows[:, 1]
    along = signal.sosfiltfilt(signal.butter(2, 40.0, fs=1 / STEP_S, output="sos"), drive.rows[:, 0] + G * pitch)
    columns = (along, across * (1 + np.deg2rad(4.0)), G + 0 * along)
    return np.column_stack([np.interp(time_s, true_s, column) for column in columns])


def _road(speed: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """Patches of better and worse road: heave, pitch and wheel hop, and joints that strike now and then."""
    count, level = speed.size, np.exp(rng.uniform(np.log(0.08), np.log(1.3)))
    patches = np.exp(np.interp(np.arange(count), np.linspace(0, count, 12), rng.normal(0, 0.4, 12)))
    up = sum(
        share * _noise(rng, count, low, high)
        for share, low, high in ((0.5, 0.8, 2.2), (0.6, 8.0, 16.0), (0.4, 2.0, 35.0))
    )
    pitch = _noise(rng, count, 0.9, 2.5)
    shaken = np.column_stack([0.12 * up + rng.uniform(0.05, 0.25) * pitch + 0.2 * _noise(rng, count, 5.0, 30.0),
                              0.3 * _noise(rng, count, 0.8, 20.0), up])  # fmt: skip
    for at in rng.integers(0, count - 60, rng.poisson(count / RATE_HZ / 60 * rng.uniform(0, 5))):
        since = np.arange(60) / RATE_HZ
        hit = rng.uniform(1, 10) * np.exp(-since / 0.08) * np.sin(2 * np.pi * rng.uniform(6, 14) * since)
        shaken[at : at + 60] += np.outer(hit, (rng.uniform(0.1, 0.5), 0.1, 1.0)) / level
    return shaken * (level * patches * np.clip(speed / 14.0, 0, 1.6) ** 0.8)[:, None]


def _noise(rng: np.random.Generator, count: int, low: float, high: float) -> np.ndarray:
    part = signal.sosfilt(signal.butter(1, (low, high), "bandpass", fs=RATE_HZ, output="sos"), rng.normal(0, 1, count))
    return part / part.std()


def _engine(drive: RoadDrive, true_s: np.ndarray, time_s: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """The firing order, louder under load, folded down by the phone's rate where it is too fast for it."""
    phase = np.cumsum(drive.rows[:, 5]) * STEP_S * drive.cylinders / 2
    loud = rng.uniform(0.01, 0.12) * (1 + 0.5 * np.abs(drive.rows[:, 4]))
    ways = rng.uniform(-1, 1, 3)
    return np.outer(np.interp(time_s, true_s, loud * np.sin(phase)), ways)


def _cradle(shaken: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """A holder that swings at 12 to 30 Hz, some more than others."""
    omega, damping = 2 * np.pi * rng.uniform(12, 30), rng.uniform(0.08, 0.5)
    b, a = signal.bilinear([2 * damping * omega, omega**2], [1, 2 * damping * omega, omega**2], fs=RATE_HZ)
    return signal.lfilter(b, a, shaken, axis=0)
