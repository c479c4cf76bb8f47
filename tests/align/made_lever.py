"""A car with a lever, and a motion sensor on each: everything known, built on scipy's rotations and not on ours."""

from dataclasses import dataclass, replace

import numpy as np
from scipy import signal
from scipy.ndimage import gaussian_filter1d
from scipy.spatial.transform import Rotation

from shiftlog.model.drive import ClockMatch, Mounting, Placed
from shiftlog.model.recording import ACCEL, GYRO
from tests.made_recording import make_recording

GRID_HZ = 1000.0
SEATS_DEG = [(s, e) for s in (-5.0, 0.0, 5.0) for e in (-4.5, 4.5)]
UP = np.array([0.0, 0.0, 9.80665])


@dataclass(frozen=True, kw_only=True)
class Fitting:
    """What was fitted and what is wrong with it; angles in degrees, rates in deg/s, lengths in m.

    A sensor slips at ``slip_s`` within 0.3 s about these axes of its own."""

    seconds: float = 120.0
    seed: int = 1
    lever_hz: float = 200.0
    body_hz: float = 100.0
    gyro_noise: float = 0.005
    gyro_bias: float = 1.0
    gyro_wander: float = 0.2
    gyro_scale: float = 0.0
    gyro_range: float = 2000.0
    accel_bias: float = 0.2
    accel_noise: float = 0.05
    engine_shake: float = 0.5
    clock_error_s: float = 0.0
    drift_ppm: float = 0.0
    jitter_s: float = 0.0
    lost_share: float = 0.0
    apart: tuple[float, float, float] = (0.0, 0.0, 0.0)
    height: float = 0.2
    leaning: tuple[float, float, float] = (0.0, 0.0, 0.0)
    parked: bool = False
    moves: bool = True
    road: float = 0.5
    lever_turn: Rotation = Rotation.identity()
    body_turn: Rotation = Rotation.identity()
    lever_holes: tuple[tuple[float, float], ...] = ()
    body_holes: tuple[tuple[float, float], ...] = ()
    mounting_known: bool = True
    shift_s: float = 0.15
    lever_slip: tuple[float, float, float] = (0.0, 0.0, 0.0)
    body_slip: tuple[float, float, float] = (0.0, 0.0, 0.0)
    slip_s: float = 0.0


@dataclass(frozen=True, eq=False, kw_only=True)
class Made:
    """The two recordings on drive time, and what is true: time_s (n,), angles (n, 2) select, engage [deg]."""

    placed: tuple[Placed, ...]
    time_s: np.ndarray
    angles: np.ndarray

    def true_at(self, time_s: np.ndarray) -> np.ndarray:
        return np.stack([np.interp(time_s, self.time_s, column) for column in self.angles.T], axis=1)


def make_two(fitting: Fitting) -> Made:
    """The car is driven, the lever is moved, both sensors write."""
    rng = np.random.default_rng(fitting.seed)
    time_s = np.arange(0, fitting.seconds, 1 / GRID_HZ)
    body, push, rates = _drive(time_s, fitting, rng)
    angles = _seats(time_s, fitting, rng) if fitting.moves else np.zeros((time_s.size, 2))
    # The shift gate's cross shaft is carried by the fore-and-aft one: turn across first, then along.
    swing = Rotation.from_euler("yx", angles[:, ::-1], degrees=True)
    lever = swing * Rotation.from_euler("xyz", fitting.leaning, degrees=True)
    tip = swing.apply([0.0, 0.0, fitting.height])
    at_body = push + body.inv().apply(UP)
    at_lever = at_body + _second(tip) + 2 * np.cross(rates, _first(tip)) + _carried(rates, np.array(fitting.apart))
    shake = fitting.engine_shake * np.sin(2 * np.pi * np.cumsum(40 + 30 * np.sin(0.2 * time_s)) / GRID_HZ)
    at_lever = at_lever + shake[:, None] * np.array([0.5, 1.0, 0.7])
    relative = np.zeros_like(rates)
    relative[1:] = (lever[:-1].inv() * lever[1:]).as_rotvec() * GRID_HZ
    recordings = (
        _write("lever", "lever", time_s, lever.inv().apply(rates) + relative, lever.inv().apply(at_lever),
               fitting.lever_turn, fitting, rng),
        _write("phone", "body", time_s, rates, at_body, fitting.body_turn, fitting, rng),
    )  # fmt: skip
    return Made(placed=recordings, time_s=time_s, angles=angles)


def _first(course: np.ndarray) -> np.ndarray:
    return np.gradient(course, 1 / GRID_HZ, axis=0)


def _second(course: np.ndarray) -> np.ndarray:
    return _first(_first(course))


def _carried(rates: np.ndarray, arm: np.ndarray) -> np.ndarray:
    return np.cross(_first(rates), arm) + np.cross(rates, np.cross(rates, arm))


def _noise(time_s: np.ndarray, low_hz: float, high_hz: float, rng: np.random.Generator, width: int) -> np.ndarray:
    sos = signal.butter(2, (low_hz, high_hz), "bandpass", fs=GRID_HZ, output="sos")
    course = signal.sosfiltfilt(sos, rng.normal(0, 1, (time_s.size, width)), axis=0)
    return course / course.std(axis=0)


