"""One measured figure, with what is known of its error, or the reason why it is missing."""

import math
from dataclasses import dataclass

K95 = 1.959964
"""Within this many standard uncertainties on both sides a normal distribution holds 95 %."""


@dataclass(frozen=True, eq=False, kw_only=True)
class Reading:
    """A figure of the catalogue.

    key : name of the figure, as in the catalogue and in the result document
    value : the figure in the unit of its key, or None
    why : why ``value`` is None, in words a technician can act on; None exactly when there is a value
    uncertainty : standard uncertainty (k = 1, JCGM 100:2008), same unit, or None where not known
    interval95 : 95 % interval (low, high), same unit, or None
    side : where along the driveline it was taken, ``hub`` | ``engine``; None where it can be only one
    """

    key: str
    value: float | bool | None
    why: str | None = None
    uncertainty: float | None = None
    interval95: tuple[float, float] | None = None
    side: str | None = None

    def __post_init__(self) -> None:
        if (self.value is None) != (self.why is not None):
            raise ValueError(f"reading {self.key}: a missing value needs a reason, a value none")


def measured(
    key: str,
    value: float | bool,
    *,
    uncertainty: float | None = None,
    interval95: tuple[float, float] | None = None,
    least: float = -math.inf,
) -> Reading:
    """A reading that has a value. Where no interval is given, it is that of a normal distribution.

    least : no value lies below this, so the interval ends there
    """
    if interval95 is None and uncertainty is not None:
        interval95 = (max(value - K95 * uncertainty, least), value + K95 * uncertainty)
    return Reading(key=key, value=value, uncertainty=uncertainty, interval95=interval95)


def unmeasured(key: str, why: str) -> Reading:
    """A reading that could not be had, with the reason."""
    return Reading(key=key, value=None, why=why)
