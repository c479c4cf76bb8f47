"""A log's time column to seconds that increase: units, wraps, order, copies, coarse stamps, restarts."""

from dataclasses import dataclass, field

import numpy as np

from shiftlog.errors import LogError, RestartedLog
from shiftlog.ingest.clock_turns import lay_on
from shiftlog.ingest.restarts import BLOCK_ROWS, LONGEST_PAUSE_S, MOST_RESTARTS, find_restarts, restart_words
from shiftlog.ingest.sheet import Table
from shiftlog.ingest.wrong_times import find_turned, find_wrong_times
from shiftlog.signal.clock_ticks import is_coarse, spread_evenly

RESTART_GAP_S = 10.0
"""What is put between the parts of a log that restarted, as nobody knows how long it was off."""

_RESTART_SHARE = 0.1
"""With more restarts than this share of the rows the column is no clock (common practice, no source)."""

_COPY_EXCESS = 0.3
"""How much more often rows of one time are alike than other neighbours before they count as copies."""


@dataclass(frozen=True, eq=False, kw_only=True)
class Timed:
    """Rows in order of time.

    time_s : (n,) strictly increasing [s], the recorder's own time; order : (n,) the table's rows kept, in order
    mended : what was put right, and how often; history : sentences for the recording
    """

    time_s: np.ndarray
    order: np.ndarray
    mended: dict[str, int]
    history: tuple[str, ...]


@dataclass
class _Work:
    """Times under repair, with the table rows they belong to."""

    time_s: np.ndarray
    order: np.ndarray
    mended: dict[str, int] = field(default_factory=dict)
    history: list[str] = field(default_factory=list)

    def keep(self, kept: np.ndarray, kind: str) -> None:
        """Drops the rows that are not kept and counts them."""
        dropped = int(kept.size - np.count_nonzero(kept))
        if dropped:
            self.time_s, self.order = self.time_s[kept], self.order[kept]
            self.mended[kind] = self.mended.get(kind, 0) + dropped


def read_times(table: Table, *, factor: float, file: str, allow_restart: bool = False) -> Timed:
    """Seconds for each row of a table; ``factor`` turns the logged unit into seconds.

    LogError where fewer than two rows have a time of their own, or where the logger restarted: time jumps back, or
    ahead by more than a day, or the table says so.
    With ``allow_restart`` what follows is laid ``RESTART_GAP_S`` after the part before it: nothing is measured
    across the seam, and other recordings fit the first part only.
    """
    work = _Work(time_s=table.time * factor, order=np.arange(table.time.size))
    work.keep(np.isfinite(work.time_s), "rows without a time")
    _need_two(work, file)
    work.keep(_from_first_value(table.values[work.order]), "rows before the first value")
    _need_two(work, file)
    wrong = find_wrong_times(work.time_s)
    turned = lay_on(work.time_s[~wrong], table.rows[work.order[~wrong]], is_text=table.time_is_text)
    work.time_s = find_turned(work.time_s, wrong, turned.time_s)
    work.keep(np.isfinite(work.time_s), "rows with a wrong time")
    work.mended.update(turned.mended)
    work.history += turned.history
    _put_in_order(work, table, file=file, allow_restart=allow_restart)
    _part_equal_times(work, table)
    _need_two(work, file)
    return Timed(time_s=work.time_s, order=work.order, mended=work.mended, history=tuple(work.history))


def _from_first_value(values: np.ndarray) -> np.ndarray:
    """Rows, (n,) bool, from the first that holds a value on; before its first fix a receiver's clock is wrong."""
    held = np.isfinite(values).any(axis=1)
    return np.arange(held.size) >= np.argmax(held)


def _need_two(work: _Work, file: str) -> None:
    if work.time_s.size < 2 or np.all(work.time_s == work.time_s[0]):
        raise LogError(f"{file}: fewer than two rows with a time of their own. Look at the time column.")


def _put_in_order(work: _Work, table: Table, *, file: str, allow_restart: bool) -> None:
    steps = np.diff(work.time_s)
    if not (table.starts or np.any(steps < 0) or np.any(steps > LONGEST_PAUSE_S)):
        return
    work.keep(~_copies(work, table), "duplicate rows")
    known, headed = np.searchsorted(work.order, table.starts), np.searchsorted(work.order, table.headed)
    restarts = find_restarts(work.time_s, known=known, headed=headed)
    _check_count(restarts, work, table, file=file)
    if restarts and not allow_restart:
        at = restarts[0]
        row = int(table.rows[work.order[at]])
        what = restart_words(float(work.time_s[at] - work.time_s[at - 1]))
        raise RestartedLog(f"{file}, row {row}: {what}. Split the file there, or use --allow-restart.")
    _sort_parts(work, restarts)


