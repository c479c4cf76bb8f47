"""Time stamps that a logger puts before each line of what it received."""

import re
from dataclasses import dataclass
from datetime import UTC, datetime

_DATE = r"(?:19|20)\d\d[-/]?\d\d[-/]?\d\d[T ]\d{1,2}:?\d\d:?\d\d(?:[.,]\d+)?(?:Z|[+-]\d\d:?\d\d)?"
_CLOCK = r"\d{1,2}:\d\d:\d\d(?:[.,]\d+)?"
_NUMBER = (
    r"\d+\.\d+|\d+,\d+(?=[\s\])>;|])|\d{9,19}(?![0-9A-Fa-f])|\d+(?=[\s\])>]*[\t,;|])|"
    r"\d{3,}(?=\s+(?:>|7E[89A-F]|18 ?DA|41 ))"
)
STAMP = re.compile(rf"\s*[\[(<]?\s*(?:(?P<date>{_DATE})|(?P<clock>{_CLOCK})|(?P<number>{_NUMBER}))\s*[\])>]?[\s,;:|]*")
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
        value = {"date": _date_s, "clock": _clock_s, "number": _number}[kind](found[kind])
    except ValueError:
        return None
    return Stamp(kind=kind, value=value, rest=line[found.end() :])


def _date_s(text: str) -> float:
    moment = datetime.fromisoformat(text.replace("/", "-").replace(",", "."))
    return (moment if moment.tzinfo else moment.replace(tzinfo=UTC)).timestamp()


def _clock_s(text: str) -> float:
    hours, minutes, seconds = text.replace(",", ".").split(":")
    return 3600.0 * int(hours) + 60.0 * int(minutes) + float(seconds)


def _number(text: str) -> float:
    return float(text.replace(",", "."))
