"""How well the instant of a crossing is known: position doubt over the lever's speed there."""

import numpy as np

from shiftlog.detect.lever import SMOOTH_S
from shiftlog.model.lever import LeverPath

SEAT_SHARE = 0.5
"""The seat a depth is counted from is a median over half a second of readings that a hand and the engine move."""

CORNER_SHARE = 0.047 / 3
"""A local parabola over W cuts a corner of speed Δv by 3/64 · W · Δv at the most; the most counts as three times the
standard uncertainty."""

LINGER_S = 0.15
"""A lever that hesitates at a level may cross it again this long before or after."""

FINE_S = 5e-5

SAMPLE_SHARE = 0.1
"""Of a sample: what interpolating between two of them leaves."""


def crossing_uncertainty(path: LeverPath, at_s: float, depth: float) -> float:
    """Standard uncertainty of the instant at which the lever passed a depth [s] (JCGM 100:2008, 5.1.2).

    A neutral line that lies off moves the place of a depth by what is left of it to 1.

    Half the time the lever spends within its doubt of the level: doubt over speed, or as long as it lingers there.
    """
    k = path.index(at_s)
    zero_mm = (1 - depth) * float(path.zero_u_mm[path.gear[k]]) if path.gear[k] >= 0 else 0.0
    doubt_mm = float(np.linalg.norm((path.noise_mm, SEAT_SHARE * path.noise_mm, _corner_mm(path, k), zero_mm)))
    near_s = at_s + np.arange(-LINGER_S, LINGER_S, FINE_S)
    way_mm = np.interp(near_s, path.time_s, path.engage_mm) - np.interp(at_s, path.time_s, path.engage_mm)
    lingers_s = float(np.ptp(near_s[np.abs(way_mm) <= doubt_mm]))
    return float(np.hypot(lingers_s / 2, SAMPLE_SHARE / path.rate_hz))


def _corner_mm(path: LeverPath, k: int) -> float:
    """What smoothing may have cut off the corners of the lever's way [mm]."""
    half = max(round(0.5 * SMOOTH_S * path.rate_hz), 1)
    near = path.engage_mmps[max(k - half, 0) : k + half + 1]
    return CORNER_SHARE * SMOOTH_S * float(near.max() - near.min())
