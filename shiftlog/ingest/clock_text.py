"""Times written as text: time of day and ISO 8601 dates with times."""

import re

import numpy as np
import pandas as pd

from shiftlog.ingest.clock_turns import DAY_S
from shiftlog.ingest.time_forms import DAY_FIRST, HALF, HALF_DAY_S, MONTH_NAMED, date_as_iso

_CLOCK = re.compile(rf"\s*\d{{1,2}}:\d{{2}}(:\d{{2}}([.,]\d+)?)?(\s*{HALF})?\s*$")
_MINUTES = re.compile(r"\s*\d{1,3}:\d{2}[.,]\d+\s*$")
_HALF_OF_DAY = re.compile(rf"\s*({HALF})\s*$")
_OTHER_DATE = re.compile(rf"(?:{DAY_FIRST}|{MONTH_NAMED})(?=[T ])", re.IGNORECASE)

NS = 1e-9


def is_time_of_day(text: str) -> bool:
    """Whether a cell reads as ``HH:MM`` or ``HH:MM:SS.mmm``, with or without am and pm, or as ``MM:SS.mmm``."""
    return bool(_CLOCK.match(text) or _MINUTES.match(text))


def parse_clock(cells: pd.Series) -> np.ndarray:
    """Seconds of each cell, (n,), NaN where it is no time.

    Time of day counts from midnight; dates count from 1970-01-01 UTC, and a date without a zone is taken as UTC.
    Read are ISO 8601 (T or a blank between, - or / in the date), ``DD.MM.YYYY HH:MM:SS`` and ``DD-Mon-YYYY HH:MM:SS``
    with the month's English name; am or pm may stand behind each. ``05:12.3`` is minutes and seconds, and where cells
    are written so, ``05:12`` is too.
    """
    text = cells.astype("str").str.strip().str.strip('"')
    first = next((cell for cell in text if isinstance(cell, str) and cell), "")
    half = text.str.extract(_HALF_OF_DAY, expand=False).str[0].str.lower()
    if is_time_of_day(first):
        return _in_halves(_time_of_day(text), half)
    text = text.str.replace(_HALF_OF_DAY, "", regex=True)
    text = text.str.replace("/", "-").str.replace(",", ".")
    if _OTHER_DATE.match(first):
        text = text.str.replace(_OTHER_DATE, lambda found: date_as_iso(found[0]), regex=True)
        text = text.str.replace(r"\s+", " ", regex=True)
    # A date of this century or the last; whatever else a parser would make of stray digits is no time.
    text = text.where(text.str.match(r"(19|20)\d\d-?\d\d-?\d\d", na=False))
    moments = pd.to_datetime(text, format="ISO8601", utc=True, errors="coerce")
    seconds = _seconds((moments.dt.tz_convert(None) - pd.Timestamp(0)).to_numpy().astype("timedelta64[ns]"))
    return _in_halves(seconds, half)


def _time_of_day(text: pd.Series) -> np.ndarray:
    """Seconds, (n,), of times without am or pm; those are put in by ``_in_halves``."""
    in_minutes = text.str.match(_MINUTES.pattern, na=False)
    text = text.where(text.str.match(_CLOCK.pattern, na=False) | in_minutes)
    plain = text.str.replace(_HALF_OF_DAY, "", regex=True).str.replace(",", ".")
    short = "00:" + plain if in_minutes.any() else plain + ":00"
    whole = plain.where(plain.str.count(":") == 2, short)
    return _seconds(pd.to_timedelta(whole, errors="coerce").to_numpy().astype("timedelta64[ns]"))


def _in_halves(seconds: np.ndarray, half: pd.Series) -> np.ndarray:
    """Times, (n,) [s], of which some name the half of the day they count in: a | p, else missing."""
    in_half = np.mod(seconds, HALF_DAY_S)
    days = seconds - np.mod(seconds, DAY_S)
    # Twelve stands for the hour before one: 12:05 am is five past midnight.
    return np.where(half == "p", days + in_half + HALF_DAY_S, np.where(half == "a", days + in_half, seconds))


def _seconds(spans: np.ndarray) -> np.ndarray:
    whole = spans.astype("int64") * NS
    return np.where(np.isnat(spans), np.nan, whole)
