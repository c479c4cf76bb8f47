"""Drives of cars with a motion sensor mounted anyhow, and how it lay: drawn apart from ``shiftlog.synth``, and quickly.

Town, country, motorway and circuit; bends that are braked into; hills; bodies that pitch and roll; sensors with bias,
scale errors, jitter and holes; speed from satellites, from a bus, or from nowhere. Sizes are those of road cars and of
cheap sensors (common practice, no source).
"""

from dataclasses import dataclass

import numpy as np
from scipy.ndimage import gaussian_filter1d
from scipy.spatial.transform import Rotation

from shiftlog.model.drive import ClockMatch, Mounting, Placed
from shiftlog.model.recording import Recording
from tests.made_recording import make_recording

GRID_HZ = 100.0
G = 9.80665
STYLES = ("town", "country", "motorway", "circuit")
WITH = ("gps", "bus", "gps and gyro", "bus and gyro", "gyro", "nothing")
# Chance of a stop after each change of speed, usual speeds [m/s], sideways force [m/s²], seconds between bends.
_HABITS = {
    "town": (0.35, (5, 16), 2.0, 12.0),
    "country": (0.08, (10, 28), 3.0, 15.0),
    "motorway": (0.02, (22, 36), 1.2, 25.0),
    "circuit": (0.0, (18, 50), 9.0, 7.0),
}


@dataclass(frozen=True, eq=False, kw_only=True)
class MountedDrive:
    """What was recorded, and the truth.

    placed : the recordings, ``phone`` among them; rotation (3, 3) : vehicle = rotation · sensor of the phone
    slipped_at_s, after (3, 3) : when it slipped and how it lay from then on, or None
    """

    placed: tuple[Placed, ...]
    rotation: np.ndarray
    style: str
    knows: str
    lag_s: float
    slipped_at_s: float | None = None
    after: np.ndarray | None = None


@dataclass(frozen=True, eq=False, kw_only=True)
class _Car:
    """On an even grid: (n,) time, speed, yaw rate; (n, 3) force and turning felt in the body's own axes."""

    time_s: np.ndarray
    speed: np.ndarray
    force: np.ndarray
    turning: np.ndarray


def draw_mounted(
    seed: int,
    *,
    style: str | None = None,
    knows: str | None = None,
    minutes: float | None = None,
    slip_deg: tuple[float, float, float] | None = None,
    bias: bool = True,
    bank: float = 0.0,
) -> MountedDrive:
    """One drive; the same arguments give the same drive. slip_deg : turn about sensor x, y, z midway, or None

    bank : slope across the road in bends, over the sideways acceleration [rad per m/s²]
    """
    rng = np.random.default_rng([seed, 77])
    style = style or str(rng.choice(STYLES))
    knows = knows or str(rng.choice(WITH))
    car = _drive(60 * (minutes or rng.uniform(4, 14)), style, rng, bank=bank)
    rotation = Rotation.random(random_state=int(rng.integers(1 << 31))).as_matrix()
    lag_s = float(rng.uniform(0.0, 1.0) if "gps" in knows else rng.uniform(0.0, 0.4))
    at_s = float(car.time_s[-1] * rng.uniform(0.3, 0.7)) if slip_deg else None
    after = None if slip_deg is None else rotation @ Rotation.from_euler("xyz", slip_deg, degrees=True).as_matrix()
    phone = _phone(car, rotation, (at_s, after), knows, lag_s, bias, rng)
    others = (_bus(car, lag_s, rng),) if "bus" in knows else ()
    return MountedDrive(
        placed=tuple(placed_as(r) for r in (phone, *others)),
        rotation=rotation,
        style=style,
        knows=knows,
        lag_s=lag_s,
        slipped_at_s=at_s,
        after=after,
    )


def _drive(length_s: float, style: str, rng: np.random.Generator, *, bank: float) -> _Car:
    time_s = np.arange(0, length_s, 1 / GRID_HZ)
    speed, bend = _lap(time_s, rng) if style == "circuit" else _journey(time_s, style, rng)
    along, across = np.gradient(speed, 1 / GRID_HZ), bend * np.clip(np.abs(speed) / 5, 0, 1)
    yaw = across / np.where(np.abs(speed) < 1, np.inf, speed)
    hill = _slow(time_s.size, rng.uniform(10, 60), rng) * rng.uniform(0.0, 0.04) + rng.normal(0, 0.004)
    hill, crown = np.clip(hill, -0.12, 0.12), rng.normal(0, np.deg2rad(0.5))
    pitch = np.deg2rad(rng.uniform(0.2, 0.7)) * gaussian_filter1d(along, 0.2 * GRID_HZ)
    roll = np.deg2rad(rng.uniform(0.2, 0.8)) * gaussian_filter1d(across, 0.2 * GRID_HZ)
    lean = np.column_stack([G * (hill + pitch), G * (roll + crown), np.zeros(time_s.size)])
    banked = np.column_stack([np.zeros(time_s.size), -G * bank * across, bank * across**2])
    force = np.column_stack([along, across, np.full(time_s.size, G)]) + lean + banked + _shaking(speed, rng)
    turning = np.column_stack([np.gradient(roll, 1 / GRID_HZ), -np.gradient(pitch, 1 / GRID_HZ), yaw])
    turning += rng.normal(0, 0.02, turning.shape) * [1, 1, 0.2]
    return _Car(time_s=time_s, speed=speed, force=force, turning=turning)


