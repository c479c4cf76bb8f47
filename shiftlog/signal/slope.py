"""Position and speed of an evenly sampled signal by local polynomials (Savitzky and Golay, Anal. Chem. 36, 1964)."""

import numpy as np
from scipy import signal


def window_samples(rate_hz: float, window_s: float, *, least: int) -> int:
    """Odd number of samples nearest to a window, and no fewer than ``least`` (itself odd)."""
    return max(2 * int(round((window_s * rate_hz - 1) / 2)) + 1, least)


def smooth(values: np.ndarray, rate_hz: float, window_s: float) -> np.ndarray:
    """Local parabola at each sample; values (n,) or (n, k), same shape and unit back."""
    count = window_samples(rate_hz, window_s, least=3)
    if values.shape[0] < count:
        return np.array(values, dtype=float)
    return signal.savgol_filter(values, count, 2, axis=0, mode="interp")


def slope(values: np.ndarray, rate_hz: float, window_s: float) -> np.ndarray:
    """Slope of a straight line fitted over a centred window; values (n,) or (n, k) → unit of values per second."""
    count = window_samples(rate_hz, window_s, least=3)
    if values.shape[0] < count:
        return np.zeros_like(values, dtype=float)
    return signal.savgol_filter(values, count, 1, deriv=1, delta=1 / rate_hz, axis=0, mode="interp")
