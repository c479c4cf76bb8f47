"""The second driver's drives as a phone logs them, with the truth beside."""

from dataclasses import dataclass
from types import SimpleNamespace

import numpy as np
from scipy import signal

from shiftlog.model.drive import Signals
from shiftlog.model.trace import Trace
from shiftlog.synth.true_gap import true_gap
from tests.truth.other_driver import STEP_S, G, OtherCar, OtherDriver, OtherShift


@dataclass(frozen=True, kw_only=True)
class Phone:
    """What the phone is like; a road's and a sensor's sizes are drawn where None."""

    rate_hz: float = 100.0
    noise_mps2: float | None = None
    road_mps2: float | None = None
    turn_deg: float = 0.0
    bias_mps2: float = 0.0
    speed_hz: float | None = 1.0
    holes: int = 0


@dataclass(frozen=True, eq=False, kw_only=True)
class OtherDrive:
    """``gaps`` : the true drive gap of each shift, or None, as ``shifts``; ``rows`` as the car wrote them."""

    seed: int
    rows: np.ndarray
    shifts: tuple[OtherShift, ...]
    gaps: tuple[tuple[float, float] | None, ...]

    @property
    def minutes(self) -> float:
        return len(self.rows) * STEP_S / 60


def make_other_drive(seed: int, *, minutes: float = 5.0, shifting: bool = True) -> OtherDrive:
    rng = np.random.default_rng([seed, 404])
    driver = OtherDriver(car=OtherCar(rng=rng), rng=rng, shifting=shifting)
    driver.drive_about(until_s=minutes * 60)
    rows = np.array(driver.car.rows)
    motion = SimpleNamespace(time_s=np.arange(0, len(rows), 2) * STEP_S, accel_mps2=rows[::2, 0])
    gaps = tuple(true_gap(motion, s.start_s, s.end_s) for s in driver.shifts)
    return OtherDrive(seed=seed, rows=rows, shifts=tuple(driver.shifts), gaps=gaps)


def read_phone(drive: OtherDrive, phone: Phone | None = None) -> Signals:
    """Acceleration in vehicle axes and speed from satellites, as the phone's log gives them."""
    phone = phone or Phone()
    rng = np.random.default_rng([drive.seed, 505])
    true_s = np.arange(len(drive.rows)) * STEP_S
    count = int(true_s[-1] * phone.rate_hz)
    late = np.clip(rng.normal(0, 0.0008, count), -0.3 / phone.rate_hz, 0.3 / phone.rate_hz)
    time_s = np.maximum(np.arange(count) / phone.rate_hz + late, 0.0)
    accel = _felt(drive, true_s, time_s, phone, rng) + _shaking(drive, true_s, time_s, phone, rng)
    c, s = np.cos(np.deg2rad(phone.turn_deg)), np.sin(np.deg2rad(phone.turn_deg))
    accel = accel @ np.array([[c, s, 0], [-s, c, 0], [0, 0, 1]]) + phone.bias_mps2 * np.array([1, 0.3, 0.2])
    noise = rng.uniform(0.03, 0.1) if phone.noise_mps2 is None else phone.noise_mps2
    accel += rng.normal(0, noise, accel.shape)
    kept, spans = _holes(time_s, phone.holes, rng)
    body = Trace(time_s=time_s[kept], values=accel[kept], spans=spans, rate_hz=phone.rate_hz,
                 recording="phone", place="body")  # fmt: skip
    return Signals(accel_vehicle={"body": body}, vehicle_speed=_speed(drive, true_s, phone, rng))


def _felt(
    drive: OtherDrive, true_s: np.ndarray, time_s: np.ndarray, phone: Phone, rng: np.random.Generator
) -> np.ndarray:
    """What the car does, with the body's pitch of 0.3 to 0.7° for each m/s² through its springs at 1.5 Hz."""
    omega = 2 * np.pi * 1.5
    b, a = signal.bilinear([omega**2], [1, 0.6 * omega, omega**2], fs=1 / STEP_S)
    pitch = np.deg2rad(rng.uniform(0.3, 0.7)) * signal.lfilter(b, a, drive.rows[:, 3])
    along = drive.rows[:, 0] + G * pitch
    top = min(0.42 * phone.rate_hz, 200.0)
    along = signal.sosfiltfilt(signal.butter(4, top, fs=1 / STEP_S, output="sos"), along)
    across = drive.rows[:, 2] * drive.rows[:, 1]
    return np.column_stack(
        [np.interp(time_s, true_s, along), np.interp(time_s, true_s, across), np.full(time_s.size, G)]
    )


