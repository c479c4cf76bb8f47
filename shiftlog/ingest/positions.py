"""Speed out of positions, where a receiver logged no speed."""

import numpy as np

from shiftlog.units import EARTH_M

LONGEST_STEP_S = 5.0
"""Across a longer hole the way between two points is not known (common practice, no source)."""


def find_speeds(time_s: np.ndarray, latitude: np.ndarray, longitude: np.ndarray) -> np.ndarray:
    """Speed over ground at each point, (n,) [m/s], from the points before and after it; NaN where one is missing.

    time_s : (n,) [s]; latitude, longitude : (n,) [deg]. Two steps are taken together, so that an error of one point
    counts half and the speed belongs to the moment of the point between.
    """
    speed = np.full(time_s.size, np.nan)
    if time_s.size < 3:
        return speed
    north, east = np.radians(latitude), np.radians(longitude)
    half = np.sin((north[2:] - north[:-2]) / 2) ** 2
    half = half + np.cos(north[2:]) * np.cos(north[:-2]) * np.sin((east[2:] - east[:-2]) / 2) ** 2
    way = 2 * EARTH_M * np.arcsin(np.sqrt(np.minimum(half, 1.0)))
    steps = np.diff(time_s)
    near = (steps[1:] > 0) & (steps[:-1] > 0) & (steps[1:] <= LONGEST_STEP_S) & (steps[:-1] <= LONGEST_STEP_S)
    speed[1:-1][near] = way[near] / (time_s[2:] - time_s[:-2])[near]
    return speed
