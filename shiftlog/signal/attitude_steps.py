"""Steps between two rests in how one motion sensor lies to another, and which of the two turned."""

from dataclasses import dataclass

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from scipy.integrate import cumulative_trapezoid
from scipy.spatial.transform import Rotation

from shiftlog.signal.attitude import attitude_at
from shiftlog.signal.motion_blocks import Sensed

GRID_S = 0.05
REST_S, GAP_S = 0.5, 0.5
"""A rest is so long, and a step is over within this to either side of its middle."""
_STILL_DEG = 0.15
"""An engine rocks a lever by less than this while no torque comes or goes (common practice, no source)."""
LEAST_DEG = 1.0
"""What torque leans a lever by when it comes or goes stays below this (common practice, no source)."""
_PLATEAU = 0.8


@dataclass(frozen=True, eq=False, kw_only=True)
class Step:
    """From one rest to another at ``at_s``.

    before, after : attitudes that carry inner axes into outer ones; u_deg : standard uncertainty of the turn between
    turned_deg : its size as the gyros felt it, whatever is already taken out of the attitudes
    outer_share : how much of it the outer sensor's own gyro turned, 0 where the inner one moved, 1 where the outer did
    """

    at_s: float
    before: Rotation
    after: Rotation
    u_deg: float
    turned_deg: float
    outer_share: float


@dataclass(frozen=True, eq=False, kw_only=True)
class Course:
    """The relative attitude on an even grid: time_s (n,), turned (n, 3) against ``mean`` as rotation vectors [deg];
    outer_rates, inner_rates (n, 3) over each step of the grid, outer axes [rad/s]."""

    time_s: np.ndarray
    turned: np.ndarray
    mean: Rotation
    outer_rates: np.ndarray
    inner_rates: np.ndarray


def lay_course(time_s: np.ndarray, attitude: Rotation, inner: Sensed, outer: Sensed) -> Course:
    """Attitudes (n) at times (n,), and the rates of both sensors, on one grid."""
    grid = np.arange(time_s[0], time_s[-1], GRID_S)
    mean = attitude.mean()
    turned = np.rad2deg((attitude * mean.inv()).as_rotvec())
    at_grid = attitude_at(time_s, attitude, grid)
    return Course(
        time_s=grid, mean=mean, turned=np.stack([np.interp(grid, time_s, column) for column in turned.T], axis=1),
        outer_rates=_rates(outer, grid), inner_rates=at_grid.apply(_rates(inner, grid)),
    )  # fmt: skip


def _rates(sensed: Sensed, grid: np.ndarray) -> np.ndarray:
    """Mean rates (n, 3) of the grid's steps, the last one held."""
    total = cumulative_trapezoid(sensed.rates, sensed.gyro_s, axis=0, initial=0)
    edges = np.append(grid, grid[-1] + GRID_S)
    return np.diff([np.interp(edges, sensed.gyro_s, column) for column in total.T], axis=1).T / GRID_S


def find_steps(course: Course) -> tuple[Step, ...]:
    """Every step of ``LEAST_DEG`` or more that lies between two rests, in order of time."""
    rest, gap = int(REST_S / GRID_S), int(GAP_S / GRID_S)
    middle = np.arange(rest + gap, course.time_s.size - rest - gap)
    if middle.size == 0:
        return ()
    windows = sliding_window_view(course.turned, rest, axis=0)
    mean, spread = windows.mean(axis=2), windows.std(axis=2).max(axis=1)
    before, after = middle - gap - rest, middle + gap
    still = np.maximum(spread[before], spread[after]) < _STILL_DEG
    size = np.linalg.norm(mean[after] - mean[before], axis=1) * still
    steps = []
    while size.max() >= LEAST_DEG:
        first, last = _plateau(size)
        k = (first + last) // 2
        ends = [Rotation.from_rotvec(np.deg2rad(mean[i])) * course.mean for i in (before[k], after[k])]
        share, turned_deg = _who_turned(course, middle[k] - gap, middle[k] + gap)
        steps.append(
            Step(
                at_s=float(course.time_s[middle[k]]), before=ends[0], after=ends[1],
                u_deg=float(np.hypot(spread[before[k]], spread[after[k]])),
                turned_deg=turned_deg, outer_share=share,
            )
        )  # fmt: skip
        size[max(first - 2 * gap, 0) : last + 2 * gap + 1] = 0.0
    return tuple(sorted(steps, key=lambda step: step.at_s))


def _plateau(size: np.ndarray) -> tuple[int, int]:
    """First and last place about the largest that are nearly as large: the step lies in the middle of them."""
    top = int(np.argmax(size))
    low = np.flatnonzero(size < _PLATEAU * size[top])
    at = np.searchsorted(low, top)
    return int(low[at - 1] + 1) if at else 0, int(low[at] - 1) if at < low.size else size.size - 1


def _who_turned(course: Course, first: int, end: int) -> tuple[float, float]:
    """Share of the turning against each other that the outer sensor did, by least squares over the step; and how far
    they turned [deg].

    The car's own turning is what it did just before and after.
    """
    around = int(REST_S / GRID_S)
    beside = np.concatenate([course.outer_rates[first - around : first], course.outer_rates[end : end + around]])
    outer = course.outer_rates[first:end] - np.median(beside, axis=0)
    drift = np.median(course.outer_rates - course.inner_rates, axis=0)
    apart = course.outer_rates[first:end] - course.inner_rates[first:end] - drift
    share = float(np.sum(outer * apart) / max(np.sum(apart**2), 1e-12))
    return share, float(np.rad2deg(np.linalg.norm(apart.sum(axis=0))) * GRID_S)
