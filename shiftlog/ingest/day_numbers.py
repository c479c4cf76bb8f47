"""Times that a spreadsheet wrote as days since 1899: they are told apart from all counters by how fast they grow."""

from datetime import date, timedelta

import numpy as np

from shiftlog.errors import LogError

_DAY_0 = date(1899, 12, 30)
_DAYS = ((date(2000, 1, 1) - _DAY_0).days, (date(2050, 1, 1) - _DAY_0).days)
_LONGEST_STEP = 1e-4
"""9 s as days; as seconds it would be a log of 10 kHz and more, with so large numbers."""


def refuse_day_numbers(time: np.ndarray, *, header: str, file: str) -> None:
    """LogError where logged times (n,) of a column without a unit are days as a spreadsheet counts them."""
    finite = time[np.isfinite(time)]
    steps = np.abs(np.diff(finite))
    steps = steps[steps > 0]
    if not steps.size or not (_DAYS[0] <= finite.min() and finite.max() < _DAYS[1]):
        return
    if float(np.median(steps)) < _LONGEST_STEP:
        day = _DAY_0 + timedelta(days=int(finite[0]))
        raise LogError(
            f"{file}, column {header}: its numbers are days as spreadsheets count them ({finite[0]:.4f} is on {day}). "
            "Give the column a format with seconds, such as hh:mm:ss.000, and export it again."
        )
