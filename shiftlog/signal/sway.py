"""A hand sways slowly; a lever that lies keeps its place to the noise of the reading."""

import numpy as np

from shiftlog.signal.slope import slope, window_samples

SWAY_S = 0.3
"""Long enough to even out tremor, short against the sway of a hand, which takes a second and more."""
BLOCK_S = 0.1


def sway_power(places_mm: np.ndarray, rate_hz: float) -> np.ndarray:
    """Squared slope over 0.3 s at each block of 0.1 s, mean of both axes; (n, 2) mm → (n // block,) mm²/s².

    Three neighbours share readings. Empty where the stretch is shorter than the slope.
    """
    block, count = round(BLOCK_S * rate_hz), window_samples(rate_hz, SWAY_S, least=3)
    if places_mm.shape[0] < count:
        return np.zeros(0)
    squared = np.mean(slope(places_mm, rate_hz, SWAY_S) ** 2, axis=1)
    return squared[np.arange(places_mm.shape[0] // block) * block + block // 2]


def sway_of_noise(noise_mm: float, rate_hz: float) -> float:
    """What white noise gives there, from the standard deviation of one reading of one axis [mm²/s²]."""
    count = window_samples(rate_hz, SWAY_S, least=3)
    return float(12 * (noise_mm * rate_hz) ** 2 / (count * (count**2 - 1)))
