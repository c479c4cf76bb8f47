"""How the car rides: what the road does to the whole body, and how it leans; every recorder feels it alike."""

from dataclasses import dataclass

import numpy as np
from scipy import signal

from shiftlog.synth.vehicle import STEP_S, Motion
from shiftlog.units import STANDARD_GRAVITY_MPS2

ROADS = {"smooth": (0.35, 0.0, 0.0), "rough": (1.3, 6.0, 0.0), "holed": (1.3, 6.0, 0.25)}
"""By road: r.m.s. at the body at 20 m/s [m/s²], potholes and kerbs a minute, and the share of shifts during which one
is met besides."""

PITCH_PER_MPS2 = np.deg2rad(0.45)
ROLL_PER_MPS2 = np.deg2rad(0.6)
"""Nose up for each m/s² forward, roll outwards for each m/s² sideways (common practice, no source)."""

BODY_HZ, BODY_DAMPING = 1.5, 0.3
HONEST_SHARE = 0.42
"""Share of its rate up to which a recorder's anti-alias filter lets things through."""


@dataclass(frozen=True, eq=False, kw_only=True)
class Ride:
    """On the motion's own grid.

    time_s (n,); shaking (n, 3) the road's part of acceleration in vehicle axes [m/s²]
    tilt (n, 3) small angles about x, y, z by which the body leans [rad]; turning (n, 3) angular rate [rad/s]
    led (n, 3) specific force of the car's own motion and of leaning with it, the road left out [m/s²]
    """

    time_s: np.ndarray
    shaking: np.ndarray
    tilt: np.ndarray
    turning: np.ndarray
    led: np.ndarray

    def felt(self, time_s: np.ndarray, motion: Motion, *, rate_hz: float) -> np.ndarray:
        """Specific force of the body without engine and blows, (n,) instants → (n, 3) in the body's axes [m/s²]."""
        still = body_motion(self.time_s, motion)
        leaning = still - np.cross(self.tilt, still) + self.shaking
        return sampled(self.time_s, leaning, time_s, rate_hz=rate_hz)

    def turned(self, time_s: np.ndarray, *, rate_hz: float) -> np.ndarray:
        """Angular rate of the body at a recorder's instants, (n,) → (n, 3) [rad/s]."""
        return sampled(self.time_s, self.turning, time_s, rate_hz=rate_hz)


def draw_ride(motion: Motion, *, road: str, rng: np.random.Generator) -> Ride:
    """The ride of a drive over a road."""
    shaking = _road_noise(motion, road=road, rng=rng)
    along, across = motion.accel_mps2, motion.yaw_rate * motion.speed_mps
    rocking = _body_mode(rng.normal(0, 1, (motion.time_s.size, 2))) * _level(motion, road)[:, None] * np.deg2rad(0.5)
    level = np.zeros_like(along)
    leaning = np.column_stack([_body_mode(ROLL_PER_MPS2 * across), _body_mode(-PITCH_PER_MPS2 * along), level])
    tilt = leaning + np.column_stack([rocking, level])
    turning = np.gradient(tilt, STEP_S, axis=0)
    turning[:, 2] = motion.yaw_rate
    still = body_motion(motion.time_s, motion)
    led = still - np.cross(leaning, still)
    return Ride(time_s=motion.time_s, shaking=shaking, tilt=tilt, turning=turning, led=led)


def body_motion(time_s: np.ndarray, motion: Motion) -> np.ndarray:
    """What the car itself does: (n, 3) along, across and up, gravity and grade with it [m/s²]."""
    along = motion.accel_mps2 + STANDARD_GRAVITY_MPS2 * motion.grade
    across = motion.yaw_rate * motion.speed_mps
    columns = [np.interp(time_s, motion.time_s, course) for course in (along, across)]
    return np.column_stack([*columns, np.full(time_s.size, STANDARD_GRAVITY_MPS2)])


def sampled(grid_s: np.ndarray, course: np.ndarray, time_s: np.ndarray, *, rate_hz: float) -> np.ndarray:
    """A course (m, k) on an even grid at a recorder's instants, with what its anti-alias filter takes away."""
    grid_hz = (grid_s.size - 1) / (grid_s[-1] - grid_s[0])
    if HONEST_SHARE * rate_hz < 0.45 * grid_hz:
        sos = signal.butter(4, HONEST_SHARE * rate_hz, fs=grid_hz, output="sos")
        course = signal.sosfiltfilt(sos, course, axis=0)
    return np.stack([np.interp(time_s, grid_s, course[:, k]) for k in range(course.shape[1])], axis=1)


def _road_noise(motion: Motion, *, road: str, rng: np.random.Generator) -> np.ndarray:
    """Body bounce at 1.4 Hz and wheel hop at 11 Hz on broad noise, growing with speed; (n, 3) [m/s²]."""
    rate_hz = 1 / STEP_S
    white = rng.normal(0, 1, (motion.time_s.size, 3))
    broad = to_unit(signal.sosfilt(signal.butter(2, (3.0, 60.0), "bandpass", fs=rate_hz, output="sos"), white, axis=0))
    parts = [0.6 * broad]
    for centre, share in ((1.4, 0.5), (11.0, 0.6)):
        sos = signal.butter(1, (0.7 * centre, 1.4 * centre), "bandpass", fs=rate_hz, output="sos")
        parts.append(share * to_unit(signal.sosfilt(sos, white[:, ::-1], axis=0)))
    return _level(motion, road)[:, None] * np.sum(parts, axis=0) * np.array([0.35, 0.5, 1.0])


def _level(motion: Motion, road: str) -> np.ndarray:
    return ROADS[road][0] * np.abs(motion.speed_mps) / 20.0


def _body_mode(course: np.ndarray) -> np.ndarray:
    """A course through the body on its springs: second order, unit gain at rest; (n,) or (n, k)."""
    omega = 2 * np.pi * BODY_HZ
    b, a = signal.bilinear([omega**2], [1, 2 * BODY_DAMPING * omega, omega**2], fs=1 / STEP_S)
    return signal.lfilter(b, a, course, axis=0)


def to_unit(noise: np.ndarray) -> np.ndarray:
    """Noise of unit standard deviation."""
    return noise / noise.std()
