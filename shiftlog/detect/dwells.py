"""Where the lever dwells, in the sensor's own units, before anything is known of the gate."""

from dataclasses import dataclass

import numpy as np
from scipy.cluster.hierarchy import fcluster, linkage

from shiftlog.errors import CannotMeasure
from shiftlog.model.trace import Trace
from shiftlog.signal.crossing import find_runs
from shiftlog.signal.resample import resample_evenly
from shiftlog.signal.robust import step_noise
from shiftlog.signal.rounding import find_rounding
from shiftlog.signal.slope import slope

# A move of the whole gate takes a hand a few tenths of a second; a lever that needs longer than four seconds
# to cross the range it ever covers is taken to dwell.
DWELL_SPEED_SHARE = 0.25
DWELL_LEAST_S = 0.2
# Seats are a whole plane pitch apart, at least a quarter of the range on a gate of five planes; engine rock
# and the hand spread them by less than a third of that.
CLUSTER_SHARE = 0.07
# A range below this many noise sigmas is no lever that moved through a gate.
LEAST_RANGE_SIGMAS = 15.0


@dataclass(frozen=True, eq=False, kw_only=True)
class EvenLever:
    """The lever as logged, on an even grid.

    time_s (n,), raw (n, 2); valid (n,) False inside gaps, where nothing may be read
    noise (2,) : standard deviation of a still lever, logged units; span : range covered, logged units
    rounding (2,) : standard uncertainty of a still lever's mean that is left however long it is, logged units
    """

    time_s: np.ndarray
    raw: np.ndarray
    valid: np.ndarray
    rate_hz: float
    noise: np.ndarray
    span: float
    rounding: np.ndarray


@dataclass(frozen=True, eq=False, kw_only=True)
class Dwells:
    """Stays of the lever: start_s, end_s (k,), raw (k, 2) medians, cluster (k,) index into ``centres`` (c, 2)."""

    start_s: np.ndarray
    end_s: np.ndarray
    raw: np.ndarray
    cluster: np.ndarray
    centres: np.ndarray


def spread_evenly(lever: Trace) -> EvenLever:
    """The lever's trace on an even grid at its own rate. CannotMeasure where nothing moves."""
    grid, raw = resample_evenly(
        lever.time_s, lever.values, rate_hz=lever.rate_hz, start_s=lever.time_s[0], end_s=lever.time_s[-1]
    )
    valid = np.zeros(grid.size, dtype=bool)
    for start, end in lever.spans:
        valid |= (grid >= start) & (grid <= end)
    low, high = np.percentile(raw[valid], [0.5, 99.5], axis=0)
    span = float(np.max(high - low))
    noise = np.array([_reading_noise(lever.values[:, k]) for k in (0, 1)])
    rounding = np.array([find_rounding(lever.values[:, k]) for k in (0, 1)])
    if span <= LEAST_RANGE_SIGMAS * float(noise.max()) or span == 0:
        raise CannotMeasure(
            f"{lever.recording}: the lever does not move in this log (it covers {span:.3g} units, its noise is "
            f"{noise.max():.2g}); check the sensor and its wiring, then drive through the gears"
        )
    return EvenLever(
        time_s=grid, raw=raw, valid=valid, rate_hz=lever.rate_hz, noise=noise, span=span, rounding=rounding
    )


def _reading_noise(values: np.ndarray) -> float:
    """Noise of one axis: no less than the step it is rounded to over √12, even where rounding hides it."""
    steps = np.abs(np.diff(values))
    step = float(steps[steps > 0].min()) if (steps > 0).any() else 0.0
    return max(step_noise(values), step / np.sqrt(12))


def find_dwells(lever: EvenLever) -> Dwells:
    """Stays of at least 0.2 s, gathered into places. CannotMeasure where there is none."""
    speed = np.linalg.norm(slope(lever.raw, lever.rate_hz, 0.1), axis=1)
    noise_speed = float(lever.noise.max()) * np.sqrt(12 / max(0.1 * lever.rate_hz, 3)) / 0.1
    runs = find_runs((speed < max(DWELL_SPEED_SHARE * lever.span, 3 * noise_speed)) & lever.valid)
    runs = runs[(runs[:, 1] - runs[:, 0]) >= DWELL_LEAST_S * lever.rate_hz]
    if not len(runs):
        raise CannotMeasure("the lever never lies still for 0.2 s: no place in the gate can be told from another")
    raw = np.array([np.median(lever.raw[a:b], axis=0) for a, b in runs])
    cluster = _gather(raw, CLUSTER_SHARE * lever.span)
    seconds = (runs[:, 1] - runs[:, 0]) / lever.rate_hz
    centres = np.array([_weighted_centre(raw[cluster == k], seconds[cluster == k]) for k in range(cluster.max() + 1)])
    return Dwells(
        start_s=lever.time_s[runs[:, 0]],
        end_s=lever.time_s[runs[:, 1] - 1],
        raw=raw,
        cluster=cluster,
        centres=centres,
    )


def _gather(points: np.ndarray, radius: float) -> np.ndarray:
    if len(points) == 1:
        return np.zeros(1, dtype=int)
    return fcluster(linkage(points, "average"), t=radius, criterion="distance") - 1


def _weighted_centre(points: np.ndarray, seconds: np.ndarray) -> np.ndarray:
    """Weighted median of each axis; a stay counts by its length, but by no more than two seconds."""
    weight = np.minimum(seconds, 2.0)
    order = np.argsort(points, axis=0)
    centre = np.empty(2)
    for axis in (0, 1):
        cumulative = np.cumsum(weight[order[:, axis]])
        centre[axis] = points[order[np.searchsorted(cumulative, cumulative[-1] / 2), axis], axis]
    return centre