def _shaking(
    drive: OtherDrive, true_s: np.ndarray, time_s: np.ndarray, phone: Phone, rng: np.random.Generator
) -> np.ndarray:
    """Road noise of a spectrum drawn for the drive, growing with speed, potholes and humps."""
    level = np.exp(rng.uniform(np.log(0.15), np.log(1.5))) if phone.road_mps2 is None else phone.road_mps2
    bounce, hop = rng.uniform(1.1, 1.9), rng.uniform(9, 14)
    white = rng.normal(0, 1, (3, time_s.size))
    bands = ((0.6 * bounce, 1.6 * bounce), (0.8 * hop, 1.25 * hop), (2.5, min(30.0, 0.4 * phone.rate_hz)))
    if phone.rate_hz < 60:
        bands = (bands[0], (0.3 * phone.rate_hz, 0.4 * phone.rate_hz), (2.5, 0.4 * phone.rate_hz))
    noise = np.zeros((time_s.size, 3))
    for k in range(3):
        for j, band in enumerate(bands):
            sos = signal.butter(1, band, "bandpass", fs=phone.rate_hz, output="sos")
            part = signal.sosfilt(sos, white[k - j])
            noise[:, k] += rng.uniform(0.3, 0.9) * part / part.std()
    noise *= level * np.array([0.4, 0.4, 1.0])
    noise[:, 0] += 0.15 * noise[:, 2]
    noise *= np.clip(np.interp(time_s, true_s, drive.rows[:, 1]) / 15.0, 0, 1.4)[:, None]
    for _ in range(rng.poisson(drive.minutes * (6 if level > 0.6 else 1))):
        _add_bump(noise, time_s - rng.uniform(0, time_s[-1]), rng)
    return noise


def _add_bump(noise: np.ndarray, since_s: np.ndarray, rng: np.random.Generator) -> None:
    """A pothole, or a hump that pitches the car up and down."""
    if rng.random() < 0.5:
        at = (since_s > 0) & (since_s < 0.4)
        shock = rng.uniform(3, 12) * np.exp(-since_s[at] / 0.07) * np.sin(2 * np.pi * rng.uniform(8, 15) * since_s[at])
        noise[at] += np.outer(shock, (0.4, 0.2, 1.0))
        return
    lasts, size = rng.uniform(0.5, 1.5), rng.uniform(0.2, 1.0)
    at = (since_s > 0) & (since_s < lasts)
    turn = 2 * np.pi * since_s[at] / lasts
    noise[at] += size * np.column_stack([np.sin(turn), 0 * turn, 3 * np.sin(2 * turn)])


def _holes(
    time_s: np.ndarray, count: int, rng: np.random.Generator
) -> tuple[np.ndarray, tuple[tuple[float, float], ...]]:
    kept, spans, since = np.ones(time_s.size, bool), [], time_s[0]
    for at in np.sort(rng.uniform(5, time_s[-1] - 5, count)):
        lasts = rng.uniform(0.2, 1.5)
        kept &= ~((time_s > at) & (time_s < at + lasts))
        if at > since:
            spans.append((float(since), float(time_s[time_s <= at][-1])))
        since = max(since, time_s[time_s >= at + lasts][0])
    return kept, (*spans, (float(since), float(time_s[-1])))


def _speed(drive: OtherDrive, true_s: np.ndarray, phone: Phone, rng: np.random.Generator) -> Trace | None:
    if phone.speed_hz is None:
        return None
    time_s = np.arange(0.3, true_s[-1], 1 / phone.speed_hz)
    true = np.interp(time_s - rng.uniform(0.1, 1.0), true_s, drive.rows[:, 1])
    values = np.abs(true + rng.normal(0, 0.1, time_s.size))
    return Trace(time_s=time_s, values=values, spans=((float(time_s[0]), float(time_s[-1])),),
                 rate_hz=phone.speed_hz, recording="phone", place="body")  # fmt: skip
