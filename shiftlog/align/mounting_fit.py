"""A sensor's mounting by gravity and what else tells forward: speed, yaw rate, stops, or another sensor."""

from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from shiftlog.align.axis_fit import as_mounting, fit_axes
from shiftlog.align.course import Course, is_mirrored
from shiftlog.align.felt import GRID_S, Felt
from shiftlog.align.slip import Make, find_slip, find_tilt, with_halves
from shiftlog.align.stops import CEILING, HOW, fit_stops, is_still
from shiftlog.align.traces import in_vehicle_axes
from shiftlog.align.witnesses import BLOCK_S, changes, witness_bends, witness_other, witness_pull, witness_speed
from shiftlog.model.drive import Mounting
from shiftlog.signal.force_lag import ForceLag, find_force_lag
from shiftlog.signal.gravity import normal_gravity

LAGS_S = np.arange(-0.6, 2.01, GRID_S)
"""A receiver may be late by a second and more; a clock that was matched by other signals may err to either side."""

LEAST_LAG_U_S = 0.3
"""A lag less certain than this helps nobody: receivers are late by 0.2 to 1.2 s (common practice, no source)."""

LEAST_SAMPLES = 300

CONTRADICTED = 0.75
"""Confidence at the most where speed says otherwise: one of the two is wrong, and nothing tells for certain which."""

OTHER_WAY_DEG = 120.0
"""From here on it was put back the other way round; the pull of bends alone is off by tens of degrees."""

LEAST_GRAVITY_MPS2 = 5.0
WEIGHTLESS = (
    "it reads {:.1f} m/s² on the whole where gravity is 9.8: either gravity was taken out, or the unit is wrong; log "
    "acceleration with gravity, or correct the unit"
)
"""Phones offer both kinds of acceleration side by side."""

BIAS_MPS2, STILL_LEAST_S = 0.4, 5.0
"""A cheap sensor is off by so much at rest and no more (zero-g offset of 40 mg); judged over a few seconds."""

MIRRORED = (
    "the accelerometer reports all its signs turned (no rotation fits gravity, speed and the bends of the positions at "
    "once, a mirror image does): forward and up hold, left and right are swapped"
)
"""An accelerometer that is positive along gravity when still."""


@dataclass(frozen=True, eq=False, kw_only=True)
class Speed:
    """Vehicle speed on a sensor's grid: mps (m,), known (m,) bool, and the recording it is from."""

    mps: np.ndarray
    known: np.ndarray
    recording: str


@dataclass(frozen=True, eq=False, kw_only=True)
class Fit:
    """A mounting; where speed was there, its recording and how late it comes."""

    mounting: Mounting
    speed: str | None = None
    lag: ForceLag | None = None


def fit_mounting(felt: Felt, speeds: list[Speed], courses: list[Course]) -> Fit:
    """The mounting of a sensor that felt this, by itself and by the vehicle speeds and courses beside it.

    Speed tells best; without it the surer of yaw rate and stops; ``rotation`` is None with the reason where none does.
    Where a course shows that the sensor's signs make a mirror image, that is said.
    """
    weighs = float(np.linalg.norm(felt.force[felt.held].mean(axis=0)))
    if weighs < LEAST_GRAVITY_MPS2:
        return Fit(mounting=Mounting(rotation=None, how="unknown", why=WEIGHTLESS.format(weighs)))
    fit = _fit(felt, speeds)
    fit = replace(fit, mounting=_with_weight(felt, fit.mounting))
    rotation = fit.mounting.rotation
    if rotation is None or not any(is_mirrored(felt, rotation[1], course) for course in courses):
        return fit
    return replace(fit, mounting=replace(fit.mounting, why=MIRRORED, gyro_fits=False))


def _fit(felt: Felt, speeds: list[Speed]) -> Fit:
    by_speed = [fit for speed in speeds if (fit := _by_speed(felt, speed)) is not None]
    best = max(by_speed, key=lambda fit: fit.mounting.confidence or 0.0, default=None)
    if best is not None and (best.mounting.rotation is not None or best.mounting.slipped_at_s is not None):
        return best
    tried = [best.mounting] if best is not None else []
    tried += [m for m in (_by_bends(felt), _by_stops(felt)) if m is not None]
    mounting = max(tried, key=lambda m: m.confidence or 0.0, default=_unknown(felt, speeds))
    lag, name = (best.lag, best.speed) if best is not None else (None, None)
    tilted = find_tilt(felt) if mounting.slipped_at_s is None else None
    return Fit(mounting=tilted or _contradicted(felt, mounting, speeds), speed=name, lag=lag)


def _contradicted(felt: Felt, mounting: Mounting, speeds: list[Speed]) -> Mounting:
    """Less sure where a speed that changed enough goes with nothing that was felt."""
    told = [s.recording for s in speeds if changes(s.mps, s.known & felt.held)]
    if mounting.rotation is None or not told:
        return mounting
    why = f"the vehicle speed of {' and '.join(told)} goes with nothing felt and was left aside; check its clock"
    sure = min(mounting.confidence, CONTRADICTED)
    return replace(mounting, confidence=sure, why=_joined(mounting.why, why))


