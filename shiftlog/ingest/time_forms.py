"""The forms in which a time is written as text, for cells of a table and for stamps before a line alike.

Plain Python on text, without arrays, so that it can be fuzzed.
"""

import re
from datetime import UTC, datetime

FORMS = (
    "HH:MM:SS.mmm (also with AM or PM), MM:SS.mmm, 2026-10-03T14:05:00.123, 2026/10/03 14:05:00.123, "
    "03.10.2026 14:05:00.123 or 3-Oct-2026 14:05:00.123"
)
"""How times may be written as text, for messages."""

_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
YEAR_FIRST = r"(?:19|20)\d\d[-/]?\d\d[-/]?\d\d"
DAY_FIRST = r"\d{1,2}\.\d{1,2}\.(?:19|20)\d\d"
MONTH_NAMED = rf"\d{{1,2}}[- ](?:{'|'.join(_MONTHS)})[a-z]*[- ](?:19|20)\d\d"
HALF = r"[AaPp]\.?[Mm]\b\.?"
"""Of the day: 1:05 pm."""

_FRACTION = r"(?:\.\d+|,\d{3,}(?![0-9A-Fa-f])|,\d+(?=\s*[\])>;|]))?"
"""A comma may also part the stamp from bytes behind it: 14:05:00,41 0C 1A F8."""

_SECONDS = rf"\d{{1,2}}:\d\d:\d\d{_FRACTION}"
_IN_HALVES = rf"(?:\s*{HALF})?"
CLOCK_STAMP = rf"(?:{_SECONDS}{_IN_HALVES}|\d{{1,3}}:\d\d(?!:)(?=[.,]\d){_FRACTION})"
DATE_STAMP = (
    rf"(?:{YEAR_FIRST}|{DAY_FIRST}|{MONTH_NAMED})[T ]+"
    rf"(?:{_SECONDS}|\d{{6}}{_FRACTION}){_IN_HALVES}(?:Z|[+-]\d\d:?\d\d)?"
)

_DATE = re.compile(rf"(?:({YEAR_FIRST})|({DAY_FIRST})|({MONTH_NAMED}))[T ]+", re.IGNORECASE)
_ZONE = re.compile(r"(?:Z|([+-])(\d\d):?(\d\d))$")
_HALF_AT_END = re.compile(rf"\s*({HALF})\s*$")
HALF_DAY_S = 43200.0


def date_as_iso(text: str) -> str:
    """A date in any of the forms as YYYY-MM-DD. ValueError where it is none."""
    found = _DATE.match(f"{text} ")
    if found is None:
        raise ValueError(f"no date: {text}")
    if found[1]:
        digits = re.sub(r"\D", "", found[1])
        return f"{digits[:4]}-{digits[4:6]}-{digits[6:]}"
    day, month, year = re.split(r"[-. ]+", found[2] or found[3])
    number = int(month) if month.isdecimal() else _MONTHS.index(month[:3].lower()) + 1
    return f"{year}-{number:02d}-{int(day):02d}"


def date_s(text: str) -> float:
    """Seconds since 1970 of a date with a time; without a zone it is taken as UTC. ValueError where it is none."""
    found = _DATE.match(text)
    if found is None:
        raise ValueError(f"no date with a time: {text}")
    clock = text[found.end() :]
    zone = _ZONE.search(clock)
    ahead_s = 0.0
    if zone is not None:
        clock = clock[: zone.start()]
        ahead_s = float(f"{zone[1]}1") * (3600 * int(zone[2]) + 60 * int(zone[3])) if zone[1] else 0.0
    midnight = datetime.fromisoformat(date_as_iso(found[0].rstrip("T "))).replace(tzinfo=UTC)
    return midnight.timestamp() + clock_s(clock) - ahead_s


def clock_s(text: str) -> float:
    """Seconds from midnight of a time of day, or those of minutes and seconds. ValueError where it is neither."""
    half = _HALF_AT_END.search(text)
    plain = (text[: half.start()] if half else text).replace(",", ".").strip()
    if ":" not in plain:
        plain = f"{plain[:2]}:{plain[2:4]}:{plain[4:]}"
    seconds = 0.0
    for part in plain.split(":"):
        seconds = 60.0 * seconds + float(part)
    if half is None:
        return seconds
    # Twelve stands for the hour before one: 12:05 am is five past midnight.
    return seconds % HALF_DAY_S + (HALF_DAY_S if half[1][0] in "Pp" else 0.0)