def _journey(time_s: np.ndarray, style: str, rng: np.random.Generator) -> tuple[np.ndarray, np.ndarray]:
    """Speed [m/s] and wanted sideways acceleration [m/s²]; now and then it begins with backing out."""
    stop, (low, high), _, _ = _HABITS[style]
    at, v = [0.0], [0.0]
    if rng.random() < 0.2:
        at, v = [0.0, 4.0, 5.5, 8.0, 9.5, 12.0], [0.0, 0.0, -1.5, -1.5, 0.0, 0.0]
    else:
        at, v = ([0.0, rng.uniform(2, 20)], [0.0, 0.0]) if rng.random() < 0.7 else ([0.0], [rng.uniform(low, high)])
    while at[-1] < time_s[-1]:
        wanted = 0.0 if rng.random() < stop and v[-1] > 0 else rng.uniform(low, high)
        pace = rng.uniform(0.6, 3.0) if wanted > v[-1] else rng.uniform(0.6, 3.5)
        at.append(at[-1] + abs(wanted - v[-1]) / pace + 0.5)
        v.append(wanted)
        at.append(at[-1] + (rng.uniform(2, 25) if wanted == 0 else rng.exponential(12)))
        v.append(max(wanted + (rng.normal(0, 1.0) if wanted else 0.0), 0.0))
    speed = gaussian_filter1d(np.interp(time_s, at, v), rng.uniform(0.2, 0.6) * GRID_HZ)
    speed[np.abs(speed) < 1e-3] = 0.0
    return speed, _bends(time_s, style, rng)


def _bends(time_s: np.ndarray, style: str, rng: np.random.Generator) -> np.ndarray:
    _, _, hard, apart = _HABITS[style]
    bend, at = np.zeros(time_s.size), 0.0
    leaning = rng.uniform(0.35, 0.65)
    while at < time_s[-1]:
        lasts = rng.uniform(2, 10)
        inside = (time_s > at) & (time_s < at + lasts)
        side = 1 if rng.random() < leaning else -1
        bend[inside] += side * rng.uniform(0.2, 1.0) * hard * np.sin(np.pi * (time_s[inside] - at) / lasts) ** 2
        at += lasts + rng.exponential(apart)
    return bend


def _lap(time_s: np.ndarray, rng: np.random.Generator) -> tuple[np.ndarray, np.ndarray]:
    """Laps: braked into each bend, held through it, driven out of it; most bends to one side."""
    lap_s, side = rng.uniform(60, 110), rng.choice([-1, 1])
    at, v, bend_at, bend = 0.0, [], [], []
    knots: list[float] = []
    while at < lap_s - 12:
        fast, slow = rng.uniform(35, 50), rng.uniform(14, 28)
        way = side if rng.random() < 0.75 else -side
        brake, hold = (fast - slow) / rng.uniform(5, 9), rng.uniform(1.5, 4)
        knots += [at, at + brake, at + brake + hold]
        v += [fast, slow, slow + 1]
        bend_at += [at + 0.7 * brake, at + brake + hold / 2, at + brake + hold + 2.0]
        bend += [0.0, way * rng.uniform(5, 9.5), 0.0]
        at += brake + hold + (fast - slow) / rng.uniform(2.0, 4.0)
    phase = (time_s * (1 + 0.01 * np.sin(time_s / 70))) % at
    speed = gaussian_filter1d(np.interp(phase, knots, v, period=at), 0.25 * GRID_HZ)
    sideways = gaussian_filter1d(np.interp(phase, bend_at, bend, period=at), 0.25 * GRID_HZ)
    out = np.clip(time_s / 30, 0, 1)
    return speed * out, sideways * out**2


