"""A band-pass that runs forward only: nothing is heard before it happens."""

import numpy as np
from scipy import signal


def band_pass_onward(values: np.ndarray, rate_hz: float, low_hz: float, high_hz: float, *, order: int) -> np.ndarray:
    """Butterworth band-pass of ``order`` per edge along axis 0, values (n,) or (n, k), of the same unit.

    A blow does not ring ahead of itself, as it would in a filter run both ways; what passes comes later by about
    ``order`` / (π · width of the band), and the first periods of the lower edge are the filter's own.
    """
    sos = signal.butter(order, (low_hz, high_hz), "bandpass", fs=rate_hz, output="sos")
    return signal.sosfilt(sos, values - values[:1], axis=0)
