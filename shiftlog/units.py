"""Constants and conversions between the units inside the code and those that people read.

Inside the code: s, m/s², rad/s, m/s, °C, lever travel in mm, engine speed in rpm. What a log header may
name is the ingest room's own list (``ingest/units.py``).
"""

STANDARD_GRAVITY_MPS2 = 9.80665
"""Standard acceleration of free fall, exact (3rd CGPM, 1901)."""

EARTH_M = 6371008.8
"""Mean radius of the earth (IUGG, R1) [m]; a sphere is within 0.6 % of WGS-84."""

MPS_PER_KMH = 1 / 3.6
MPS_PER_MPH = 1609.344 / 3600
"""International mile of 1959, exact."""

MPS_PER_KNOT = 1852 / 3600
"""International nautical mile, exact."""


def as_percent(share: float) -> str:
    """A share in whole percent, for people to read."""
    return f"{100 * share:.0f} %"
