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


def greatest_lasting(values: np.ndarray, count: int) -> float:
    """The greatest level that ``count`` values one after the other all reach; the least value where there are fewer."""
    if values.size <= count:
        return float(values.min())
    return float(np.lib.stride_tricks.sliding_window_view(values, count).min(axis=1).max())
