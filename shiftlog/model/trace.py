"""One signal on drive time, taken out of whatever recording holds it."""

from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True, eq=False, kw_only=True)
class Trace:
    """A signal ready to be measured.

    time_s : (n,) drive time [s], strictly increasing, only where there is a value
    values : (n,) or (n, k), no NaN
    spans : (start_s, end_s) of the stretches in which data exist; nothing is interpolated across a gap
    rate_hz : mean rate of new values
    recording, place : where it comes from
    clipped : (n,) bool, samples at a limit of their sensor, on any axis; None where none is
    late_s, late_u_s : values as logged at t are those of t − late_s, and the standard uncertainty of that [s]; times
    are as logged
    """

    time_s: np.ndarray
    values: np.ndarray
    spans: tuple[tuple[float, float], ...]
    rate_hz: float
    recording: str
    place: str
    clipped: np.ndarray | None = None
    late_s: float = 0.0
    late_u_s: float = 0.0

    def __post_init__(self) -> None:
        for array in (self.time_s, self.values, self.clipped):
            if array is not None:
                array.setflags(write=False)
