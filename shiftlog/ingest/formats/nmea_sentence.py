"""NMEA 0183 sentences of position and speed: RMC, VTG and GGA, each vouched for by its checksum.

Plain Python on text, without arrays, so that it can be fuzzed. Three sentences need no library of their own.
"""

import re
from dataclasses import dataclass
from datetime import UTC, date, datetime

SENTENCE = re.compile(r"[$!]([A-Z]{2})([A-Z]{3}),([^*$!\r\n]*)\*([0-9A-Fa-f]{2})")
"""Talker, kind, fields and checksum, anywhere in a line."""

BARE = re.compile(r"[$][A-Z]{2}(?:RMC|GGA|VTG),[^*$!\r\n]*$")
"""A sentence of position or speed whose checksum was left off."""

KINDS = ("RMC", "VTG", "GGA")

_CENTURY_TURNS = 80
"""Two digits of a year from here on are of the last century: the system began to count in 1980."""


@dataclass(frozen=True, kw_only=True)
class Fix:
    """What one sentence says; None where it says nothing, or says that it does not know.

    day_s : time of day, UTC [s]; date_s : midnight before it, since 1970 [s]
    speed_kn : over ground [kn]; latitude, longitude : north and east [deg]; void : it declares that it has no fix
    """

    kind: str
    talker: str
    day_s: float | None = None
    date_s: float | None = None
    speed_kn: float | None = None
    latitude: float | None = None
    longitude: float | None = None
    void: bool = False


def checksum(body: str) -> int:
    """All characters between $ and * combined by exclusive or."""
    total = 0
    for byte in body.encode("latin-1", errors="replace"):
        total ^= byte
    return total


def has_right_checksum(found: re.Match[str]) -> bool:
    """Whether a sentence is as it was sent."""
    talker, kind, fields, sent = found.groups()
    return checksum(f"{talker}{kind},{fields}") == int(sent, 16)


def parse_sentence(found: re.Match[str]) -> Fix | None:
    """What a sentence of position or speed says; None where it is of another kind, or its fields are no numbers."""
    talker, kind, text, _ = found.groups()
    reader = {"RMC": _rmc, "VTG": _vtg, "GGA": _gga}.get(kind)
    if reader is None:
        return None
    try:
        return reader(talker, text.split(","))
    except (ValueError, IndexError):
        return None


def _rmc(talker: str, fields: list[str]) -> Fix:
    # Status V and mode N both say that there is no fix; the mode came with version 2.3.
    void = fields[1] != "A" or (len(fields) > 11 and fields[11] == "N")
    return Fix(
        kind="RMC", talker=talker, day_s=_day_s(fields[0]), date_s=_date_s(fields[8]), void=void,
        speed_kn=None if void else _number(fields[6]),
        latitude=None if void else _degrees(fields[2], fields[3], "NS", 90),
        longitude=None if void else _degrees(fields[4], fields[5], "EW", 180),
    )  # fmt: skip


def _vtg(talker: str, fields: list[str]) -> Fix:
    void = len(fields) > 8 and fields[8] == "N"
    knots = _number(fields[4])
    kmh = _number(fields[6]) if len(fields) > 6 else None
    speed = knots if knots is not None or kmh is None else kmh / 1.852
    return Fix(kind="VTG", talker=talker, speed_kn=None if void else speed, void=void)


def _gga(talker: str, fields: list[str]) -> Fix:
    void = fields[5] in ("", "0")
    return Fix(
        kind="GGA", talker=talker, day_s=_day_s(fields[0]), void=void,
        latitude=None if void else _degrees(fields[1], fields[2], "NS", 90),
        longitude=None if void else _degrees(fields[3], fields[4], "EW", 180),
    )  # fmt: skip


def _number(text: str) -> float | None:
    """A number without sign or exponent, or None where the field is empty."""
    if not text:
        return None
    if not re.fullmatch(r"\d+\.?\d*|\.\d+", text):
        raise ValueError(text)
    return float(text)


def _day_s(text: str) -> float | None:
    if not text:
        return None
    if not re.fullmatch(r"\d{6}(\.\d*)?", text):
        raise ValueError(text)
    hours, minutes, seconds = int(text[:2]), int(text[2:4]), float(text[4:])
    if hours > 23 or minutes > 59 or seconds >= 61:
        raise ValueError(text)
    return 3600.0 * hours + 60.0 * minutes + seconds


def _date_s(text: str) -> float | None:
    if not text:
        return None
    day, month, year = int(text[:2]), int(text[2:4]), int(text[4:6])
    whole = date((1900 if year >= _CENTURY_TURNS else 2000) + year, month, day)
    return datetime(whole.year, whole.month, whole.day, tzinfo=UTC).timestamp()


def _degrees(text: str, side: str, sides: str, most: int) -> float | None:
    """``ddmm.mmmm`` and the side of the world to degrees."""
    number = _number(text)
    if number is None or not side:
        return None
    whole = int(number // 100)
    degrees = whole + (number - 100 * whole) / 60
    if side not in sides or degrees > most or number - 100 * whole >= 60:
        raise ValueError(text)
    return degrees if side == sides[0] else -degrees
