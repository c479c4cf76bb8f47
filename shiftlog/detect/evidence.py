"""How well each gear's ratio explains each sample of engine speed."""

from dataclasses import dataclass

import numpy as np

from shiftlog.detect.bands import RatioBands
from shiftlog.detect.idle import find_idle, is_idling
from shiftlog.detect.speeds import Samples, bend_at, slope_at, value_at

LEAST_SPREAD, GREATEST_SPREAD = 0.01, 0.02
"""One gear's ratio is never held closer than tyres let it, nor allowed wider: as a share."""

SLIP_PER_MPS2 = 0.003
"""Tyres slip in proportion to the force on them: at 1 m/s² by 0.3 to 0.8 % on two driven wheels (slip stiffness of
20 to 30 loads; common practice, no source)."""

AGE_SHARE = 0.1
"""A polled value is of unknown age, up to some share of the wait between two polls."""

UNKNOWN_LAG_S = 0.1
"""Where the lag cannot be told, ratios may be off by what this does."""

SLOWEST_MPS = 1.0
"""Below walking pace the clutch slips and speed signals stop."""

PULL_WINDOW_S = 0.4
"""Acceleration is the slope of vehicle speed over this."""

GREATEST_RATE_HZ = 100.0
"""Engine speed cannot change a gear's verdict faster than this; more samples are left out."""

IDLE_SPREAD = 0.02
"""An engine is kept at idle to about this share (common practice, no source)."""

STEP_SHARE = 0.25
"""A sample whose ratio is known worse than this share of the step to the next gear tells nothing."""


@dataclass(frozen=True, eq=False, kw_only=True)
class Evidence:
    """Fit of each gear to each sample.

    time_s, rpm, mps, ratio : (n,); mps : true vehicle speed [m/s], NaN where it is not known; ratio [rpm/(m/s)]
    off_sigma : (n, k) distance of the ratio from each gear's, signed, in standard deviations; infinite where the
    gear is not the nearest or nothing can be told
    idling : (n,) bool, engine speed near idle; off_idle : (n,) its distance from idle in standard deviations, infinite
    where the engine never idled; period_s : usual wait between samples; redline_rpm : None where it is not known
    """

    time_s: np.ndarray
    rpm: np.ndarray
    mps: np.ndarray
    ratio: np.ndarray
    off_sigma: np.ndarray
    idling: np.ndarray
    off_idle: np.ndarray
    period_s: float
    redline_rpm: float | None


def build_evidence(
    engine: Samples, vehicle: Samples, bands: RatioBands, *, redline_rpm: float | None = None
) -> Evidence:
    """Distance of engine speed over vehicle speed from each gear's ratio, in standard deviations."""
    thin = max(1, round(1 / (GREATEST_RATE_HZ * engine.period_s)))
    time_s, rpm = engine.time_s[::thin], engine.values[::thin]
    mps = value_at(vehicle, time_s + bands.lag.lag_s) + bands.bias_mps
    driving = (np.nan_to_num(mps) > SLOWEST_MPS) & (rpm > 1.0)
    safe_rpm, safe_mps = np.where(driving, rpm, 1.0), np.where(driving, mps, 1.0)
    log_off = np.log(safe_rpm / safe_mps)[:, None] - np.log(bands.rpm_per_mps)
    doubt = np.hypot(_speed_doubt(vehicle, time_s, bands, safe_mps), engine.noise / safe_rpm)
    sigma = np.hypot(np.clip(bands.spread, LEAST_SPREAD, GREATEST_SPREAD), doubt[:, None])
    nearest = np.abs(log_off) == np.abs(log_off).min(axis=1, keepdims=True)
    tells = driving[:, None] & nearest & (sigma < STEP_SHARE * _least_steps(bands.rpm_per_mps))
    idle_rpm = find_idle(engine, vehicle)
    return Evidence(
        time_s=time_s,
        rpm=rpm,
        mps=mps,
        ratio=np.where(driving, safe_rpm / safe_mps, np.nan),
        off_sigma=np.where(tells, log_off / sigma, np.inf),
        idling=is_idling(rpm, idle_rpm),
        off_idle=np.full(rpm.size, np.inf) if idle_rpm is None else (rpm / idle_rpm - 1) / IDLE_SPREAD,
        period_s=thin * engine.period_s,
        redline_rpm=redline_rpm,
    )


def _speed_doubt(vehicle: Samples, time_s: np.ndarray, bands: RatioBands, mps: np.ndarray) -> np.ndarray:
    """Standard deviation of the wheels' speed as a share of it, from noise, interpolation, lag and slip, (n,)."""
    at = time_s + bands.lag.lag_s
    pull = np.abs(slope_at(vehicle, at, over_s=PULL_WINDOW_S))
    lag_doubt = UNKNOWN_LAG_S if bands.lag.uncertainty_s is None else bands.lag.uncertainty_s
    late = np.hypot(lag_doubt, AGE_SHARE * vehicle.period_s) * pull
    logged = np.sqrt(vehicle.noise**2 + bend_at(vehicle, at) ** 2 + late**2)
    return np.hypot(logged / mps, SLIP_PER_MPS2 * pull)


def _least_steps(ratios: np.ndarray) -> np.ndarray:
    """Log distance of each gear to its nearest neighbour, (k,); a lone gear has all room."""
    if ratios.size < 2:
        return np.full(ratios.size, 1.0)
    steps = np.abs(np.diff(np.log(ratios)))
    return np.minimum(np.append(steps, np.inf), np.insert(steps, 0, np.inf))
