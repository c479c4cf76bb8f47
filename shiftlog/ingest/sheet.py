"""What every reader of a log format hands on: headers with units, and rows of numbers under them.

A text log has a value in every cell; a bus or a poll brings one signal at a time. Both become rows on one time axis,
with NaN where a row has no value, so that mapping, units, times, quality and messages are the same for all.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

TIME_HEADER = "time [s]"


@dataclass(frozen=True, eq=False, kw_only=True)
class Table:
    """Columns of numbers.

    time : (n,) as logged; seconds where ``time_is_text`` (from midnight, or from 1970)
    values : (n, c) as logged, NaN where a cell is empty; rows : (n,) line of each row in the file, from 1
    mended : what was put right, and how often; remarks : the first of each kind, with its row
    starts : indices of the rows before which the recorder is known to have started anew
    headed : indices of the rows before which the header stands again
    """

    time: np.ndarray
    time_is_text: bool
    values: np.ndarray
    rows: np.ndarray
    mended: dict[str, int]
    remarks: tuple[str, ...]
    starts: tuple[int, ...] = ()
    headed: tuple[int, ...] = ()


@dataclass(frozen=True, eq=False, kw_only=True)
class Sheet:
    """A log opened: its columns, and how to read some of them.

    header : a name for each column, with its unit in brackets where it is known; columns of times among them
    read : (index of the time column, indices of the columns wanted) → Table with these columns, in this order
    absent : names that were declared and of which the log holds nothing
    place, clock : where the recorder says that it sat and what clock it hangs on, None where it does not
    """

    header: tuple[str, ...]
    read: Callable[[int, Sequence[int]], Table]
    absent: tuple[str, ...] = ()
    place: str | None = None
    clock: str | None = None


@dataclass(frozen=True, eq=False, kw_only=True)
class Series:
    """One signal of a log that brings its signals one by one.

    row : (k,) int, where in the file each value stands, from 1; time : (k,) as logged; values : (k,)
    """

    header: str
    row: np.ndarray
    time: np.ndarray
    values: np.ndarray


def lay_rows(series: Sequence[Series]) -> Table:
    """Series to rows in the order of the file; neighbours that share a time share a row, none loses a value."""
    row = np.concatenate([s.row for s in series])
    time = np.concatenate([s.time for s in series])
    column = np.repeat(np.arange(len(series)), [s.row.size for s in series])
    order = np.argsort(row, kind="stable")
    row, time, column = row[order], time[order], column[order]
    key = _shared_rows(time, column)
    rows, first, at = np.unique(key, return_index=True, return_inverse=True)
    values = np.full((rows.size, len(series)), np.nan)
    values[at, column] = np.concatenate([s.values for s in series])[order]
    return Table(time=time[first], time_is_text=False, values=values, rows=row[first], mended={}, remarks=())


def _shared_rows(time: np.ndarray, column: np.ndarray) -> np.ndarray:
    """A number for the row of each value, (m,) int: by its moment, and how often its column came before in it."""
    moment = np.concatenate(([0], np.cumsum(np.diff(time) != 0)))[: time.size]
    order = np.lexsort((column, moment))
    same = (np.diff(moment[order]) == 0) & (np.diff(column[order]) == 0)
    place = np.arange(time.size)
    start = np.maximum.accumulate(np.where(np.concatenate(([False], same))[: time.size], 0, place))
    again = np.empty(time.size, dtype=np.int64)
    again[order] = place - start
    return moment * (int(again.max(initial=0)) + 1) + again


def sheet_of_series(
    series: Sequence[Series],
    *,
    mended: dict[str, int] | None = None,
    remarks: tuple[str, ...] = (),
    absent: tuple[str, ...] = (),
    time_header: str = TIME_HEADER,
    time_is_text: bool = False,
) -> Sheet:
    """A Sheet whose first column is the time and whose others are the series."""

    def read(time: int, columns: Sequence[int]) -> Table:
        # Times alone are those of all series.
        wanted = [series[c - 1] for c in columns] or list(series)
        table = lay_rows(wanted if time == 0 else [*wanted, series[time - 1]])
        return Table(
            time=table.time if time == 0 else table.values[:, -1],
            time_is_text=time_is_text and time == 0,
            values=table.values[:, : len(columns)],
            rows=table.rows,
            mended=dict(mended or {}),
            remarks=remarks,
        )

    return Sheet(header=(time_header, *(s.header for s in series)), read=read, absent=absent)
