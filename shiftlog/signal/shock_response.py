"""Shock response spectrum: how hard a blow would shake simple oscillators of all frequencies."""

import numpy as np
from scipy.signal import lfilter

QUALITY = 10.0
"""Of the oscillators: 5 % of critical damping, the customary choice."""


def shock_response(
    values: np.ndarray, rate_hz: float, frequency_hz: np.ndarray, *, quality: float = QUALITY
) -> np.ndarray:
    """Greatest absolute acceleration of an oscillator at each frequency (m,) [Hz], (m,) in the unit of ``values`` (n,).

    Maximax over the blow and one and a half periods of ringing after it. Ramp-invariant recursion (Smallwood, 1981;
    ISO 18431-4); honest up to about a tenth of the rate. An infinite ``quality`` is an oscillator without damping.
    """
    return np.array([_greatest(values, rate_hz, f, 0.5 / quality) for f in frequency_hz])


def _greatest(values: np.ndarray, rate_hz: float, frequency_hz: float, damping: float) -> float:
    rings = np.concatenate([values, np.zeros(int(np.ceil(1.5 * rate_hz / frequency_hz)) + 1)])
    return float(np.abs(lfilter(*ramp_invariant(rate_hz, frequency_hz, damping), rings)).max())


def ramp_invariant(rate_hz: float, frequency_hz: float, damping: float) -> tuple[np.ndarray, np.ndarray]:
    """Numerator and denominator, (3,) each, of the recursion from base to oscillator acceleration."""
    omega = 2 * np.pi * frequency_hz
    damped = omega * np.sqrt(1 - damping**2)
    step = 1 / rate_hz
    decay = np.exp(-damping * omega * step)
    c, s = decay * np.cos(damped * step), decay * np.sin(damped * step)
    slope = s / (damped * step)
    return np.array([1 - slope, 2 * (slope - c), decay**2 - slope]), np.array([1.0, -2 * c, decay**2])
