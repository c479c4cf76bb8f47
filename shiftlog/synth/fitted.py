"""All recorders that were fitted, and what each of them wrote."""

from dataclasses import dataclass

import numpy as np

from shiftlog.synth.cars import SynthCar
from shiftlog.synth.health import Health
from shiftlog.synth.lever import LeverPath
from shiftlog.synth.lever_imu import record_lever_imu
from shiftlog.synth.recorder import (
    LOGGER_OFFSET_S,
    Sensors,
    SynthRecording,
    at_limit,
    calibration_of,
    clock_of,
    mounting,
    record_bus,
    record_lever,
    sample_times,
    sensed_accel,
    sensed_gyro,
)
from shiftlog.synth.ride import Ride, draw_ride
from shiftlog.synth.shocks import Rattle, draw_rattle
from shiftlog.synth.tones import draw_tones
from shiftlog.synth.true_felt import weighted
from shiftlog.synth.true_grind import Gearbox
from shiftlog.synth.vehicle import Motion
from shiftlog.synth.vibration import Events, shake_body, shake_gearbox
from shiftlog.synth.with_figures import FELT_HZ, Undisturbed


@dataclass(frozen=True, eq=False, kw_only=True)
class Shaken:
    """A car and all that shakes it, as its recorders meet it."""

    synth_car: SynthCar
    motion: Motion
    ride: Ride
    rattle: Rattle | None
    events: Events


def record_all(
    lever: LeverPath,
    motion: Motion,
    events: Events,
    synth_car: SynthCar,
    health: Health,
    sensors: Sensors,
    *,
    road: str,
    rng: np.random.Generator,
) -> tuple[tuple[SynthRecording, ...], Undisturbed]:
    """The logs of one drive, lever first, and what they would be without the sensors' errors."""
    recordings = [record_lever(lever, sensors, rng)] if sensors.lever_rate_hz else []
    ride = draw_ride(motion, road=road, rng=rng)
    rattle = draw_rattle(ride, health.rattle_mps2, rng.spawn(1)[0])
    shaken = Shaken(synth_car=synth_car, motion=motion, ride=ride, rattle=rattle, events=events)
    if sensors.lever_imu_rate_hz:
        recordings.append(record_lever_imu(lever, motion, ride, sensors, rng))
    if sensors.bus_rate_hz:
        recordings.append(record_bus(motion, sensors, rng))
    gearbox = felt = None
    if sensors.gearbox_rate_hz:
        recording, gearbox = _record_gearbox(shaken, sensors, rng=rng)
        recordings.append(recording)
    if sensors.body_rate_hz:
        recording, felt = _record_body(shaken, sensors, rng=rng)
        recordings.append(recording)
    return tuple(recordings), Undisturbed(ride=ride, felt=felt, gearbox=gearbox)


def _record_gearbox(shaken: Shaken, sensors: Sensors, *, rng: np.random.Generator) -> tuple[SynthRecording, Gearbox]:
    rate_hz, motion = sensors.gearbox_rate_hz, shaken.motion
    time_s = sample_times(
        float(motion.time_s[-1]) - 0.02, rate_hz, jitter_s=2e-5, lost_share=sensors.lost_share, rng=rng
    )
    tones = draw_tones(rng.spawn(1)[0])
    whole, bare = shake_gearbox(
        time_s, motion, shaken.ride, tones, shaken.rattle, shaken.synth_car, shaken.events, rate_hz=rate_hz, rng=rng
    )
    rotation = mounting(sensors.gearbox_turn_deg)
    columns = sensed_accel(whole, rotation, sensors, noise=sensors.gearbox_noise, rng=rng)
    recording = SynthRecording(
        name="gearbox",
        place="gearbox",
        time_s=time_s,
        columns=columns,
        mounting=rotation if sensors.declare_mounting else None,
        true_mounting=rotation,
        calibration=calibration_of(sensors),
        clipped=at_limit(columns, sensors),
        **clock_of("gearbox", sensors.gearbox_clock, sensors),
    )
    return recording, Gearbox(time_s=time_s, whole=whole, bare=bare, rate_hz=rate_hz)


