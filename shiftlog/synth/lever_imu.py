"""A motion sensor on the lever: what acceleration and turning it feels while the lever swings about its pivot."""

import numpy as np
from scipy import signal
from scipy.spatial.transform import Rotation

from shiftlog.synth.lever import LeverPath
from shiftlog.synth.path import PATH_RATE_HZ
from shiftlog.synth.recorder import (
    LOGGER_OFFSET_S,
    Sensors,
    SynthRecording,
    at_limit,
    calibration_of,
    mounting,
    sample_times,
    sensed_accel,
    sensed_gyro,
)
from shiftlog.synth.ride import HONEST_SHARE, Ride
from shiftlog.synth.vehicle import Motion

GRID_HZ = 1000.0
"""Lever swings are over in 0.1 s; a thousand points a second follow them."""


def record_lever_imu(
    lever: LeverPath, motion: Motion, ride: Ride, sensors: Sensors, rng: np.random.Generator
) -> SynthRecording:
    """Accelerometer and gyro on the lever, ``lever_imu_height_mm`` above its pivot."""
    rate_hz = sensors.lever_imu_rate_hz
    time_s = sample_times(
        float(motion.time_s[-1]) - 0.02, rate_hz, jitter_s=sensors.jitter_s, lost_share=sensors.lost_share, rng=rng
    )
    grid_s, turns, rates, pushes = _swing(lever, sensors)
    tilt = Rotation.from_rotvec(_at(time_s, grid_s, turns))
    body = ride.felt(time_s, motion, rate_hz=rate_hz)
    force = tilt.inv().apply(body + _at(time_s, grid_s, _honest(pushes, rate_hz)))
    force += rng.normal(0, 0.25, force.shape) * np.interp(time_s, motion.time_s, motion.engine_rpm)[:, None] / 3000
    turning = tilt.inv().apply(ride.turned(time_s, rate_hz=rate_hz)) + _at(time_s, grid_s, _honest(rates, rate_hz))
    rotation = mounting(sensors.lever_imu_turn_deg)
    columns = sensed_accel(force, rotation, sensors, noise=sensors.body_noise, rng=rng)
    columns |= sensed_gyro(turning, rotation, time_s, sensors, rng)
    return SynthRecording(
        name="lever", place="lever", clock="logger", time_s=time_s, columns=columns, offset_s=LOGGER_OFFSET_S,
        true_mounting=rotation, calibration=calibration_of(sensors), clipped=at_limit(columns, sensors),
    )  # fmt: skip


def _swing(lever: LeverPath, sensors: Sensors) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Grid [s]; rotation vector of the lever against the body [rad], its rate in the lever's own axes [rad/s], and
    the acceleration of the sensor in the body's axes [m/s²].

    A turn about +y moves the top forward, about +x to the right (ISO 8855 axes).
    """
    step = int(PATH_RATE_HZ / GRID_HZ)
    grid_s, path = lever.time_s[::step], lever.path[::step]
    angles = path / sensors.lever_length_mm
    turns = np.column_stack([angles[:, 0], angles[:, 1], np.zeros(grid_s.size)])
    spun = Rotation.from_rotvec(turns)
    rates = np.zeros_like(turns)
    rates[:-1] = (spun[:-1].inv() * spun[1:]).as_rotvec() * GRID_HZ
    place = spun.apply([0.0, 0.0, sensors.lever_imu_height_mm / 1000])
    return grid_s, turns, rates, np.gradient(np.gradient(place, 1 / GRID_HZ, axis=0), 1 / GRID_HZ, axis=0)


def _honest(course: np.ndarray, rate_hz: float) -> np.ndarray:
    sos = signal.butter(4, HONEST_SHARE * rate_hz, fs=GRID_HZ, output="sos")
    return signal.sosfiltfilt(sos, course, axis=0)


def _at(time_s: np.ndarray, grid_s: np.ndarray, course: np.ndarray) -> np.ndarray:
    return np.stack([np.interp(time_s, grid_s, course[:, k]) for k in range(3)], axis=1)
