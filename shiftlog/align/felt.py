"""What a motion sensor felt at the pace at which a car moves, and how fast the car went meanwhile."""

from dataclasses import dataclass

import numpy as np
from scipy.ndimage import gaussian_filter1d

from shiftlog.align.traces import held_rows, new_rows
from shiftlog.model.recording import ACCEL, GYRO, Recording

GRID_S = 0.1
SMOOTH_S = 0.5
"""Standard deviation of the smoothing: 0.3 Hz and slower is the car's own motion, above it the road's."""

LONGEST_STEP_S = 2.5
"""Speed is not drawn through holes longer than this; the slowest receivers give one fix a second."""


@dataclass(frozen=True, eq=False, kw_only=True)
class Felt:
    """A motion sensor on a grid of ``GRID_S``, in its own axes.

    time_s (m,); force (m, 3) smoothed [m/s²]; rate (m, 3) smoothed [rad/s], or None; shake (m,) r.m.s. within a
    grid step [m/s²]; held (m,) False in holes
    """

    time_s: np.ndarray
    force: np.ndarray
    rate: np.ndarray | None
    shake: np.ndarray
    held: np.ndarray


def feel(recording: Recording, gyro: Recording | None = None) -> Felt | None:
    """A recording's accelerometer on the grid, with the gyro of ``gyro`` (in the same axes and on the same clock); None
    where it has no three-axis accelerometer."""
    if not recording.has(*ACCEL):
        return None
    time, accel = held_rows(recording, ACCEL)
    if time.size < 20 or np.ptp(time) < 5.0:
        return None
    start = float(time[0])
    bins = _bins(time, start)
    count = int(bins[-1]) + 1
    mean, held = _means(accel, bins, count)
    square, _ = _means(np.square(accel), bins, count)
    shake = np.sqrt(np.maximum(square - np.square(mean), 0).sum(axis=1))
    rate = None if gyro is None else _rate(gyro, start, count)
    return Felt(
        time_s=start + (np.arange(count) + 0.5) * GRID_S, force=smooth(mean), rate=rate, shake=shake, held=held,
    )  # fmt: skip


def speed_on(grid_s: np.ndarray, recording: Recording) -> tuple[np.ndarray, np.ndarray] | None:
    """Vehicle speed of a recording at grid times, smoothed [m/s], and where it is known; None where it has none."""
    if not recording.has("vehicle_speed"):
        return None
    time, speed = new_rows(recording, ("vehicle_speed",))
    if time.size < 10:
        return None
    return smooth(np.interp(grid_s, time, speed[:, 0])), between_samples(grid_s, time)


def between_samples(grid_s: np.ndarray, time_s: np.ndarray) -> np.ndarray:
    """Which grid times (m,) lie between samples that follow one another soon enough to draw a line, bool."""
    after = np.clip(np.searchsorted(time_s, grid_s), 1, time_s.size - 1)
    near = time_s[after] - time_s[after - 1] < LONGEST_STEP_S
    return (grid_s >= time_s[0]) & (grid_s <= time_s[-1]) & near


def smooth(values: np.ndarray) -> np.ndarray:
    """Gaussian smoothing along the grid, (m,) or (m, k)."""
    return gaussian_filter1d(values, SMOOTH_S / GRID_S, axis=0, mode="nearest")


def slope(values: np.ndarray) -> np.ndarray:
    """Change per second along the grid."""
    return np.gradient(values, GRID_S, axis=0)


def _rate(recording: Recording, start: float, count: int) -> np.ndarray | None:
    if not recording.has(*GYRO):
        return None
    time, gyro = held_rows(recording, GYRO)
    if time.size < 20:
        return None
    bins = _bins(time, start)
    inside = (bins >= 0) & (bins < count)
    mean, _ = _means(gyro[inside], bins[inside], count)
    return smooth(mean)


def _bins(time_s: np.ndarray, start_s: float) -> np.ndarray:
    return ((time_s - start_s) / GRID_S).astype(int)


def _means(values: np.ndarray, bins: np.ndarray, count: int) -> tuple[np.ndarray, np.ndarray]:
    """Mean of each grid step, (count, k), holes drawn through; and which steps hold samples or lie between two."""
    hits = np.bincount(bins, minlength=count)
    sums = np.stack([np.bincount(bins, weights=column, minlength=count) for column in values.T], axis=1)
    full = np.flatnonzero(hits)
    mean = np.stack([np.interp(np.arange(count), full, column[full] / hits[full]) for column in sums.T], axis=1)
    # Slower recorders leave every second step empty; a hole is longer than that.
    after = np.clip(np.searchsorted(full, np.arange(count)), 0, full.size - 1)
    before = np.clip(after - 1, 0, full.size - 1)
    held = (hits > 0) | (full[after] - full[before] <= 5)
    return mean, held
