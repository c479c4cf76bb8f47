"""Figures of weighted acceleration: vibration dose value and maximum transient vibration value of ISO 2631-1:1997."""

import numpy as np

RUNNING_S = 1.0
"""Integration time of the running r.m.s. for the maximum transient vibration value (ISO 2631-1:1997, 6.3.1)."""


def vibration_dose(values: np.ndarray, rate_hz: float) -> float:
    """(Σ over the axes of ∫a⁴ dt)^¼ of weighted acceleration (n,) or (n, k) [m/s²], in m/s^1.75."""
    return float((np.sum(values**4) / rate_hz) ** 0.25)


def running_rms(values: np.ndarray, rate_hz: float) -> np.ndarray:
    """Linear running r.m.s. over 1 s of the axes' root sum of squares, ending at each sample, (m,) [m/s²].

    values : (n,) or (n, k); m = 0 where they last less than a second.
    """
    power = values**2 if values.ndim == 1 else np.sum(values**2, axis=1)
    count = max(round(RUNNING_S * rate_hz), 1)
    total = np.concatenate([[0.0], np.cumsum(power)])
    return np.sqrt(np.maximum(total[count:] - total[:-count], 0.0) / count)
