"""Pairs of recordings on clocks of their own, with known truth: rough sketches of cars, made quickly and in many ways.

They are drawn apart from ``shiftlog.synth``: other roads, other mounts, and as little in common as two sensors in one
car may have.
"""

from dataclasses import dataclass

import numpy as np
from scipy import signal
from scipy.spatial.transform import Rotation

from shiftlog.model.recording import ACCEL, Recording
from tests.made_recording import make_recording

GRID_HZ = 200.0
KINDS = ("imu", "bus", "laps", "two drives", "bus of another", "standing")


@dataclass(frozen=True, eq=False, kw_only=True)
class ClockCase:
    """Two recordings and how the second one's clock lies to the first one's, None where they share nothing.

    second's time = (first's time − zero) · (1 + drift_ppm · 1e-6) + offset_s, zero the first's first sample
    """

    kind: str
    first: Recording
    second: Recording
    offset_s: float | None
    drift_ppm: float | None


@dataclass(frozen=True, eq=False, kw_only=True)
class _Car:
    """A drive on an even grid: (n,) speed, (n, 3) acceleration with gravity, (n,) engine turns per second."""

    time_s: np.ndarray
    speed: np.ndarray
    accel: np.ndarray
    turns_hz: np.ndarray


def draw_case(seed: int, *, kind: str, minutes: float | None = None) -> ClockCase:
    """One case; the same arguments give the same case."""
    rng = np.random.default_rng([seed, KINDS.index(kind)])
    length_s = 60 * (rng.uniform(4, 12) if minutes is None else minutes)
    car = _drive(length_s, rng, laps=kind == "laps", standing=kind == "standing")
    other = _drive(length_s, rng) if kind in ("two drives", "bus of another") else car
    offset_s, drift_ppm = rng.uniform(-60, 60), rng.uniform(-150, 150)
    first = _imu("gearbox", car, rng, gaps=int(rng.integers(0, 3)), offset_s=rng.uniform(0, 5000))
    zero_s = float(first.time_s[0])
    clock = (zero_s + offset_s, drift_ppm)
    second = _bus(other, rng, clock) if "bus" in kind else _imu("phone", other, rng, gaps=2, clock=clock)
    true = kind in ("imu", "bus", "laps")
    return ClockCase(
        kind=kind,
        first=first,
        second=second,
        offset_s=clock[0] if true else None,
        drift_ppm=drift_ppm if true else None,
    )


def _drive(length_s: float, rng: np.random.Generator, *, laps: bool = False, standing: bool = False) -> _Car:
    count = int(length_s * GRID_HZ)
    time_s = np.arange(count) / GRID_HZ
    speed, yaw = _course(time_s, rng, laps=laps)
    if standing:
        speed, yaw = np.zeros(count), np.zeros(count)
    along = np.gradient(speed, 1 / GRID_HZ)
    road = _noise(count, (0.8, rng.uniform(15, 40)), rng, 3) * (rng.uniform(0.3, 1.5) * speed / 20)[:, None]
    bump = _noise(count, (1.0, 2.0), rng, 3) * (0.5 * speed / 20)[:, None]
    shaking = (road + bump) * [0.4, 0.5, 1.0]
    accel = np.column_stack([along, yaw * speed, np.full(count, 9.81)]) + shaking
    pull = _noise(count, (0.005, 0.05), rng, 1)[:, 0]
    turns = 15 + 45 * np.abs(np.interp(speed % 12, [0, 12], [0.4, 1.0])) * (speed > 1) + 2 * pull * (speed > 1)
    return _Car(time_s=time_s, speed=speed, accel=accel, turns_hz=turns)


def _course(time_s: np.ndarray, rng: np.random.Generator, *, laps: bool) -> tuple[np.ndarray, np.ndarray]:
    """Speed [m/s] and yaw rate [rad/s]; laps come round every one or two minutes, each driven a little differently."""
    count = time_s.size
    if not laps:
        wander = _noise(count, (0.003, rng.uniform(0.1, 0.4)), rng, 2)
        return np.maximum(14 + 9 * wander[:, 0], 0.0), 0.12 * wander[:, 1]
    lap_s = rng.uniform(40, 100)
    pattern = _noise(int(lap_s * GRID_HZ), (0.02, 0.4), rng, 2)
    pace = 1 + 0.01 * _noise(count, (0.002, 0.02), rng, 1)[:, 0]
    at = np.cumsum(pace).astype(int) % pattern.shape[0]
    own = 0.15 * _noise(count, (0.02, 0.4), rng, 2)
    smooth = signal.butter(2, 0.8, fs=GRID_HZ, output="sos")
    both = signal.sosfiltfilt(smooth, pattern[at] + own, axis=0)
    return np.maximum(25 + 8 * both[:, 0], 3.0), 0.15 * both[:, 1]