def fit_lag(felt: Felt, speeds: list[Speed]) -> Fit | None:
    """How late the speed comes that goes best with what was felt; None where none does."""
    fits = [
        fit for speed in speeds if (fit := _by_speed(felt, speed)) is not None and fit.mounting.rotation is not None
    ]
    return max(fits, key=lambda fit: fit.mounting.confidence, default=None)


def fit_by_other(felt: Felt, other: Felt, mounting: Mounting, name: str) -> Mounting | None:
    """By another sensor of the same car whose mounting is known: both felt the same. None where that tells nothing."""
    force = in_vehicle_axes(other.time_s, other.force, mounting)
    on_grid = np.stack([np.interp(felt.time_s, other.time_s, column) for column in force.T], axis=1)
    there = np.interp(felt.time_s, other.time_s, other.held.astype(float), left=0.0, right=0.0) > 0.99
    there &= mounting.holds(felt.time_s)
    return _told(felt, lambda span: witness_other(felt, on_grid, name, mounting, span & there))


def _by_speed(felt: Felt, speed: Speed) -> Fit | None:
    used = speed.known & felt.held
    if used.sum() < LEAST_SAMPLES:
        return None
    lag = _lag(felt, speed.mps, used)
    if lag is None:
        return None
    make = partial(witness_speed, felt, speed.mps, speed.known, lag.lag_s)
    mounting = _told(felt, make)
    return None if mounting is None else Fit(mounting=mounting, speed=speed.recording, lag=lag)


def _lag(felt: Felt, mps: np.ndarray, used: np.ndarray) -> ForceLag | None:
    """How late speed comes, by the whole drive, else by the surer of its halves: a sensor put back the other way round
    half-way felt the same changes once forwards and once backwards, and no direction goes with them."""
    seek = partial(find_force_lag, felt.force, mps, step_s=GRID_S, lags_s=LAGS_S, block_s=BLOCK_S)
    whole = seek(used=used)
    if whole is not None and whole.u_s < LEAST_LAG_U_S:
        return whole
    early = np.cumsum(used) <= used.sum() / 2
    halves = [lag for half in (used & early, used & ~early) if (lag := seek(used=half)) is not None]
    return min((lag for lag in halves if lag.u_s < LEAST_LAG_U_S), key=lambda lag: lag.u_s, default=whole)


def _told(felt: Felt, make: Make) -> Mounting | None:
    """What a witness tells, in stretches where the sensor slipped; None where it tells nothing at all."""
    whole = make(felt.held)
    if whole is None:
        return None
    slipped = find_slip(felt, make, whole)
    fit = fit_axes(whole, levelled=True)
    if slipped is None and fit.turn is None:
        return None
    if slipped is not None:
        return slipped
    fit, said = with_halves(fit, whole)
    mounting = as_mounting(fit, whole.how, most=whole.most)
    return mounting if said is None else replace(mounting, why=_joined(mounting.why, said))


def _by_bends(felt: Felt) -> Mounting | None:
    """What bends tell. What they say of forward is blind to a sensor put back the other way round: the side to which
    they pull is not."""
    make, pull = partial(witness_bends, felt), witness_pull(felt, felt.held)
    turned = None if pull is None else find_slip(felt, make, pull, least_deg=OTHER_WAY_DEG)
    return turned or _told(felt, make)


def _by_stops(felt: Felt) -> Mounting | None:
    fit = fit_stops(felt, felt.held)
    return None if fit is None else as_mounting(fit, HOW, most=CEILING)


def _with_weight(felt: Felt, mounting: Mounting) -> Mounting:
    """With a line on gravity where the sensor, standing still, reads what gravity is nowhere on earth."""
    still = is_still(felt)
    if mounting.rotation is None or still.sum() * GRID_S < STILL_LEAST_S:
        return mounting
    reads = float(np.median(np.linalg.norm(felt.force[still], axis=1)))
    if normal_gravity(0.0) - BIAS_MPS2 < reads < normal_gravity(90.0) + BIAS_MPS2:
        return mounting
    why = f"standing still it reads {reads:.2f} m/s² where gravity is 9.78 to 9.83; check its unit and scale"
    return replace(mounting, why=_joined(mounting.why, why))


def _joined(said: str | None, more: str) -> str:
    return more if said is None else f"{said}; {more}"


def _unknown(felt: Felt, speeds: list[Speed]) -> Mounting:
    if speeds:
        why = "vehicle speed hardly changed or does not fit what was felt; drive longer, with more changes of speed"
    else:
        what = "no vehicle speed" if felt.rate is not None else "no vehicle speed and no gyro"
        why = f"{what}, and too few bends or stops to tell it by; log GPS speed beside it"
    return Mounting(rotation=None, how="unknown", why=f"up is known and forward is not: {why}, or declare the mounting")
