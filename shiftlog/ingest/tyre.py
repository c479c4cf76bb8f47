"""From the size on a tyre's sidewall to its rolling radius."""

import math
import re

ROLLING_PER_DIAMETER = 3.05
"""Rolling circumference over free diameter of a radial tyre at 60 km/h (ETRTO; from memory)."""

_SIZE = re.compile(r"^\s*(?:P|LT)?(\d{3})\s*/\s*(\d{2,3})\s*Z?R?F?\s*(\d{2}(?:\.\d)?)\b", re.IGNORECASE)


def free_diameter_m(size: str) -> float | None:
    """Nominal outer diameter [m] of a size such as ``205/50R15``: rim + two sidewalls; None where it is no size.

    D = 25.4 mm · rim + 2 · width · aspect / 100 (nominal geometry).
    """
    match = _SIZE.match(size)
    if match is None:
        return None
    width_mm, aspect, rim_in = (float(part) for part in match.groups())
    return (25.4 * rim_in + 2 * width_mm * aspect / 100) / 1000


def rolling_radius_m(size: str) -> float | None:
    """Dynamic rolling radius [m], r = 3.05 · D / (2π); None where ``size`` is no tyre size."""
    diameter = free_diameter_m(size)
    return None if diameter is None else ROLLING_PER_DIAMETER * diameter / (2 * math.pi)
