"""Times written as text: time of day and ISO 8601 dates with times."""

import re

import numpy as np
import pandas as pd

_CLOCK = re.compile(r"\s*\d{1,2}:\d{2}(:\d{2}([.,]\d+)?)?\s*$")
_DAY_FIRST = re.compile(r"\s*(\d{2})\.(\d{2})\.(\d{4})[ T]")

NS = 1e-9


def is_time_of_day(text: str) -> bool:
    """Whether a cell reads as ``HH:MM`` or ``HH:MM:SS.mmm``."""
    return bool(_CLOCK.match(text))


def parse_clock(cells: pd.Series) -> np.ndarray:
    """Seconds of each cell, (n,), NaN where it is no time.

    Time of day counts from midnight; dates count from 1970-01-01 UTC, and a date without a zone is taken as UTC.
    Read are ISO 8601 (T or a blank between, - or / in the date) and ``DD.MM.YYYY HH:MM:SS``.
    """
    text = cells.astype("str").str.strip().str.strip('"')
    first = next((cell for cell in text if isinstance(cell, str) and cell), "")
    if is_time_of_day(first):
        whole = text.str.replace(",", ".").where(text.str.count(":") == 2, text + ":00")
        spans = pd.to_timedelta(whole.where(whole.str.match(_CLOCK.pattern, na=False)), errors="coerce")
        return _seconds(spans.to_numpy().astype("timedelta64[ns]"))
    text = text.str.replace("/", "-").str.replace(_DAY_FIRST, r"\3-\2-\1 ", regex=True).str.replace(",", ".")
    # A date of this century or the last; whatever else a parser would make of stray digits is no time.
    text = text.where(text.str.match(r"(19|20)\d\d-?\d\d-?\d\d", na=False))
    moments = pd.to_datetime(text, format="ISO8601", utc=True, errors="coerce")
    return _seconds((moments.dt.tz_convert(None) - pd.Timestamp(0)).to_numpy().astype("timedelta64[ns]"))


def _seconds(spans: np.ndarray) -> np.ndarray:
    whole = spans.astype("int64") * NS
    return np.where(np.isnat(spans), np.nan, whole)
