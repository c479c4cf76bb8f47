"""How far an interval must reach at the least, where few drives or equal answers starve the bootstrap.

Three refusals of three against none of three leave nothing to resample: every draw gives the same share. And two
or three drives drawn from themselves vary less than drives do. A bootstrap interval is therefore never taken
narrower than what a closed form allows.
"""

import numpy as np
from scipy.stats import binomtest, t

Reach = tuple[float, float]
"""Distances below and above the estimate, both positive."""


def find_share_reach(before: np.ndarray, after: np.ndarray, *, confidence: float) -> Reach:
    """Least reach of the difference of two shares, from Wilson's limits of each.

    before, after : (n,) of 0 and 1; Newcombe, Stat. Med. 17 (1998) 873, method 10
    """
    low_b, share_b, high_b = _wilson(before, confidence)
    low_a, share_a, high_a = _wilson(after, confidence)
    down = np.hypot(share_a - low_a, high_b - share_b)
    up = np.hypot(high_a - share_a, share_b - low_b)
    return float(down), float(up)


def _wilson(values: np.ndarray, confidence: float) -> tuple[float, float, float]:
    interval = binomtest(int(values.sum()), values.size).proportion_ci(confidence, method="wilson")
    return interval.low, float(values.mean()), interval.high


def find_drive_reach(before: np.ndarray, after: np.ndarray, *, confidence: float) -> Reach:
    """Least reach of the difference of means of drive figures: Student's t over drives, 0 with one drive a side.

    before, after : (d,) one figure for each drive; n₁ + n₂ − 2 degrees of freedom
    """
    if min(before.size, after.size) < 2:
        return 0.0, 0.0
    error = np.sqrt(before.var(ddof=1) / before.size + after.var(ddof=1) / after.size)
    reach = float(t.ppf(0.5 + confidence / 2, before.size + after.size - 2) * error)
    return reach, reach


def widen(interval: tuple[float, float], centre: float, *reaches: Reach) -> tuple[float, float]:
    """The interval, stretched where it reaches less far from ``centre`` than any of ``reaches``."""
    low = min(interval[0], *(centre - down for down, _ in reaches))
    high = max(interval[1], *(centre + up for _, up in reaches))
    return low, high