def _noise(count: int, band_hz: tuple[float, float], rng: np.random.Generator, columns: int) -> np.ndarray:
    """Noise of unit standard deviation in a band, (n, columns)."""
    spectrum = np.fft.rfft(rng.normal(0, 1, (count, columns)), axis=0)
    frequency = np.fft.rfftfreq(count, 1 / GRID_HZ)
    gain = (
        1
        / (1 + (np.maximum(frequency, 1e-6) / band_hz[1]) ** 4)
        / (1 + (band_hz[0] / np.maximum(frequency, 1e-6)) ** 4)
    )
    noise = np.fft.irfft(spectrum * gain[:, None], count, axis=0)
    return noise / noise.std(axis=0)


def _mounted(car: _Car, rng: np.random.Generator) -> np.ndarray:
    """What a sensor feels: a resonance of its own mount, shaking of its own, the engine, noise; turned anyhow."""
    centre, damping = rng.uniform(12, 40), rng.uniform(0.1, 0.5)
    omega = 2 * np.pi * centre
    b, a = signal.bilinear([2 * damping * omega, omega**2], [1, 2 * damping * omega, omega**2], fs=GRID_HZ)
    felt = signal.lfilter(b, a, car.accel - car.accel[0], axis=0) + car.accel[0]
    own = _noise(felt.shape[0], (0.5, 60), rng, 3) * (rng.uniform(0.05, 0.8) * (0.1 + car.speed / 20))[:, None]
    angle = 2 * np.pi * np.cumsum(car.turns_hz) / GRID_HZ
    tone = np.outer(np.sin(2 * angle + rng.uniform(0, 6)), rng.normal(0, rng.uniform(0.1, 1.0), 3))
    return (felt + own + tone) @ Rotation.random(random_state=int(rng.integers(1 << 31))).as_matrix()


def _imu(
    name: str,
    car: _Car,
    rng: np.random.Generator,
    *,
    gaps: int,
    clock: tuple[float, float] | None = None,
    offset_s: float = 0.0,
) -> Recording:
    rate = float(rng.choice([50.0, 100.0, 180.0]))
    at_s = _instants(float(car.time_s[-1]), rate, gaps, rng)
    felt = _mounted(car, rng)
    if rate < GRID_HZ:
        felt = signal.sosfiltfilt(signal.butter(4, 0.42 * rate, fs=GRID_HZ, output="sos"), felt, axis=0)
    values = np.stack([np.interp(at_s, car.time_s, felt[:, k]) for k in range(3)], axis=1)
    values += rng.normal(0, 0.05, values.shape)
    return make_recording(name, _reading(at_s, clock, offset_s), dict(zip(ACCEL, values.T, strict=True)))


def _bus(car: _Car, rng: np.random.Generator, clock: tuple[float, float]) -> Recording:
    at_s = _instants(float(car.time_s[-1]), 9.0, 0, rng)
    step = rng.choice([1 / 3.6, 0.01])
    speed = np.round(np.interp(at_s, car.time_s, car.speed) / step) * step
    engine = np.round(60 * np.interp(at_s, car.time_s, car.turns_hz))
    columns = {"vehicle_speed": speed, "engine_speed": engine}
    return make_recording("bus", _reading(at_s, clock, 0.0), columns, place="engine")


def _instants(length_s: float, rate_hz: float, gaps: int, rng: np.random.Generator) -> np.ndarray:
    """Jittering instants, the first at exactly 0, with ``gaps`` holes of up to three seconds."""
    at_s = np.arange(int(length_s * rate_hz)) / rate_hz
    at_s += rng.uniform(-0.2, 0.2, at_s.size) / rate_hz
    at_s[0] = 0.0
    keep = np.ones(at_s.size, dtype=bool)
    for begin in rng.uniform(5, length_s - 5, gaps):
        keep &= (at_s < begin) | (at_s > begin + rng.uniform(0.3, 3))
    return at_s[keep]


def _reading(at_s: np.ndarray, clock: tuple[float, float] | None, offset_s: float) -> np.ndarray:
    return at_s + offset_s if clock is None else at_s * (1 + clock[1] * 1e-6) + clock[0]
