"""How well each gear's ratio explains each sample of engine speed, and the stays in gear that follow."""

from dataclasses import dataclass

import numpy as np

from shiftlog.detect.bands import RatioBands
from shiftlog.detect.speeds import Samples, bend_at, slope_at, value_at
from shiftlog.signal.crossing import find_runs

ENTER, LEAVE = 2.0, 3.5
"""Levels of hysteresis in standard deviations: a gear holds from within the first until beyond the second."""

HOLD_S = 0.3
"""A gear's ratio must be held this long; engine speed on its way to another gear sweeps through it faster."""

BRIDGE_S = 0.25
"""A shorter stay outside a gear's band is driveline swing or noise, not the clutch."""

BRIEF, BRIEF_PERIODS = 1.5, 5.5
"""A gear seen in one sample of a slow signal: at most this many standard deviations off, between two stays this many
waits apart. An engine that falls freely lands so close to a gear's ratio in about one sample of ten."""

SWEEP = 3.0
"""A stay whose ratio drifts by this many standard deviations from end to end came in on one side of the band and
went out on the other: engine and wheels were not coupled."""

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

GREATEST_RATE_HZ = 100.0
"""Engine speed cannot change a gear's verdict faster than this; more samples are left out."""

STEP_SHARE = 0.25
"""A sample whose ratio is known worse than this share of the step to the next gear tells nothing."""


@dataclass(frozen=True, eq=False, kw_only=True)
class Evidence:
    """Fit of each gear to each sample.

    time_s, rpm, mps, ratio : (n,); mps : true vehicle speed [m/s], NaN where it is not known; ratio [rpm/(m/s)]
    off_sigma : (n, k) distance of the ratio from each gear's, signed, in standard deviations; infinite where the
    gear is not the nearest or nothing can be told
    """

    time_s: np.ndarray
    rpm: np.ndarray
    mps: np.ndarray
    ratio: np.ndarray
    off_sigma: np.ndarray


@dataclass(frozen=True, eq=False, kw_only=True)
class Stay:
    """A stretch in which one gear's ratio explains the samples; first and last are sample indices."""

    gear: int
    first: int
    last: int


def build_evidence(engine: Samples, vehicle: Samples, bands: RatioBands) -> Evidence:
    """Distance of engine speed over vehicle speed from each gear's ratio, in standard deviations."""
    thin = max(1, round(1 / (GREATEST_RATE_HZ * engine.period_s)))
    time_s, rpm = engine.time_s[::thin], engine.values[::thin]
    mps = value_at(vehicle, time_s + bands.lag.lag_s) + bands.bias_mps
    driving = (np.nan_to_num(mps) > SLOWEST_MPS) & (rpm > 1.0)
    safe_rpm, safe_mps = np.where(driving, rpm, 1.0), np.where(driving, mps, 1.0)
    log_off = np.log(safe_rpm / safe_mps)[:, None] - np.log(bands.rpm_per_mps)
    pull = np.abs(slope_at(vehicle, time_s + bands.lag.lag_s, over_s=0.4))
    doubt = np.hypot(_speed_doubt(vehicle, time_s, bands) / safe_mps, engine.noise / safe_rpm)
    doubt = np.hypot(doubt, SLIP_PER_MPS2 * pull)
    sigma = np.hypot(np.clip(bands.spread, LEAST_SPREAD, GREATEST_SPREAD), doubt[:, None])
    nearest = np.abs(log_off) == np.abs(log_off).min(axis=1, keepdims=True)
    tells = driving[:, None] & nearest & (sigma < STEP_SHARE * _least_steps(bands.rpm_per_mps))
    return Evidence(
        time_s=time_s,
        rpm=rpm,
        mps=mps,
        ratio=np.where(driving, safe_rpm / safe_mps, np.nan),
        off_sigma=np.where(tells, log_off / sigma, np.inf),
    )


