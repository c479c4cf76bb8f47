"""The unit of a column whose header names none, where the numbers themselves leave one reading."""

import numpy as np

from shiftlog.units import STANDARD_GRAVITY_MPS2

_GRAVITY_SHARE = (0.85, 1.2)
"""A car's mean acceleration is gravity; a MEMS sensor is off by a few per cent, hills and bends add some."""

_FASTEST_TURN_RADPS = 3.5
"""200 °/s: no car that stays on its wheels turns, pitches or rolls faster for a hundredth of the time."""


def guess_acceleration_unit(axes: np.ndarray) -> str | None:
    """The unit under which the mean length of (n, 3) is gravity: ``m/s^2``, ``g`` or ``mg``; None where none is."""
    lengths = np.linalg.norm(axes, axis=1)
    if not np.any(np.isfinite(lengths)):
        return None
    length = float(np.nanmean(lengths))
    gravity = {"m/s^2": STANDARD_GRAVITY_MPS2, "g": 1.0, "mg": 1000.0}
    low, high = _GRAVITY_SHARE
    return next((unit for unit, g in gravity.items() if low < length / g < high), None)


def guess_rate_unit(axes: np.ndarray) -> str | None:
    """``deg/s`` where (n, k) turns too fast for radians; None where both readings are possible."""
    fast = float(np.nanpercentile(np.abs(axes), 99)) if np.any(np.isfinite(axes)) else 0.0
    return "deg/s" if fast > _FASTEST_TURN_RADPS else None


def guess_share_unit(values: np.ndarray) -> str | None:
    """``%`` where values go over 1.5, ``1`` where they reach from near 0 to near 1; else None."""
    finite = values[np.isfinite(values)]
    if finite.size == 0 or finite.min() < -5:
        return None
    if 1.5 < finite.max() <= 120:
        return "%"
    return "1" if 0.5 < finite.max() <= 1.05 else None
