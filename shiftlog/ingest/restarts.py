"""Where a recorder began anew, or its clock was set, told from rows that are only out of place."""

from collections.abc import Iterable

import numpy as np

from shiftlog.ingest.clock_turns import DAY_S
from shiftlog.signal.clock_ticks import GAP_STEPS

LONGEST_PAUSE_S = DAY_S
"""A log is of one day; a longer step is a clock that was set on the way, as by a receiver's first fix."""

BLOCK_ROWS = 16
"""Rows out of place come by ones and twos; a buffer that is written twice, or a second run, is longer."""

_NEAR_ROWS = 4096

MOST_RESTARTS = 100
"""With more restarts than this the column is no clock (common practice, no source)."""


def find_restarts(time_s: np.ndarray, *, known: Iterable[int], headed: Iterable[int]) -> list[int]:
    """The first row of each later part of times (n,) [s].

    No more than ``MOST_RESTARTS`` and one are looked for.
    known : rows that begin a part whatever their time; headed : rows under a header, which do where time steps back
    """
    steps = np.diff(time_s)
    usual = float(np.median(np.abs(steps)))
    far = np.flatnonzero(np.abs(steps) > LONGEST_PAUSE_S) + 1
    again = [at for at in headed if 0 < at < time_s.size and steps[at - 1] < -usual]
    sure = {int(at) for at in (*known, *far, *again) if 0 < at < time_s.size}
    restarts = []
    for at in sorted(sure.union((np.flatnonzero(steps < 0) + 1).tolist())):
        begin = restarts[-1] if restarts else 0
        if at in sure or _is_restart(time_s[begin:], at - begin, usual):
            restarts.append(at)
            if len(restarts) > MOST_RESTARTS:
                break
    return restarts


def restart_words(step_s: float) -> str:
    """What a step of time at a restart is, for a message."""
    if step_s > LONGEST_PAUSE_S:
        return f"time jumps ahead by {step_s / DAY_S:.0f} days; the clock was set"
    if step_s < 0:
        back = f"{-step_s:.3g}" if step_s > -1000 else f"{-step_s:.0f}"
        return f"time jumps back by {back} s; the logger restarted"
    return "the logger restarted"


def _is_restart(time_s: np.ndarray, at: int, usual: float) -> bool:
    """Whether a jump back treads the same time again, or lands far from any row; one out of place fills its hole.

    time_s : (n,) from the beginning of the part in which the jump lies
    """
    low = time_s[at]
    # A row out of place is settled near by, and a log may have thousands; a restart is looked at as a whole.
    for reach in (_NEAR_ROWS, time_s.size):
        before, after = time_s[max(at - reach, 0) : at], time_s[at : at + reach]
        high = before.max()
        # What follows goes as far as time is new, or jumps back once more: there the next part may begin.
        ends = np.flatnonzero((after > high) | (np.diff(after, prepend=low) < -BLOCK_ROWS * usual))
        if ends.size and (after[ends[0]] > high or before.min() <= low):
            break
    ahead = after[: ends[0]] if ends.size else after
    if ahead.size < 2:
        return False
    end = ahead.max()
    behind = np.count_nonzero((before >= low) & (before <= end))
    # Rows that jitter put close together need no more room than their number.
    room = max((end - low) / usual + 1, ahead.size)
    if behind + ahead.size > 1.5 * room + 1:
        return True
    if low < time_s[:at].min() and ahead.size >= BLOCK_ROWS and at + ahead.size == time_s.size:
        # Whatever came late is followed by rows that go on; a log does not end with what began before its first row.
        return True
    near = GAP_STEPS * usual
    return not (_is_near(before, low, end, near) or _is_near(time_s[:at], low, end, near))


def _is_near(others: np.ndarray, low: float, high: float, near: float) -> bool:
    """Whether any of ``others`` lies between ``low`` and ``high`` or next to them."""
    return bool(np.any((others >= low - near) & (others <= high + near)))
