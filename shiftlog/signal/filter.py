"""Zero-phase Butterworth filters for uniformly sampled signals."""

import numpy as np
from scipy import signal


def low_pass(values: np.ndarray, rate_hz: float, corner_hz: float, *, order: int) -> np.ndarray:
    """Butterworth low-pass run forward and back along axis 0; values (n,) or (n, k)."""
    sos = signal.butter(order, corner_hz, "lowpass", fs=rate_hz, output="sos")
    return _both_ways(sos, values)


def band_pass(values: np.ndarray, rate_hz: float, low_hz: float, high_hz: float, *, order: int) -> np.ndarray:
    """Butterworth band-pass of ``order`` per edge, run forward and back along axis 0; values (n,) or (n, k)."""
    sos = signal.butter(order, (low_hz, high_hz), "bandpass", fs=rate_hz, output="sos")
    return _both_ways(sos, values)


def _both_ways(sos: np.ndarray, values: np.ndarray) -> np.ndarray:
    pad = min(3 * (2 * sos.shape[0] + 1), values.shape[0] - 1)
    return signal.sosfiltfilt(sos, values, axis=0, padlen=max(pad, 0))