def _record_body(shaken: Shaken, sensors: Sensors, *, rng: np.random.Generator) -> tuple[SynthRecording, np.ndarray]:
    """The phone's log, and what was truly felt there, weighted."""
    rate_hz, motion = sensors.body_rate_hz, shaken.motion
    duration_s = float(motion.time_s[-1]) - 0.02
    time_s = sample_times(duration_s, rate_hz, jitter_s=0.0008, lost_share=sensors.lost_share, rng=rng)
    time_s = _holes(time_s, sensors.body_holes, rng)
    parts = (motion, shaken.ride, draw_tones(rng.spawn(1)[0]), shaken.rattle, shaken.synth_car, shaken.events)
    felt = shake_body(np.arange(0, duration_s, 1 / FELT_HZ), *parts, rate_hz=rate_hz)
    rotation = mounting(sensors.body_turn_deg)
    held = _slipping(time_s, rotation, sensors)
    shaking = shake_body(time_s, *parts, rate_hz=rate_hz)
    columns = sensed_accel(shaking, held, sensors, noise=sensors.body_noise, rng=rng)
    clipped = at_limit(columns, sensors)
    if sensors.body_gyro:
        columns |= sensed_gyro(shaken.ride.turned(time_s, rate_hz=rate_hz), held, time_s, sensors, rng)
    if sensors.gps_rate_hz:
        columns["vehicle_speed"] = _gps_speed(time_s, motion, sensors, rng)
    recording = SynthRecording(
        name="phone",
        place="body",
        clock="phone",
        time_s=time_s,
        columns=columns,
        offset_s=LOGGER_OFFSET_S + sensors.body_offset_s,
        drift_ppm=sensors.body_drift_ppm,
        clock_declared=sensors.declare_clock,
        mounting=rotation if sensors.declare_mounting else None,
        true_mounting=rotation,
        calibration=calibration_of(sensors),
        clipped=clipped,
    )
    return recording, weighted(felt, rate_hz=FELT_HZ)


def _slipping(time_s: np.ndarray, rotation: np.ndarray, sensors: Sensors) -> np.ndarray:
    """Sensor → vehicle: one rotation, or one for each sample where the holder lets it turn within 0.2 s."""
    if sensors.body_slip_s is None:
        return rotation
    gone = np.clip((time_s - sensors.body_slip_s) / 0.2, 0.0, 1.0)
    turned = [mounting(tuple(share * d for d in sensors.body_slip_deg)) for share in np.linspace(0, 1, 21)]
    return np.array([rotation @ turn for turn in turned])[np.round(gone * 20).astype(int)]


def _holes(time_s: np.ndarray, count: int, rng: np.random.Generator) -> np.ndarray:
    """Instants without those that fall into ``count`` stretches of 0.2 to 1.5 s."""
    if not count:
        return time_s
    starts = rng.uniform(2.0, time_s[-1] - 2.0, count)
    ends = starts + rng.uniform(0.2, 1.5, count)
    inside = np.any((time_s[:, None] > starts) & (time_s[:, None] < ends), axis=1)
    return time_s[~inside]


def _gps_speed(time_s: np.ndarray, motion: Motion, sensors: Sensors, rng: np.random.Generator) -> np.ndarray:
    """Speed that comes a few times a second, late, in the phone's own rows; empty (NaN) between."""
    fixes_s = np.arange(0.3, time_s[-1], 1 / sensors.gps_rate_hz)
    rows = np.unique(np.searchsorted(time_s, fixes_s))
    speed = np.full(time_s.size, np.nan)
    true = np.interp(time_s[rows] - sensors.speed_lag_s, motion.time_s, np.abs(motion.speed_mps))
    speed[rows] = np.round(np.abs(true + rng.normal(0, 0.08, rows.size)), 2)
    return speed
