"""Covariance of what rides on a signal: noise of a measured colour, and a course that wanders."""

import numpy as np
from scipy.linalg import toeplitz

WHITE_SHARE = 0.01
"""Of the power as white noise: what stands 20 dB lower cannot be told from a few stretches."""


def covariance_of_noise(stretches: np.ndarray, *, floor: float) -> np.ndarray:
    """Covariance matrix (n, n) of stationary noise from (m, n) stretches of it, evenly sampled, m ≥ 1.

    A straight line over each stretch is taken off. floor : standard deviation of white noise that is there in any
    case (rounding, the sensor's own), same unit as the stretches. The autocovariance is the biased estimate, whose
    matrix cannot have a negative eigenvalue (Brockwell and Davis, Time Series, 2nd ed., section 7.2; from memory).
    """
    count = stretches.shape[1]
    line = np.linalg.qr(np.column_stack([np.ones(count), np.linspace(-1, 1, count)]))[0]
    level = stretches - stretches @ line @ line.T
    spectrum = np.abs(np.fft.rfft(level, n=2 * count, axis=1)) ** 2
    lags = np.fft.irfft(spectrum.mean(axis=0))[:count] / count
    lags[0] = (1 + WHITE_SHARE) * lags[0] + floor**2
    return toeplitz(lags)


def responses_to_ramps(count: int, *, rate_hz: float, frequency_hz: float, damping: float) -> np.ndarray:
    """Response of a second-order system at rest to a ramp of unit slope from each sample on, (n, n), one a column.

    r(t) = t − 2ζ/ω + exp(−ζωt) · (2ζ/ω · cos ω_d t + (2ζ² − 1)/ω_d · sin ω_d t), unit gain at rest (Laplace transform
    of ω² / (s² (s² + 2ζωs + ω²)); any text).
    """
    omega = 2 * np.pi * frequency_hz
    swings = omega * np.sqrt(1 - damping**2)
    t = np.arange(count) / rate_hz
    decay = np.exp(-damping * omega * t)
    lag = 2 * damping / omega
    answer = t - lag + decay * (lag * np.cos(swings * t) + (2 * damping**2 - 1) / swings * np.sin(swings * t))
    return np.tril(toeplitz(answer))


def covariance_of_ramps(ramps: np.ndarray) -> np.ndarray:
    """ramps · rampsᵀ of the lower triangular Toeplitz matrix (n, n) of ``responses_to_ramps``.

    Each entry is the one up and to the left of it and one product more; small products by the thousand are better kept
    from a threaded library, whose threads would wait for one another.
    """
    whole = np.outer(ramps[:, 0], ramps[:, 0])
    for i in range(1, len(whole)):
        whole[i, 1:] += whole[i - 1, :-1]
    return whole
