"""How well a change of gear can be felt at all: its steps of drive, and what road, pitch and sensor lay over them.

Both come from the noise-free drive, never from the detector. Where the steps are smaller than the rest there is nothing
to be felt, whatever judges it: a downshift under friction brakes takes away a few tenths of m/s² of engine braking.
"""

from dataclasses import dataclass

import numpy as np

from shiftlog.model.trace import Trace
from shiftlog.signal.filter import low_pass

SLOW_HZ, ORDER = 3.0, 2
"""The low-pass of the drive gap."""

BEFORE_S, AFTER_S = (-0.3, -0.02), (0.4, 1.2)
"""Levels are medians from before the clutch opens, and from the definition's stretch after the new gear is in."""

NEAR_S = 1.5


@dataclass(frozen=True, eq=False, kw_only=True)
class Course:
    """What the car did, on one even grid: drive at the wheels over mass, brakes and drag left out, and acceleration
    along the car, (n,) [m/s²]; shaking : what the phone's log adds to it below 3 Hz, (n,) [m/s²]."""

    time_s: np.ndarray
    drive: np.ndarray
    shaking: np.ndarray

    def steps_of(self, open_s: float, start_s: float, end_s: float) -> tuple[float, float]:
        """The lesser of the two steps of drive, and the standard deviation of what is laid over them [m/s²]."""
        before = self._median(open_s + BEFORE_S[0], open_s + BEFORE_S[1])
        within = self._median(start_s, end_s)
        after = self._median(end_s + AFTER_S[0], end_s + AFTER_S[1])
        near = self.shaking[self._between(start_s - NEAR_S, end_s + NEAR_S)]
        return min(abs(before - within), abs(after - within)), float(near.std())

    def _between(self, first_s: float, last_s: float) -> slice:
        first, last = np.searchsorted(self.time_s, (first_s, last_s))
        first = min(int(first), self.time_s.size - 1)
        return slice(first, max(int(last), first + 1))

    def _median(self, first_s: float, last_s: float) -> float:
        return float(np.median(self.drive[self._between(first_s, last_s)]))


def lay_course(time_s: np.ndarray, drive: np.ndarray, felt: np.ndarray, body: Trace) -> Course:
    """The course of a drive whose true acceleration ``felt`` (n,) the trace ``body`` [m/s²] logged."""
    rate_hz = 1 / float(time_s[1] - time_s[0])
    added = np.interp(time_s, body.time_s, body.values[:, 0]) - felt
    return Course(time_s=time_s, drive=drive, shaking=low_pass(added, rate_hz, SLOW_HZ, order=ORDER))
