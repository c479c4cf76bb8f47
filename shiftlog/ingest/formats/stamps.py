"""Time stamps that a logger puts before each line of what it received."""

import re
from dataclasses import dataclass

from shiftlog.ingest.time_forms import CLOCK_STAMP, DATE_STAMP, clock_s, date_s

_NUMBER = (
    r"\d+\.\d+|\d+,\d+(?=[\s\])>;|])|\d{9,19}(?![0-9A-Fa-f])|\d+(?=[\s\])>]*[\t,;|])|"
    r"\d{3,}(?=\s+(?:>|7E[89A-F]|18 ?DA|41 ))"
)
STAMP = re.compile(
    rf"\s*[\[(<]?\s*(?:(?P<date>{DATE_STAMP})|(?P<clock>{CLOCK_STAMP})|(?P<number>{_NUMBER}))\s*[\])>]?[\s,;:|]*",
    re.IGNORECASE,
)
"""A date with time, a time of day, or a number that is plainly no data, and what parts it from the rest."""


@dataclass(frozen=True, kw_only=True)
class Stamp:
    """kind : ``date`` (seconds since 1970), ``clock`` (seconds of the day) or ``number`` (a unit nobody named)."""

    kind: str
    value: float
    rest: str


def split_stamp(line: str) -> Stamp | None:
    """The stamp a line begins with, and the rest of it; None where it begins with none."""
    found = STAMP.match(line)
    if found is None:
        return None
    kind = str(found.lastgroup)
    try:
        value = {"date": date_s, "clock": clock_s, "number": _number}[kind](found[kind])
    except ValueError:
        return None
    return Stamp(kind=kind, value=value, rest=line[found.end() :])


def _number(text: str) -> float:
    return float(text.replace(",", "."))
