"""Loudness over time: short-time power in Hann windows."""

import numpy as np
from scipy import signal

WINDOW_S, HOP_S = 0.010, 0.005
"""Hann windows of 10 ms with half of each shared with the next."""


def short_time_power(values: np.ndarray, rate_hz: float) -> np.ndarray:
    """Mean square, summed over the axes, in Hann windows every ``HOP_S``, the first about the first sample, (m,).

    values : (n,) or (n, k), evenly sampled; the unit squared comes back.
    """
    power = values**2 if values.ndim == 1 else np.sum(values**2, axis=1)
    shape = signal.windows.hann(max(round(WINDOW_S * rate_hz), 3) | 1)
    smooth = signal.fftconvolve(power, shape / shape.sum(), mode="same")
    at = np.arange(0, values.shape[0] - 0.5, HOP_S * rate_hz)
    return np.maximum(np.interp(at, np.arange(values.shape[0]), smooth), 0.0)


def lasting_levels(values: np.ndarray, count: int) -> np.ndarray:
    """The level that the better part, 60 %, of each run of ``count`` values reaches, (n - count + 1,)."""
    if values.size < count:
        return np.empty(0)
    runs = np.lib.stride_tricks.sliding_window_view(values, count)
    rank = int(0.4 * count)
    return np.partition(runs, rank, axis=1)[:, rank]
