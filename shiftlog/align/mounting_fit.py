"""A sensor's mounting by gravity and what else tells forward: speed, yaw rate, stops, or another sensor."""

from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from shiftlog.align.axis_fit import as_mounting, fit_axes
from shiftlog.align.course import Course, is_mirrored
from shiftlog.align.felt import GRID_S, Felt
from shiftlog.align.slip import Make, find_slip, find_tilt
from shiftlog.align.stops import CEILING, HOW, fit_stops
from shiftlog.align.witnesses import BLOCK_S, witness_bends, witness_other, witness_speed
from shiftlog.model.drive import Mounting
from shiftlog.signal.force_lag import ForceLag, find_force_lag
from shiftlog.signal.rotate import rotate

LAGS_S = np.arange(-0.6, 2.01, GRID_S)
"""A receiver may be late by a second and more; a clock that was matched by other signals may err to either side."""

LEAST_SAMPLES = 300

MIRRORED = (
    "the accelerometer reports all its signs turned: no rotation fits gravity, speed and the bends of its own positions "
    "at once, and its mirror image does; turn the sign of accel_x, accel_y and accel_z in the log"
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
    """A mounting; where speed was there, its recording and how late it comes.

    refused : what was felt contradicts itself, so that nothing else may tell either
    """

    mounting: Mounting
    speed: str | None = None
    lag: ForceLag | None = None
    refused: bool = False


def fit_mounting(felt: Felt, speeds: list[Speed], courses: list[Course]) -> Fit:
    """The mounting of a sensor that felt this, by itself and by the vehicle speeds and courses beside it.

    Speed tells best; without it the surer of yaw rate and stops; ``rotation`` is None with the reason where none does,
    or where a course shows that the sensor's signs make a mirror image.
    """
    fit = _fit(felt, speeds)
    rotation = fit.mounting.rotation
    if rotation is None or not any(is_mirrored(felt, rotation[1], course) for course in courses):
        return fit
    return replace(fit, mounting=Mounting(rotation=None, how="unknown", why=MIRRORED), refused=True)


def _fit(felt: Felt, speeds: list[Speed]) -> Fit:
    by_speed = [fit for speed in speeds if (fit := _by_speed(felt, speed)) is not None]
    best = max(by_speed, key=lambda fit: fit.mounting.confidence or 0.0, default=None)
    if best is not None and (best.mounting.rotation is not None or best.mounting.slipped_at_s is not None):
        return best
    if any(fit.refused for fit in by_speed):
        return next(fit for fit in by_speed if fit.refused)
    tried = [best.mounting] if best is not None else []
    tried += [m for m in (_told(felt, partial(witness_bends, felt)), _by_stops(felt)) if m is not None]
    mounting = max(tried, key=lambda m: m.confidence or 0.0, default=_unknown(felt, speeds))
    lag, name = (best.lag, best.speed) if best is not None else (None, None)
    return Fit(mounting=_with_tilt(felt, mounting), speed=name, lag=lag)


def fit_by_other(felt: Felt, other: Felt, mounting: Mounting, name: str) -> Mounting | None:
    """By another sensor of the same car whose mounting is known: both felt the same. None where that tells nothing."""
    force = _in_vehicle(other, mounting)
    on_grid = np.stack([np.interp(felt.time_s, other.time_s, column) for column in force.T], axis=1)
    there = np.interp(felt.time_s, other.time_s, other.held.astype(float), left=0.0, right=0.0) > 0.99
    return _told(felt, lambda span: witness_other(felt, on_grid, name, mounting, span & there))


def _by_speed(felt: Felt, speed: Speed) -> Fit | None:
    used = speed.known & felt.held
    if used.sum() < LEAST_SAMPLES:
        return None
    lag = find_force_lag(felt.force, speed.mps, used, GRID_S, lags_s=LAGS_S, block_s=BLOCK_S)
    if lag is None:
        return None
    make = partial(witness_speed, felt, speed.mps, speed.known, lag.lag_s)
    mounting = _told(felt, make)
    if mounting is None:
        return None
    refused = mounting.rotation is None and fit_axes(make(felt.held)).why is not None
    return Fit(mounting=mounting, speed=speed.recording, lag=lag, refused=refused)


def _told(felt: Felt, make: Make) -> Mounting | None:
    """What a witness tells, in stretches where the sensor slipped; None where it tells nothing at all."""
    whole = make(felt.held)
    if whole is None:
        return None
    slipped = find_slip(felt, make, whole)
    fit = fit_axes(whole)
    if slipped is None and fit.turn is None and fit.why is None:
        return None
    return slipped or as_mounting(fit, whole.how, most=whole.most)


def _by_stops(felt: Felt) -> Mounting | None:
    fit = fit_stops(felt, felt.held)
    return None if fit is None else as_mounting(fit, HOW, most=CEILING)


def _with_tilt(felt: Felt, mounting: Mounting) -> Mounting:
    """Where nothing better tells of a slip, up that changed for good does; then no one mounting holds."""
    at_s = None if mounting.slipped_at_s is not None else find_tilt(felt)
    if at_s is None:
        return mounting
    why = (
        f"the sensor turned in its holder at about {at_s:.0f} s, and too little is left on either side to tell "
        "forward; fix it firmly and drive again"
    )
    return Mounting(rotation=None, how="unknown", slipped_at_s=at_s, why=why)


def _in_vehicle(other: Felt, mounting: Mounting) -> np.ndarray:
    force = rotate(other.force, mounting.rotation)
    for from_s, rotation in mounting.later:
        after = other.time_s >= from_s
        force[after] = rotate(other.force[after], rotation)
    return force


def _unknown(felt: Felt, speeds: list[Speed]) -> Mounting:
    if speeds:
        why = "vehicle speed hardly changed or does not fit what was felt; drive longer, with more changes of speed"
    else:
        what = "no vehicle speed" if felt.rate is not None else "no vehicle speed and no gyro"
        why = f"{what}, and too few bends or stops to tell it by; log GPS speed beside it"
    return Mounting(rotation=None, how="unknown", why=f"up is known and forward is not: {why}, or declare the mounting")