def _drive(time_s: np.ndarray, fitting: Fitting, rng: np.random.Generator) -> tuple[Rotation, np.ndarray, np.ndarray]:
    """Attitude of the body against the ground, its own acceleration in its own axes, its angular rate."""
    if fitting.parked:
        still = np.zeros((time_s.size, 3))
        return Rotation.from_rotvec(still + [0.02, 0.01, 0.0]), still, still
    along, across = 1.5 * _noise(time_s, 0.03, 0.3, rng, 2).T
    speed = 12.0
    yaw = np.cumsum(across / speed) / GRID_HZ
    bounce = fitting.road * _noise(time_s, 0.8, 12.0, rng, 3) * np.array([0.35, 0.5, 1.0])
    rocking = np.deg2rad(0.3) * fitting.road * _noise(time_s, 0.7, 3.0, rng, 2)
    grade = np.deg2rad(3) * _noise(time_s, 0.01, 0.05, rng, 1)[:, 0]
    roll, pitch = 0.01 * across + rocking[:, 0], -0.008 * along - grade + rocking[:, 1]
    body = Rotation.from_euler("ZYX", np.column_stack([yaw, pitch, roll]))
    rates = np.zeros((time_s.size, 3))
    rates[1:] = (body[:-1].inv() * body[1:]).as_rotvec() * GRID_HZ
    return body, np.column_stack([along, across, 0 * along]) + bounce, rates


def _seats(time_s: np.ndarray, fitting: Fitting, rng: np.random.Generator) -> np.ndarray:
    """From seat to seat by neutral, each leg a minimum-jerk move."""
    course, now, at_s = [(0.0, (0.0, -4.5))], (0.0, -4.5), 1.0
    while at_s < fitting.seconds - 3:
        goal = SEATS_DEG[rng.integers(len(SEATS_DEG))]
        at_s += rng.uniform(1.0, 6.0)
        for stop in ((now[0], 0.0), (goal[0], 0.0), goal):
            course += [(at_s, now), (at_s + fitting.shift_s, stop)]
            now, at_s = stop, at_s + fitting.shift_s + rng.uniform(0.0, 0.1)
    knots_s = np.array([s for s, _ in course])
    places = np.array([p for _, p in course])
    leg = np.clip(np.searchsorted(knots_s, time_s, side="right") - 1, 0, knots_s.size - 2)
    u = np.clip((time_s - knots_s[leg]) / np.maximum(knots_s[leg + 1] - knots_s[leg], 1e-9), 0, 1)[:, None]
    return places[leg] + (places[leg + 1] - places[leg]) * u**3 * (10 - 15 * u + 6 * u**2)


def _write(
    name: str, place: str, time_s: np.ndarray, rates: np.ndarray, force: np.ndarray, turned: Rotation, fitting: Fitting,
    rng: np.random.Generator,
) -> Placed:  # fmt: skip
    rate_hz = fitting.lever_hz if place == "lever" else fitting.body_hz
    sampled_s = np.arange(0, fitting.seconds - 0.1, 1 / rate_hz)
    sampled_s[1:] += np.clip(rng.normal(0, 1, sampled_s.size - 1) * fitting.jitter_s, -0.3 / rate_hz, 0.3 / rate_hz)
    holes = fitting.lever_holes if place == "lever" else fitting.body_holes
    kept = rng.random(sampled_s.size) >= fitting.lost_share
    kept[0] = True
    for a, b in holes:
        kept &= (sampled_s < a) | (sampled_s > b)
    sampled_s = sampled_s[kept]
    slip = np.deg2rad(fitting.lever_slip if place == "lever" else fitting.body_slip)
    slid = np.clip((time_s - fitting.slip_s) / 0.3, 0, 1)[:, None] * slip
    lies = (turned * Rotation.from_rotvec(slid)).inv()
    felt = lies.apply(rates) + _first(slid), lies.apply(force)
    smoothed = [gaussian_filter1d(course, 0.25 * GRID_HZ / rate_hz, axis=0) for course in felt]
    gyro, accel = (np.stack([np.interp(sampled_s, time_s, c) for c in course.T], axis=1) for course in smoothed)
    aim = rng.normal(0, 1, (2, 3))
    aim /= np.linalg.norm(aim, axis=1)[:, None]
    wander = fitting.gyro_bias + fitting.gyro_wander * np.sin(2 * np.pi * sampled_s / 300)
    gyro = gyro * (1 + fitting.gyro_scale * rng.uniform(-1, 1, 3)) + np.deg2rad(wander[:, None] * aim[0])
    gyro += rng.normal(0, fitting.gyro_noise, gyro.shape)
    gyro = np.clip(gyro, -np.deg2rad(fitting.gyro_range), np.deg2rad(fitting.gyro_range))
    accel = accel + fitting.accel_bias * aim[1] + rng.normal(0, fitting.accel_noise, accel.shape)
    logged_s = sampled_s
    if place == "body":
        logged_s = sampled_s * (1 + fitting.drift_ppm * 1e-6) + fitting.clock_error_s
    rotation = turned.as_matrix() if place == "body" and fitting.mounting_known else None
    columns = dict(zip((*ACCEL, *GYRO), np.hstack([accel, gyro]).T, strict=True))
    return Placed(
        recording=make_recording(name, logged_s, columns, place=place, with_limits=True),
        clock=ClockMatch(offset_s=0.0, drift_ppm=0.0, how="matched", confidence=1.0),
        mounting=Mounting(rotation=rotation, how="declared" if rotation is not None else "unknown"),
    )


def without(made: Made, *channels: str, place: str) -> tuple[Placed, ...]:
    """The recordings, the one at ``place`` without these channels."""
    changed = []
    for item in made.placed:
        recording = item.recording
        if recording.place == place:
            kept = [i for i, c in enumerate(recording.channels) if not c.name.startswith(channels)]
            recording = replace(
                recording, channels=tuple(recording.channels[i] for i in kept), values=recording.values[:, kept]
            )
        changed.append(replace(item, recording=recording))
    return tuple(changed)
