"""The lever's noise-free path as a sum of strokes on a dense, even grid."""

from dataclasses import dataclass, field

import numpy as np

PATH_RATE_HZ = 2000.0
"""Grid of the noise-free path: at 100 m/s² of lever acceleration linear interpolation errs by 3 µm."""

SELECT, ENGAGE = 0, 1


def min_jerk(u: np.ndarray) -> np.ndarray:
    """Minimum-jerk course 10u³ − 15u⁴ + 6u⁵ for u in 0…1, held outside (Flash and Hogan 1985)."""
    u = np.clip(u, 0.0, 1.0)
    return u**3 * (10 + u * (6 * u - 15))


def skewed_min_jerk(u: np.ndarray, skew: float) -> np.ndarray:
    """Minimum jerk run through u + skew·u·(1 − u): early peak for skew > 0, late for < 0; |skew| < 1."""
    u = np.clip(u, 0.0, 1.0)
    return min_jerk(u + skew * u * (1 - u))


@dataclass(frozen=True, eq=False, kw_only=True)
class Stroke:
    """One hand movement of one axis: ``amount_mm`` in ``duration_s`` from ``start_s``, then it stays."""

    axis: int
    start_s: float
    duration_s: float
    amount_mm: float
    skew: float = 0.0


@dataclass(frozen=True, eq=False, kw_only=True)
class Course:
    """A movement computed step by step at the path's own rate, as change from where it began [mm]."""

    axis: int
    start_s: float
    change_mm: np.ndarray


@dataclass(eq=False, kw_only=True)
class StrokePlan:
    """Strokes and courses in the making; ``at`` is where each axis will be when all have run [gate mm]."""

    at: list[float]
    begin: tuple[float, float] = field(init=False)
    strokes: list[Stroke] = field(default_factory=list)
    courses: list[Course] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.begin = (self.at[SELECT], self.at[ENGAGE])

    def go(self, axis: int, to_mm: float, *, start_s: float, duration_s: float, skew: float = 0.0) -> float:
        """Add a stroke that ends at ``to_mm``; returns the time at which it ends [s]."""
        amount = to_mm - self.at[axis]
        if abs(amount) > 1e-9:
            self.strokes.append(Stroke(axis=axis, start_s=start_s, duration_s=duration_s, amount_mm=amount, skew=skew))
            self.at[axis] = to_mm
        return start_s + duration_s

    def run(self, axis: int, change_mm: np.ndarray, *, start_s: float) -> float:
        """Add a computed course; returns the time at which it ends [s]."""
        self.courses.append(Course(axis=axis, start_s=start_s, change_mm=change_mm))
        self.at[axis] += float(change_mm[-1])
        return start_s + change_mm.size / PATH_RATE_HZ

    def trace(self, duration_s: float) -> tuple[np.ndarray, np.ndarray]:
        """Grid times (n,) [s] and path (n, 2) select, engage [gate mm] up to ``duration_s``."""
        count = int(round(duration_s * PATH_RATE_HZ)) + 1
        time_s = np.arange(count) / PATH_RATE_HZ
        moves, steps = np.zeros((count, 2)), np.zeros((count + 1, 2))
        for stroke in self.strokes:
            _add_stroke(stroke, time_s, moves, steps)
        for course in self.courses:
            _add_course(course, moves, steps)
        return time_s, np.array(self.begin) + moves + np.cumsum(steps[:count], axis=0)


def _add_stroke(stroke: Stroke, time_s: np.ndarray, moves: np.ndarray, steps: np.ndarray) -> None:
    first, last = _indices(stroke.start_s, stroke.start_s + stroke.duration_s, time_s.size)
    u = (time_s[first:last] - stroke.start_s) / stroke.duration_s
    moves[first:last, stroke.axis] += stroke.amount_mm * skewed_min_jerk(u, stroke.skew)
    steps[last, stroke.axis] += stroke.amount_mm


def _add_course(course: Course, moves: np.ndarray, steps: np.ndarray) -> None:
    first = min(int(round(course.start_s * PATH_RATE_HZ)), moves.shape[0])
    last = min(first + course.change_mm.size, moves.shape[0])
    moves[first:last, course.axis] += course.change_mm[: last - first]
    steps[last, course.axis] += course.change_mm[-1]


def _indices(start_s: float, end_s: float, count: int) -> tuple[int, int]:
    first = int(np.ceil(start_s * PATH_RATE_HZ))
    last = int(np.ceil(end_s * PATH_RATE_HZ))
    return min(max(first, 0), count), min(max(last, 0), count)


def keep_in_gate(
    path: np.ndarray, planes_mm: np.ndarray, *, slack_mm: float, mouth_mm: float, corner_mm: float
) -> np.ndarray:
    """Let the walls of the gate turn the path aside: (n, 2) → (n, 2) [gate mm].

    Beyond ``corner_mm`` from the neutral line select is held within ``slack_mm`` of a plane; from there to
    ``mouth_mm`` the wall is a quarter circle, which rounds the corners of the H; nearer it is free.
    """
    depth = np.abs(path[:, ENGAGE])
    radius = corner_mm - mouth_mm
    inside = np.clip(corner_mm - depth, 0.0, radius)
    allowed = slack_mm + radius - np.sqrt(radius**2 - inside**2)
    nearest = planes_mm[np.argmin(np.abs(path[:, [SELECT]] - planes_mm), axis=1)]
    off = np.clip(path[:, SELECT] - nearest, -allowed, allowed)
    walled = np.where(depth > mouth_mm, nearest + off, path[:, SELECT])
    return np.stack([walled, path[:, ENGAGE]], axis=1)
