"""All recorders that were fitted, and what each of them wrote."""

import numpy as np

from shiftlog.synth.cars import SynthCar
from shiftlog.synth.lever import LeverPath
from shiftlog.synth.recorder import (
    LOGGER_OFFSET_S,
    Sensors,
    SynthRecording,
    mounting,
    record_bus,
    record_lever,
    sample_times,
    sensed_accel,
)
from shiftlog.synth.vehicle import Motion
from shiftlog.synth.vibration import Events, shake_body, shake_gearbox


def record_all(
    lever: LeverPath,
    motion: Motion,
    events: Events,
    synth_car: SynthCar,
    sensors: Sensors,
    *,
    road: str,
    rng: np.random.Generator,
) -> tuple[SynthRecording, ...]:
    """The logs of one drive, lever first."""
    recordings = [record_lever(lever, sensors, rng)] if sensors.lever_rate_hz else []
    if sensors.bus_rate_hz:
        recordings.append(record_bus(motion, sensors, rng))
    if sensors.gearbox_rate_hz:
        recordings.append(_record_gearbox(motion, events, synth_car, sensors, road=road, rng=rng))
    if sensors.body_rate_hz:
        recordings.append(_record_body(motion, events, synth_car, sensors, road=road, rng=rng))
    return tuple(recordings)


def _record_gearbox(
    motion: Motion,
    events: Events,
    synth_car: SynthCar,
    sensors: Sensors,
    *,
    road: str,
    rng: np.random.Generator,
) -> SynthRecording:
    rate_hz = sensors.gearbox_rate_hz
    time_s = sample_times(
        float(motion.time_s[-1]) - 0.02, rate_hz, jitter_s=2e-5, lost_share=sensors.lost_share, rng=rng
    )
    shaken = shake_gearbox(time_s, motion, synth_car, events, road=road, rate_hz=rate_hz, rng=rng)
    rotation = mounting(sensors.gearbox_turn_deg)
    return SynthRecording(
        name="gearbox",
        place="gearbox",
        clock="logger",
        time_s=time_s,
        columns=sensed_accel(shaken, rotation, noise=sensors.gearbox_noise, rng=rng),
        offset_s=LOGGER_OFFSET_S,
        mounting=rotation if sensors.declare_mounting else None,
    )


def _record_body(
    motion: Motion,
    events: Events,
    synth_car: SynthCar,
    sensors: Sensors,
    *,
    road: str,
    rng: np.random.Generator,
) -> SynthRecording:
    rate_hz = sensors.body_rate_hz
    time_s = sample_times(
        float(motion.time_s[-1]) - 0.02, rate_hz, jitter_s=0.0008, lost_share=sensors.lost_share, rng=rng
    )
    shaken = shake_body(time_s, motion, synth_car, events, road=road, rate_hz=rate_hz, rng=rng)
    rotation = mounting(sensors.body_turn_deg)
    columns = sensed_accel(shaken, rotation, noise=sensors.body_noise, rng=rng)
    yaw = np.interp(time_s, motion.time_s, motion.yaw_rate)
    turning = np.outer(yaw, (0.0, 0.0, 1.0)) @ rotation + rng.normal(0, 0.004, (time_s.size, 3))
    columns |= {f"gyro_{axis}": np.round(turning[:, k], 4) for k, axis in enumerate("xyz")}
    if sensors.gps_rate_hz:
        columns["vehicle_speed"] = _gps_speed(time_s, motion, sensors, rng)
    return SynthRecording(
        name="phone",
        place="body",
        clock="phone",
        time_s=time_s,
        columns=columns,
        offset_s=LOGGER_OFFSET_S + sensors.body_offset_s,
        drift_ppm=sensors.body_drift_ppm,
        clock_declared=sensors.declare_clock,
        mounting=rotation if sensors.declare_mounting else None,
    )


def _gps_speed(time_s: np.ndarray, motion: Motion, sensors: Sensors, rng: np.random.Generator) -> np.ndarray:
    """Speed that comes a few times a second, late, in the phone's own rows; empty (NaN) between."""
    fixes_s = np.arange(0.3, time_s[-1], 1 / sensors.gps_rate_hz)
    rows = np.unique(np.searchsorted(time_s, fixes_s))
    speed = np.full(time_s.size, np.nan)
    true = np.interp(time_s[rows] - sensors.speed_lag_s, motion.time_s, np.abs(motion.speed_mps))
    speed[rows] = np.round(np.abs(true + rng.normal(0, 0.08, rows.size)), 2)
    return speed