def _check_count(restarts: list[int], work: _Work, table: Table, *, file: str) -> None:
    """LogError, also where restarts are allowed, where time starts anew too often for any recorder."""
    if len(restarts) <= max(min(MOST_RESTARTS, _RESTART_SHARE * work.time_s.size), 1):
        return
    row = int(table.rows[work.order[restarts[0]]])
    raise LogError(
        f"{file}, row {row}: time starts anew here and at {len(restarts) - 1} or more of {work.time_s.size} rows; no "
        "recorder restarts so often. Its rows may be in reverse order, its times relative to the row before, or of "
        "another column: record with absolute times, or map the right column to time."
    )


def _copies(work: _Work, table: Table) -> np.ndarray:
    """Rows that repeat an earlier one in time and every value."""
    rows = np.column_stack([work.time_s, np.nan_to_num(table.values[work.order], nan=-9.87654321e300)])
    whole = np.ascontiguousarray(rows).view(np.dtype((np.void, rows.dtype.itemsize * rows.shape[1]))).ravel()
    first = np.unique(whole, return_index=True)[1]
    copies = np.ones(whole.size, dtype=bool)
    copies[first] = False
    for begin, end in _trodden_again(work.time_s):
        # A block that was written twice is a copy to its end; a recorder that began anew only starts out alike.
        if not np.all(copies[begin:end]):
            copies[begin:end] = False
    return copies


def _trodden_again(time_s: np.ndarray) -> list[tuple[int, int]]:
    """From each jump back by several rows to where time is new again: [first, past the last)."""
    high = np.maximum.accumulate(time_s)
    behind = time_s < high
    edges = np.flatnonzero(np.diff(np.concatenate(([False], behind, [False])).astype(int)))
    return [(int(a), int(b)) for a, b in edges.reshape(-1, 2) if b - a >= BLOCK_ROWS]


def _sort_parts(work: _Work, restarts: list[int]) -> None:
    parts = np.split(np.arange(work.time_s.size), restarts)
    times, order, end = [], [], None
    moved = 0
    for part in parts:
        time = work.time_s[part]
        by_time = np.argsort(time, kind="stable")
        moved += int(np.count_nonzero(np.diff(time) < 0))
        time = time[by_time]
        if end is not None:
            shift = end + RESTART_GAP_S - time[0]
            time = time + shift
            way = "later" if shift > 0 else "earlier"
            work.history.append(f"The log restarted; its next part was laid {abs(shift):.6g} s {way} than it says.")
        times.append(time)
        order.append(work.order[part][by_time])
        end = time[-1]
    if restarts:
        work.mended["restarts"] = len(restarts)
    if moved:
        work.mended["places out of order"] = moved
    work.time_s, work.order = np.concatenate(times), np.concatenate(order)


def _part_equal_times(work: _Work, table: Table) -> None:
    """Copies dropped; stamps of a coarse clock spread; one of two rows that claim one time dropped."""
    equal = np.diff(work.time_s) == 0
    if not np.any(equal):
        return
    same = _same_as_before(table.values[work.order])
    # A still channel repeats honestly: only where equal stamps go with equal values far more often than other
    # neighbours do are the rows copies.
    others = float(np.mean(same[~equal])) if not np.all(equal) else 1.0
    if float(np.mean(same[equal])) > others + _COPY_EXCESS:
        work.keep(np.concatenate(([True], ~(equal & same))), "duplicate rows")
    equal = np.diff(work.time_s) == 0
    if is_coarse(work.time_s):
        work.mended["equal time stamps spread"] = int(np.count_nonzero(equal))
        work.history.append("Several rows shared a time stamp; they were spread at the true rate.")
        work.time_s = spread_evenly(work.time_s)
    equal = np.diff(work.time_s) == 0
    work.keep(np.concatenate(([True], ~(equal & _same_as_before(table.values[work.order])))), "duplicate rows")
    work.keep(np.concatenate(([True], np.diff(work.time_s) > 0)), "rows that share a time")


def _same_as_before(values: np.ndarray) -> np.ndarray:
    """Whether each row repeats every value of the one before it, (n - 1,)."""
    here, before = values[1:], values[:-1]
    return np.all((here == before) | (np.isnan(here) & np.isnan(before)), axis=1)
