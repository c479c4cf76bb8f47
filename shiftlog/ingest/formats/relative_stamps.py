"""Traces whose times count from the line before: told by time that steps back all along."""

import re
from collections.abc import Iterable
from itertools import islice

from shiftlog.errors import LogError

_LOOKED_AT = 5000
"""So many lines at the top tell how a trace is written."""

_LEAST_STAMPS = 20
_BACK_SHARE = 0.1
"""Where a tenth of all steps go back, stamps are steps themselves: half do of steps at random, hardly any of absolute
times (common practice, no source)."""


def check_stamps(
    lines: Iterable[str], *, stamp: re.Pattern[str] | None, relative: re.Pattern[str] | None, file: str
) -> None:
    """LogError where times are relative to the line before and no line of the head says so.

    stamp : finds time and interface at the beginning of a line, None where there is nothing to check
    relative : the line of the head that says so
    """
    if stamp is None:
        return
    last: dict[str, float] = {}
    count, back_rows = 0, []
    for row, line in enumerate(islice(lines, _LOOKED_AT), start=1):
        if relative is not None and relative.match(line):
            return
        found = stamp.match(line)
        if found is None:
            continue
        # Each interface by itself, as two of them may have clocks of their own.
        time_s, interface = float(found[1]), found[2]
        if time_s < last.get(interface, 0.0):
            back_rows.append(row)
        last[interface] = time_s
        count += 1
    if count >= _LEAST_STAMPS and len(back_rows) > _BACK_SHARE * count:
        raise LogError(
            f"{file}, row {back_rows[0]}: time steps back here and at {len(back_rows) - 1} more of the first {count} "
            "frames; times are relative to the line before. Record with absolute times (candump -L, -ta or -tz), or "
            "export with absolute ones."
        )
