"""Recorders: what sensors make of the noise-free drive, with noise, rounding, clocks and holes."""

from dataclasses import dataclass, field

import numpy as np

from shiftlog.model.recording import Calibration
from shiftlog.synth.lever import LeverPath
from shiftlog.synth.vehicle import Motion
from shiftlog.units import STANDARD_GRAVITY_MPS2


@dataclass(frozen=True, kw_only=True)
class Sensors:
    """What was fitted, and how.

    lever_rate_hz, counts_per_mm, lever_noise (sd, counts), lever_bits : the lever sensor
    lever_turn_deg, lever_mirror ((select, engage) −1 or 1), lever_swap : how its axes lie to the gate
    lever_stretch : (select, engage) factor on the counts per mm of each axis
    declare_grows : whether the log says which way the axes grow
    lost_share : of samples that never arrive; jitter_s : of sampling instants, which are logged truly
    gearbox_rate_hz, body_rate_hz : accelerometers, None where not fitted; their noise (sd, m/s²) and turns
    (about z, y, x); body_offset_s, body_drift_ppm : how the body recorder's own clock lies to the logger's
    body_gyro : whether it has a gyro; body_holes : stretches of 0.2 to 1.5 s in which it wrote nothing
    body_slip_s, body_slip_deg : when and how far (about z, y, x) it turned in its holder, None where it held
    accel_range_g : where the accelerometers at gearbox and body clip
    gain_u, bias_u_mps2 : what their calibration is worth: each axis has a gain error (share) and a zero error [m/s²]
    drawn from these standard uncertainties; declare_calibration : whether the log states them
    accel_bias, gyro_bias_dps, gyro_noise : error at rest [m/s²], [deg/s] in a random direction; sd [rad/s]
    lever_imu_rate_hz : a motion sensor on the lever instead of the potentiometers, lever_imu_height_mm above the
    pivot of a lever of lever_length_mm, turned by lever_imu_turn_deg
    gearbox_clock, bus_clock : (offset to the logger [s], drift [ppm]) where they have clocks of their own
    declare_clock, declare_mounting : whether the log gives them
    bus_rate_hz : engine and vehicle speed from the car's own network; whole_kmh : speed in steps
    speed_lag_s : how late vehicle speed comes; gps_rate_hz : speed from the body recorder instead of the bus
    """

    lever_rate_hz: float | None = 250.0
    counts_per_mm: float = 11.0
    lever_noise: float = 2.0
    lever_bits: int = 12
    lever_turn_deg: float = 0.0
    lever_mirror: tuple[int, int] = (1, 1)
    lever_swap: bool = False
    lever_stretch: tuple[float, float] = (1.0, 1.0)
    declare_grows: bool = True
    lost_share: float = 0.0
    jitter_s: float = 0.0002
    gearbox_rate_hz: float | None = 1600.0
    gearbox_noise: float = 0.08
    gearbox_turn_deg: tuple[float, float, float] = (90.0, 0.0, 12.0)
    body_rate_hz: float | None = 100.0
    body_offset_s: float = 11.742
    body_drift_ppm: float = -21.0
    body_turn_deg: tuple[float, float, float] = (-90.0, -35.0, 0.0)
    body_noise: float = 0.03
    body_gyro: bool = True
    body_holes: int = 0
    body_slip_s: float | None = None
    body_slip_deg: tuple[float, float, float] = (25.0, 10.0, 0.0)
    accel_range_g: float = 16.0
    gain_u: float = 0.0
    bias_u_mps2: float = 0.0
    declare_calibration: bool = False
    accel_bias: float = 0.0
    gyro_bias_dps: float = 0.0
    gyro_noise: float = 0.004
    lever_imu_rate_hz: float | None = None
    lever_length_mm: float = 260.0
    lever_imu_height_mm: float = 200.0
    lever_imu_turn_deg: tuple[float, float, float] = (30.0, 20.0, -70.0)
    gearbox_clock: tuple[float, float] | None = None
    bus_clock: tuple[float, float] | None = None
    gps_rate_hz: float | None = None
    declare_clock: bool = True
    declare_mounting: bool = True
    bus_rate_hz: float | None = 50.0
    whole_kmh: bool = False
    speed_lag_s: float = 0.0
    clutch_switch: bool = True


@dataclass(frozen=True, eq=False, kw_only=True)
class SynthRecording:
    """One recorder's log before it is written.

    time_s : (n,) drive time of each sample; recorder time = time_s · (1 + drift_ppm·1e-6) + offset_s
    columns : (n,) by channel, in the units of the drive format's memory (lever: counts)
    mounting : (3, 3) vehicle = mounting · sensor, or None where the log does not give it; true_mounting : as it is
    calibration : as the log states it, or None; clipped : (n,) bool, samples at the accelerometer's limit, or None
    """

    name: str
    place: str
    clock: str
    time_s: np.ndarray
    columns: dict[str, np.ndarray]
    offset_s: float = 0.0
    drift_ppm: float = 0.0
    clock_declared: bool = True
    mounting: np.ndarray | None = None
    true_mounting: np.ndarray | None = None
    grows: dict[str, str] = field(default_factory=dict)
    calibration: Calibration | None = None
    clipped: np.ndarray | None = None

    @property
    def recorder_time_s(self) -> np.ndarray:
        """What the recorder's own clock read at each sample [s]."""
        return self.time_s * (1 + self.drift_ppm * 1e-6) + self.offset_s


