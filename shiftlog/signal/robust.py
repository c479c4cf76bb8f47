"""Robust location and spread."""

import numpy as np

MAD_TO_SIGMA = 1.482602218505602
"""1 / Φ⁻¹(3/4): makes the median absolute deviation consistent for a normal distribution."""


def robust_sigma(values: np.ndarray, axis: int = 0) -> np.ndarray | float:
    """1.4826 · median absolute deviation along ``axis``, same unit as ``values``."""
    centre = np.median(values, axis=axis, keepdims=True)
    return MAD_TO_SIGMA * np.median(np.abs(values - centre), axis=axis)


def step_noise(values: np.ndarray) -> float:
    """White-noise standard deviation of a slowly moving signal from its second differences, (n,) → float.

    Var(x[i-1] - 2 x[i] + x[i+1]) = 6 σ² for white noise; taken robustly, so that moves do not count.
    """
    if values.size < 5:
        return 0.0
    return float(robust_sigma(np.diff(values, n=2)) / np.sqrt(6))


def shortest_share(values: np.ndarray, share: float) -> tuple[float, float]:
    """Median of the shortest interval that holds ``share`` of the values, and the interval's width.

    values : (n,), n ≥ 1. Where the values are skewed it lies near their mode (the "shorth" where the share is
    one half: Andrews et al., Robust Estimates of Location, 1972; from memory).
    """
    ordered = np.sort(values)
    count = min(max(int(np.ceil(share * ordered.size)), 1), ordered.size)
    widths = ordered[count - 1 :] - ordered[: ordered.size - count + 1]
    first = int(np.argmin(widths))
    return float(np.median(ordered[first : first + count])), float(widths[first])


def midmean(values: np.ndarray) -> float:
    """Mean of the middle half, (n,) → float, n ≥ 1. Where values are rounded, a median falls on a step; this does not.

    (Interquartile mean; Andrews et al., Robust Estimates of Location, 1972; from memory.)
    """
    ordered = np.sort(values)
    cut = ordered.size // 4
    return float(ordered[cut : ordered.size - cut].mean())