def _speed_doubt(vehicle: Samples, time_s: np.ndarray, bands: RatioBands) -> np.ndarray:
    """Standard deviation of vehicle speed at each instant, from noise, interpolation and lag, (n,) [m/s]."""
    at = time_s + bands.lag.lag_s
    lag_doubt = UNKNOWN_LAG_S if bands.lag.uncertainty_s is None else bands.lag.uncertainty_s
    late = np.hypot(lag_doubt, AGE_SHARE * vehicle.period_s) * np.abs(slope_at(vehicle, at, over_s=0.4))
    return np.sqrt(vehicle.noise**2 + bend_at(vehicle, at) ** 2 + late**2)


def _least_steps(ratios: np.ndarray) -> np.ndarray:
    """Log distance of each gear to its nearest neighbour, (k,); a lone gear has all room."""
    if ratios.size < 2:
        return np.full(ratios.size, 1.0)
    steps = np.abs(np.diff(np.log(ratios)))
    return np.minimum(np.append(steps, np.inf), np.insert(steps, 0, np.inf))


def find_stays(evidence: Evidence, *, period_s: float) -> tuple[Stay, ...]:
    """Stays in gear in order of time: within the wide band throughout, within the narrow one long enough."""
    stays: list[Stay] = []
    for gear in range(evidence.off_sigma.shape[1]):
        off = evidence.off_sigma[:, gear]
        wide = _bridge(np.abs(off) < LEAVE, evidence.time_s, max(BRIDGE_S, 1.2 * period_s))
        for start, stop in find_runs(wide):
            stay = _trim(gear, off, int(start), int(stop))
            if stay and _is_held(stay, evidence, period_s):
                stays.append(stay)
    stays.sort(key=lambda stay: stay.first)
    return tuple(_add_brief(stays, evidence, period_s) if period_s > HOLD_S else stays)


def _add_brief(stays: list[Stay], evidence: Evidence, period_s: float) -> list[Stay]:
    """With slow signals, a gear passed through on the way up or down the box may show in one sample alone.

    It counts where it lies well inside the band of a gear between those before and after, close to both in time.
    """
    filled = list(stays[:1])
    for before, after in zip(stays[:-1], stays[1:], strict=True):
        gap = np.arange(before.last + 1, after.first)
        between = slice(min(before.gear, after.gear) + 1, max(before.gear, after.gear))
        reach_s = evidence.time_s[after.first] - evidence.time_s[before.last]
        if gap.size and between.start < between.stop and reach_s < BRIEF_PERIODS * period_s:
            off = np.abs(evidence.off_sigma[gap, between])
            row, column = np.unravel_index(np.argmin(off), off.shape)
            if off[row, column] < BRIEF:
                brief = int(gap[row])
                filled.append(Stay(gear=between.start + int(column), first=brief, last=brief))
        filled.append(after)
    return filled


def _bridge(inside: np.ndarray, time_s: np.ndarray, longest_s: float) -> np.ndarray:
    """Short stretches outside, counted as inside where data go on."""
    bridged = inside.copy()
    for start, stop in find_runs(~inside):
        enclosed = start > 0 and stop < inside.size
        if enclosed and time_s[stop] - time_s[start - 1] <= longest_s:
            bridged[start:stop] = True
    return bridged


def _trim(gear: int, off: np.ndarray, start: int, stop: int) -> Stay | None:
    """From the first to the last sample within the narrow band, or None where none is."""
    core = start + np.flatnonzero(np.abs(off[start:stop]) < ENTER)
    return Stay(gear=gear, first=int(core[0]), last=int(core[-1])) if core.size else None


def _is_held(stay: Stay, evidence: Evidence, period_s: float) -> bool:
    """Whether the ratio was held, not swept through."""
    span = slice(stay.first, stay.last + 1)
    time_s, off = evidence.time_s[span], evidence.off_sigma[span, stay.gear]
    known = np.isfinite(off)
    lasted_s = time_s[-1] - time_s[0]
    if lasted_s < HOLD_S - 0.5 * period_s or np.count_nonzero(known) < 2:
        return False
    core_share = np.mean(np.abs(off) < ENTER)
    slope = np.polyfit(time_s[known] - time_s[0], off[known], 1)[0]
    return bool(core_share > 0.5 and abs(slope) * lasted_s < SWEEP)