LOGGER_OFFSET_S = 12.345678
"""What the logger's counter read at the drive's first sample."""


def sample_times(
    duration_s: float, rate_hz: float, *, jitter_s: float, lost_share: float, rng: np.random.Generator
) -> np.ndarray:
    """Sampling instants from 0 on, (n,) strictly increasing [s]; the first is exact and never lost."""
    count = int(duration_s * rate_hz)
    late = np.clip(rng.normal(0, jitter_s, count), -0.3 / rate_hz, 0.3 / rate_hz)
    late[0] = 0.0
    kept = rng.random(count) >= lost_share
    kept[0] = True
    return (np.arange(count) / rate_hz + late)[kept]


def lever_matrix(sensors: Sensors) -> np.ndarray:
    """(2, 2) counts per gate mm."""
    turn = np.deg2rad(sensors.lever_turn_deg)
    rotation = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
    order = np.array([[0.0, 1.0], [1.0, 0.0]]) if sensors.lever_swap else np.eye(2)
    stretch = np.diag(np.array(sensors.lever_stretch) * np.array(sensors.lever_mirror))
    return sensors.counts_per_mm * order @ stretch @ rotation


def record_lever(lever: LeverPath, sensors: Sensors, rng: np.random.Generator) -> SynthRecording:
    """The lever sensor: two channels of counts."""
    duration_s = float(lever.time_s[-1])
    time_s = sample_times(
        duration_s, sensors.lever_rate_hz, jitter_s=sensors.jitter_s, lost_share=sensors.lost_share, rng=rng
    )
    place = np.stack([np.interp(time_s, lever.time_s, lever.path[:, k]) for k in (0, 1)], axis=1)
    top = 2**sensors.lever_bits - 1
    middle = (lever.path.min(axis=0) + lever.path.max(axis=0)) / 2
    matrix = lever_matrix(sensors)
    counts = (place - middle) @ matrix.T + top / 2 + rng.uniform(-20, 20, 2)
    counts = np.clip(np.round(counts + rng.normal(0, sensors.lever_noise, counts.shape)), 0, top)
    return SynthRecording(
        name="lever",
        place="lever",
        clock="logger",
        time_s=time_s,
        columns={"select": counts[:, 0], "engage": counts[:, 1]},
        offset_s=LOGGER_OFFSET_S,
        grows=_grows(sensors) if sensors.declare_grows else {},
    )


def _grows(sensors: Sensors) -> dict[str, str]:
    """Which way each logged channel grows; with swapped axes a channel grows along the other axis, and only
    the channel's own words may be declared, so nothing is."""
    if sensors.lever_swap:
        return {}
    select, engage = sensors.lever_mirror
    return {"select": "right" if select > 0 else "left", "engage": "forward" if engage > 0 else "rearward"}


def record_bus(motion: Motion, sensors: Sensors, rng: np.random.Generator) -> SynthRecording:
    """Engine speed, vehicle speed, throttle and clutch from the car's own network, on the logger's clock."""
    time_s = sample_times(float(motion.time_s[-1]) - 0.01, sensors.bus_rate_hz, jitter_s=0.001, lost_share=0.0, rng=rng)
    speed = np.interp(time_s - sensors.speed_lag_s, motion.time_s, np.abs(motion.speed_mps))
    speed = speed * 1.0 + rng.normal(0, 0.02, speed.size) * (speed > 0.1)
    step = 1 / 3.6 if sensors.whole_kmh else 0.01 / 3.6
    columns = {
        "engine_speed": _rounded(np.interp(time_s, motion.time_s, motion.engine_rpm), 0.25, rng, 6.0),
        "vehicle_speed": np.maximum(np.floor(speed / step + 0.5) * step, 0.0),
        "throttle": np.round(np.interp(time_s, motion.time_s, motion.throttle), 3),
    }
    if sensors.clutch_switch:
        columns["clutch"] = (np.interp(time_s, motion.time_s, motion.clutch) > 0.3).astype(float)
    return SynthRecording(
        name="bus", place="engine", time_s=time_s, columns=columns, **clock_of("bus", sensors.bus_clock, sensors)
    )


