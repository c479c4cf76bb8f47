"""The noise-free drive as the truth is read from it."""

from dataclasses import dataclass

import numpy as np

from shiftlog.model.car import Car
from shiftlog.synth.path import PATH_RATE_HZ
from shiftlog.synth.vehicle import Motion


@dataclass(frozen=True, eq=False, kw_only=True)
class Scene:
    """Path in true gate mm on the dense grid, with car, seats and motion.

    time_s (n,); path (n, 2) everything the lever does; steady (n, 2) without chatter and shake; seats by gear
    """

    car: Car
    seats: dict[str, tuple[float, float]]
    time_s: np.ndarray
    path: np.ndarray
    steady: np.ndarray
    motion: Motion

    def span(self, start_s: float, end_s: float) -> slice:
        """Indices of a span of time, kept inside the drive."""
        first, last = (int(round(t * PATH_RATE_HZ)) for t in (start_s, end_s))
        return slice(max(first, 0), min(max(last, 0) + 1, self.time_s.size))

    def motion_at(self, course: np.ndarray, at_s: float) -> float:
        """A course of the motion at one time."""
        return float(np.interp(at_s, self.motion.time_s, course))