def _slow(count: int, seconds: float, rng: np.random.Generator) -> np.ndarray:
    noise = gaussian_filter1d(rng.normal(0, 1, count // 50 + 8), seconds * 2)
    return np.interp(np.arange(count) / 50, np.arange(noise.size), noise / max(noise.std(), 1e-9))


def _shaking(speed: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """Road noise that grows with speed, an engine that shakes at all times, and potholes."""
    count, white = speed.size, rng.normal(0, 1, (speed.size, 3))
    road = gaussian_filter1d(white, 2, axis=0) - gaussian_filter1d(white, 25, axis=0)
    road *= rng.uniform(0.15, 1.5) / road.std() * (np.abs(speed) / 20)[:, None] * [0.4, 0.5, 1.0]
    for at in rng.uniform(0, count - 60, rng.poisson(count / GRID_HZ / 60 * rng.uniform(0, 5))).astype(int):
        shock = rng.uniform(3, 12) * np.exp(-np.arange(40) / 8) * np.sin(np.arange(40) * 0.7)
        road[at : at + 40] += np.outer(shock, (0.4, 0.2, 1.0)) * min(abs(speed[at]) / 10, 1)
    return road + rng.normal(0, rng.uniform(0.02, 0.1), road.shape)


def _phone(
    car: _Car,
    rotation: np.ndarray,
    slip: tuple[float | None, np.ndarray | None],
    knows: str,
    lag_s: float,
    bias: bool,
    rng: np.random.Generator,
) -> Recording:
    rate_hz = float(rng.choice([25.0, 50.0, 100.0]))
    time_s = _instants(car.time_s[-1], rate_hz, rng)
    felt, turned = (_at(time_s, car, rows) for rows in (car.force, car.turning))
    late = time_s >= (np.inf if slip[0] is None else slip[0])
    after = rotation if slip[1] is None else slip[1]
    accel = np.where(late[:, None], felt @ after, felt @ rotation)
    if bias:
        accel = accel * (1 + rng.uniform(-0.01, 0.01, 3)) + rng.uniform(0, 0.3) * _direction(rng)
    accel += rng.normal(0, rng.uniform(0.02, 0.08), accel.shape)
    columns = {f"accel_{a}": accel[:, k] for k, a in enumerate("xyz")}
    if "gyro" in knows:
        gyro = np.where(late[:, None], turned @ after, turned @ rotation) + rng.normal(0, 0.004, turned.shape)
        gyro += np.deg2rad(rng.uniform(0, 1.0)) * _direction(rng) * bias
        columns |= {f"gyro_{a}": gyro[:, k] for k, a in enumerate("xyz")}
    if "gps" in knows:
        columns["vehicle_speed"] = _gps(time_s, car, lag_s, rng)
    return make_recording("phone", time_s, columns, clock="logger")


def _gps(time_s: np.ndarray, car: _Car, lag_s: float, rng: np.random.Generator) -> np.ndarray:
    """Speed once to ten times a second in the phone's own rows, empty between."""
    fixes_s = np.arange(0.3, time_s[-1], 1 / float(rng.choice([1.0, 5.0, 10.0])))
    rows = np.unique(np.searchsorted(time_s, fixes_s))
    speed = np.full(time_s.size, np.nan)
    true = np.interp(time_s[rows] - lag_s, car.time_s, np.abs(car.speed))
    speed[rows] = np.abs(true + rng.normal(0, 0.1, rows.size))
    return speed


def _bus(car: _Car, lag_s: float, rng: np.random.Generator) -> Recording:
    rate_hz, step = float(rng.choice([9.0, 20.0, 50.0])), float(rng.choice([1 / 3.6, 0.01]))
    time_s = np.arange(0.2, car.time_s[-1], 1 / rate_hz)
    speed = np.interp(time_s - lag_s, car.time_s, np.abs(car.speed))
    return make_recording(
        "bus", time_s, {"vehicle_speed": np.round(speed / step) * step}, place="engine", clock="logger"
    )


def _instants(length_s: float, rate_hz: float, rng: np.random.Generator) -> np.ndarray:
    time_s = np.arange(int(length_s * rate_hz)) / rate_hz
    time_s = time_s + rng.uniform(-0.25, 0.25, time_s.size) / rate_hz
    for begin in rng.uniform(5, length_s - 5, int(rng.integers(0, 4))):
        time_s = time_s[(time_s < begin) | (time_s > begin + rng.uniform(0.2, 2.0))]
    return time_s


def _at(time_s: np.ndarray, car: _Car, rows: np.ndarray) -> np.ndarray:
    return np.stack([np.interp(time_s, car.time_s, column) for column in rows.T], axis=1)


def _direction(rng: np.random.Generator) -> np.ndarray:
    way = rng.normal(0, 1, 3)
    return way / np.linalg.norm(way)


def placed_as(recording: Recording) -> Placed:
    """On drive time, its mounting not known."""
    clock = ClockMatch(offset_s=0.0, drift_ppm=0.0, how="same clock", confidence=1.0)
    return Placed(recording=recording, clock=clock, mounting=Mounting(rotation=None, how="unknown"))