def clock_of(name: str, own: tuple[float, float] | None, sensors: Sensors) -> dict[str, object]:
    """What a recording says of its clock: the logger's, or its own (offset to the logger [s], drift [ppm])."""
    if own is None:
        return {"clock": "logger", "offset_s": LOGGER_OFFSET_S}
    offset_s, drift_ppm = own
    return {
        "clock": name,
        "offset_s": LOGGER_OFFSET_S + offset_s,
        "drift_ppm": drift_ppm,
        "clock_declared": sensors.declare_clock,
    }


def _rounded(values: np.ndarray, step: float, rng: np.random.Generator, noise: float) -> np.ndarray:
    return np.round((values + rng.normal(0, noise, values.size)) / step) * step


def mounting(turns_deg: tuple[float, float, float]) -> np.ndarray:
    """Rotation sensor → vehicle, (3, 3), from turns about z, y and x in that order [deg]."""
    z, y, x = np.deg2rad(turns_deg)
    about_z = np.array([[np.cos(z), -np.sin(z), 0], [np.sin(z), np.cos(z), 0], [0, 0, 1]])
    about_y = np.array([[np.cos(y), 0, np.sin(y)], [0, 1, 0], [-np.sin(y), 0, np.cos(y)]])
    about_x = np.array([[1, 0, 0], [0, np.cos(x), -np.sin(x)], [0, np.sin(x), np.cos(x)]])
    return about_z @ about_y @ about_x


ACCEL_STEP_MPS2 = 0.005
"""A ±16 g part of 15 bits."""


def sensed_accel(
    vehicle: np.ndarray, rotation: np.ndarray, sensors: Sensors, *, noise: float, rng: np.random.Generator
) -> dict[str, np.ndarray]:
    """The three channels of an accelerometer: turned into its axes, with noise and its errors, clipped and rounded.

    rotation : (3, 3), or (n, 3, 3) where it changes on the way
    """
    own = rng.spawn(1)[0]
    sensor = _in_sensor_axes(vehicle, rotation) * own.normal(1.0, sensors.gain_u, 3)
    sensor += own.normal(0.0, sensors.bias_u_mps2, 3) + rng.normal(0, noise, vehicle.shape)
    if sensors.accel_bias:
        sensor += sensors.accel_bias * _direction(rng)
    limit = _limit_mps2(sensors)
    rounded = np.clip(np.round(sensor / ACCEL_STEP_MPS2) * ACCEL_STEP_MPS2, -limit, limit)
    return {f"accel_{axis}": rounded[:, k] for k, axis in enumerate("xyz")}


def at_limit(columns: dict[str, np.ndarray], sensors: Sensors) -> np.ndarray | None:
    """(n,) bool, samples of an accelerometer at its limit on any axis; None where there are none."""
    clipped = np.any([np.abs(columns[f"accel_{axis}"]) >= _limit_mps2(sensors) for axis in "xyz"], axis=0)
    return clipped if clipped.any() else None


def calibration_of(sensors: Sensors) -> Calibration | None:
    """What the log states of its accelerometers' calibration, or None."""
    if not sensors.declare_calibration:
        return None
    return Calibration(gain=sensors.gain_u, bias_mps2=sensors.bias_u_mps2, stated=True)


def _limit_mps2(sensors: Sensors) -> float:
    """The range in whole steps, so that a clipped sample reads it exactly."""
    return float(np.floor(sensors.accel_range_g * STANDARD_GRAVITY_MPS2 / ACCEL_STEP_MPS2) * ACCEL_STEP_MPS2)


GYRO_LIMIT = np.deg2rad(2000.0)
BIAS_WANDER = 0.2
"""How far a gyro's bias wanders over a drive, as a share of it (common practice, no source)."""


def sensed_gyro(
    vehicle: np.ndarray, rotation: np.ndarray, time_s: np.ndarray, sensors: Sensors, rng: np.random.Generator
) -> dict[str, np.ndarray]:
    """The three channels of a gyro: turned into its axes, with noise and a bias that wanders, clipped, rounded."""
    sensor = _in_sensor_axes(vehicle, rotation) + rng.normal(0, sensors.gyro_noise, vehicle.shape)
    if sensors.gyro_bias_dps:
        wander = 1 + BIAS_WANDER * np.sin(2 * np.pi * time_s / max(float(time_s[-1]), 1.0))
        sensor += np.outer(wander, np.deg2rad(sensors.gyro_bias_dps) * _direction(rng))
    return {f"gyro_{a}": np.round(np.clip(sensor[:, k], -GYRO_LIMIT, GYRO_LIMIT), 4) for k, a in enumerate("xyz")}


def _in_sensor_axes(vehicle: np.ndarray, rotation: np.ndarray) -> np.ndarray:
    return vehicle @ rotation if rotation.ndim == 2 else np.einsum("ni,nij->nj", vehicle, rotation)


def _direction(rng: np.random.Generator) -> np.ndarray:
    way = rng.normal(0, 1, 3)
    return way / np.linalg.norm(way)
