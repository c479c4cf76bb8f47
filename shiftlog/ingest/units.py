"""The closed list of units that a log may name, and what each becomes inside.

Inside: s, m/s^2, rad/s, m/s, rpm, degC, deg (latitude, longitude), N, and 1 for shares from 0 to 1. Lever
axes keep the unit they were logged in (count, V, mm, deg).
"""

import math
import re
from dataclasses import dataclass

from shiftlog.errors import LogError
from shiftlog.units import MPS_PER_KMH, MPS_PER_KNOT, MPS_PER_MPH, STANDARD_GRAVITY_MPS2


@dataclass(frozen=True, kw_only=True)
class Unit:
    """A unit as it is written here, what it measures, and inside = factor · logged + offset."""

    name: str
    quantity: str
    factor: float = 1.0
    offset: float = 0.0


_RPM_PER_RADPS = 60 / (2 * math.pi)

UNITS: tuple[Unit, ...] = (
    Unit(name="s", quantity="time"),
    Unit(name="ms", quantity="time", factor=1e-3),
    Unit(name="us", quantity="time", factor=1e-6),
    Unit(name="ns", quantity="time", factor=1e-9),
    Unit(name="m/s^2", quantity="acceleration"),
    Unit(name="g", quantity="acceleration", factor=STANDARD_GRAVITY_MPS2),
    Unit(name="mg", quantity="acceleration", factor=STANDARD_GRAVITY_MPS2 / 1000),
    Unit(name="rad/s", quantity="angular rate"),
    Unit(name="deg/s", quantity="angular rate", factor=math.pi / 180),
    Unit(name="count", quantity="lever"),
    Unit(name="V", quantity="lever"),
    Unit(name="mm", quantity="lever"),
    Unit(name="deg", quantity="lever"),
    Unit(name="deg", quantity="angle"),
    Unit(name="rpm", quantity="engine speed"),
    Unit(name="rad/s", quantity="engine speed", factor=_RPM_PER_RADPS),
    Unit(name="Hz", quantity="engine speed", factor=60.0),
    Unit(name="m/s", quantity="speed"),
    Unit(name="km/h", quantity="speed", factor=MPS_PER_KMH),
    Unit(name="mph", quantity="speed", factor=MPS_PER_MPH),
    Unit(name="kn", quantity="speed", factor=MPS_PER_KNOT),
    Unit(name="degC", quantity="temperature"),
    Unit(name="degF", quantity="temperature", factor=5 / 9, offset=-160 / 9),
    Unit(name="K", quantity="temperature", offset=-273.15),
    Unit(name="%", quantity="share", factor=0.01),
    Unit(name="1", quantity="share"),
    Unit(name="N", quantity="force"),
    Unit(name="ISO 8601", quantity="time"),
)

KNOWN = tuple(dict.fromkeys(unit.name for unit in UNITS))

_SPELLINGS = {
    "s": "s sec secs second seconds",
    "ms": "ms msec msecs millis milliseconds millisecond",
    "us": "us usec usecs micros microseconds microsecond",
    "ns": "ns nsec nanos nanoseconds nanosecond",
    "m/s^2": "m/s^2 m/s2 m/ss m/s/s ms-2 ms^-2 mps2 ms2 m/sec^2 m/sec2",
    "g": "g gee gs",
    "mg": "mg milli-g millig",
    "rad/s": "rad/s rads rad/sec radps rad*s^-1 rads-1",
    "deg/s": "deg/s degs dps deg/sec degps degree/s degrees/s",
    "count": "count counts adc raw lsb digit digits",
    "V": "v volt volts",
    "mm": "mm",
    "deg": "deg degree degrees °",
    "rpm": "rpm 1/min r/min u/min min-1 min^-1 rev/min revs/min",
    "Hz": "hz 1/s",
    "m/s": "m/s mps m/sec ms-1 ms^-1",
    "km/h": "km/h kmh kph kmph km/hr",
    "mph": "mph mi/h miles/h",
    "kn": "kn kt kts knot knots",
    "degC": "degc c celsius",
    "degF": "degf f fahrenheit",
    "K": "k kelvin degk",
    "%": "% pct percent",
    "1": "1 - 0/1 bool ratio",
    "N": "n newton newtons",
    "ISO 8601": "iso8601 iso-8601 iso",
}
_NAMES = {spelling: name for name, line in _SPELLINGS.items() for spelling in line.split()}

_LOOKALIKES = {"²": "^2", "**": "^", "⁻": "-", "·": "", "µ": "u", "μ": "u", "º": "°", "Â": "", "Ã": "", "\ufffd": ""}


def plain_unit(text: str) -> str | None:
    """The name in the closed list for a unit as a header spells it (``m/s²``, ``°C``, ``RPM``), or None."""
    for odd, plain in _LOOKALIKES.items():
        text = text.replace(odd, plain)
    text = re.sub(r"\s+", "", text).lower()
    return _NAMES.get(text) or _NAMES.get(text.replace("°", "deg"))


def find_unit(text: str, quantities: tuple[str, ...]) -> Unit | None:
    """The unit that ``text`` names and that measures one of ``quantities``, or None."""
    name = plain_unit(text)
    return next((u for u in UNITS if u.name == name and u.quantity in quantities), None)


def unit_for(text: str, quantities: tuple[str, ...], *, where: str) -> Unit:
    """As ``find_unit``, but a unit that is not known, or does not fit, is a LogError that lists the right ones.

    where : file and column, for the message
    """
    unit = find_unit(text, quantities)
    if unit is not None:
        return unit
    if plain_unit(text) is None:
        raise LogError(f'{where}: unit "{text}" is not known; known are {" ".join(KNOWN)}.')
    fitting = " ".join(u.name for u in UNITS if u.quantity in quantities)
    raise LogError(f'{where}: unit "{text}" does not fit this channel; it takes {fitting}.')
