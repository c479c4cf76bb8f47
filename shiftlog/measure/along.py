"""One axis of the body's acceleration on an even grid, ready for one band; the x axis runs along the car."""

from dataclasses import dataclass

import numpy as np
from scipy import signal

from shiftlog.model.trace import Trace
from shiftlog.signal.filter import low_pass
from shiftlog.signal.resample import resample_smoothly

SETTLES_S = 0.5
"""A span shorter than this holds nothing but the ends of its filters."""


@dataclass(frozen=True, eq=False, kw_only=True)
class Along:
    """time_s, values : (n,) even within each of ``spans``; rate_hz : of the grid."""

    time_s: np.ndarray
    values: np.ndarray
    spans: tuple[tuple[float, float], ...]
    rate_hz: float


def smooth_along(trace: Trace, *, corner_hz: float, order: int, least_rate_hz: float, axis: int = 0) -> Along:
    """One axis low-passed (zero phase), then on a grid of at least ``least_rate_hz`` and not much more.

    trace : (n, 3) in vehicle axes. A corner above 0.45 times the rate is left out: the sensor has done it.
    """
    values = trace.values[:, axis]
    cut = [_piece(trace, values, span, corner_hz, order, least_rate_hz) for span in trace.spans]
    pieces = [piece for piece in cut if piece is not None]
    up, down = _grid(trace.rate_hz, least_rate_hz)
    return Along(
        time_s=np.concatenate([t for t, _ in pieces]) if pieces else np.zeros(0),
        values=np.concatenate([v for _, v in pieces]) if pieces else np.zeros(0),
        spans=tuple((float(t[0]), float(t[-1])) for t, _ in pieces),
        rate_hz=trace.rate_hz * up / down,
    )


def _grid(rate_hz: float, least_rate_hz: float) -> tuple[int, int]:
    """Factors up and down that bring a rate to the least one or just above it."""
    if rate_hz >= least_rate_hz:
        return 1, max(int(rate_hz / least_rate_hz), 1)
    return int(np.ceil(least_rate_hz / rate_hz)), 1


def _piece(
    trace: Trace, values: np.ndarray, span: tuple[float, float], corner_hz: float, order: int, least_rate_hz: float
) -> tuple[np.ndarray, np.ndarray] | None:
    near = (trace.time_s >= span[0]) & (trace.time_s <= span[1])
    if span[1] - span[0] < SETTLES_S or np.count_nonzero(near) < 8:
        return None
    time, even = resample_smoothly(
        trace.time_s[near], values[near], rate_hz=trace.rate_hz, start_s=span[0], end_s=span[1]
    )
    if corner_hz < 0.45 * trace.rate_hz:
        even = low_pass(even, trace.rate_hz, corner_hz, order=order)
    up, down = _grid(trace.rate_hz, least_rate_hz)
    fine = signal.resample_poly(even, up, 1, padtype="line") if up > 1 else even[::down]
    return time[0] + np.arange(fine.size) * down / (up * trace.rate_hz), fine
