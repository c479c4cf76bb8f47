"""Sideways acceleration from the positions of a receiver: it knows left from right without any sensor's signs."""

from dataclasses import dataclass

import numpy as np

from shiftlog.align.felt import Felt, between_samples, slope, smooth
from shiftlog.align.traces import held_rows
from shiftlog.model.recording import Recording
from shiftlog.units import EARTH_M

LEAST_MPS = 4.0
"""Below this, positions wander as far as the car goes."""

LAGS = range(-6, 26)
"""Grid steps by which positions may come late."""

LEAST_SAMPLES, LEAST_RMS_MPS2, TELLS = 300, 0.3, 0.5
"""Half a minute of bends of some size, and a correlation that chance does not reach."""


@dataclass(frozen=True, eq=False, kw_only=True)
class Course:
    """Sideways acceleration on a sensor's grid: across (m,) [m/s²], positive to the left, and where it is known."""

    across: np.ndarray
    known: np.ndarray


def course_on(grid_s: np.ndarray, recording: Recording) -> Course | None:
    """The course of a recording that holds positions, at grid times; None where it holds none or never moved."""
    if not recording.has("latitude", "longitude"):
        return None
    time_s, place = held_rows(recording, ("longitude", "latitude"))
    moved = np.any(np.diff(place, axis=0, prepend=np.nan) != 0, axis=1)
    time_s, place = time_s[moved], np.deg2rad(place[moved])
    if time_s.size < 20:
        return None
    metres = EARTH_M * (place - place[0])
    metres[:, 0] *= np.cos(place[0, 1])
    path = smooth(smooth(np.stack([np.interp(grid_s, time_s, m) for m in metres.T], axis=1)))
    velocity = slope(path)
    change = slope(velocity)
    speed = np.linalg.norm(velocity, axis=1)
    across = (velocity[:, 0] * change[:, 1] - velocity[:, 1] * change[:, 0]) / np.maximum(speed, LEAST_MPS)
    known = between_samples(grid_s, time_s) & (speed > LEAST_MPS) & (np.abs(across) < 15)
    return Course(across=across, known=known)


def is_mirrored(felt: Felt, left: np.ndarray, course: Course) -> bool:
    """Whether the force along ``left`` (3,) goes against the bends of the course: then the sensor's signs make a
    mirror image, which acceleration and turning alone never show."""
    sideways = smooth(felt.force @ left)
    found = [_correlation(sideways, course, felt.held, lag) for lag in LAGS]
    strongest = max(found, key=abs)
    return strongest < -TELLS


def _correlation(sideways: np.ndarray, course: Course, held: np.ndarray, lag: int) -> float:
    """Correlation with the course ``lag`` steps later, 0 where there is too little."""
    across, known = np.roll(course.across, -lag), np.roll(course.known, -lag) & held
    if lag > 0:
        known[-lag:] = False
    elif lag < 0:
        known[:-lag] = False
    if known.sum() < LEAST_SAMPLES or np.sqrt(np.mean(across[known] ** 2)) < LEAST_RMS_MPS2:
        return 0.0
    return float(np.corrcoef(sideways[known], across[known])[0, 1])
