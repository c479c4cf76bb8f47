"""Marks as the prompts write them, by the clock of a device, laid into drive time."""

import math
import re
import tomllib
from dataclasses import dataclass, replace
from datetime import UTC, datetime

from shiftlog.errors import StoreError
from shiftlog.model.drive import MarkedTest
from shiftlog.model.result import DriveResult

PASTE = "paste the marks of the prompts whole, from [marks] to the last line"


DATES_S = (1.2e9, 4.1e9)
"""2008 to 2099 in seconds since 1970: no recorder has been on for so long, and none is older."""
HOUR_S, ZONES_H = 3600.0, range(-14, 15)
BEYOND_S = 2.0
"""A mark of a device whose clock is out by this is still taken, and cut at the drive's end."""
Span = tuple[float, float]
_RUN = re.compile(r"^(?=\[marks\])", re.MULTILINE)


@dataclass(frozen=True, eq=False, kw_only=True)
class PastedMarks:
    """began : by the device's clock, or None; marks : their times count from there [s], in order of time"""

    began: datetime | None
    marks: tuple[MarkedTest, ...]


def read_pasted(text: str) -> PastedMarks:
    """What was pasted: one run of the prompts or several, one after the other. StoreError, in one line, else."""
    runs = [run for part in _RUN.split(text.replace("\r\n", "\n")) if (run := _read_run(part)) is not None]
    if not any(run.marks for run in runs):
        raise StoreError(f"the pasted text holds no [[test]]; {PASTE}")
    first = runs[0].began
    if len(runs) > 1 and any(run.began is None for run in runs):
        raise StoreError(f"several runs of the prompts, and one without its `began`; {PASTE}")
    marks = [
        _later(mark, 0.0 if run is runs[0] else (run.began - first).total_seconds())
        for run in runs for mark in run.marks
    ]  # fmt: skip
    return PastedMarks(began=first, marks=tuple(sorted(marks, key=lambda mark: mark.start_s)))


def _read_run(text: str) -> PastedMarks | None:
    """One run, or None where there is nothing but remarks."""
    try:
        tables = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise StoreError(f"the pasted marks cannot be read ({error}); {PASTE}") from None
    if not tables:
        return None
    head, tests = tables.get("marks"), tables.get("test", [])
    began = head.get("began") if isinstance(head, dict) else None
    if not isinstance(tests, list):
        raise StoreError(f"the pasted text holds no [[test]]; {PASTE}")
    return PastedMarks(
        began=began if isinstance(began, datetime) and began.tzinfo is not None else None,
        marks=tuple(_mark(test, number) for number, test in enumerate(tests, start=1)),
    )


def _mark(test: object, number: int) -> MarkedTest:
    given = test if isinstance(test, dict) else {}
    kind, configuration = given.get("kind"), given.get("configuration")
    times = [given.get(name) for name in ("start_s", "end_s")]
    waits = given.get("waits_s", [])
    numbers = [*times, *waits] if isinstance(waits, list) else [None]
    fine = all(type(value) in (int, float) and math.isfinite(value) for value in numbers)
    if not isinstance(kind, str) or not fine or not isinstance(configuration, str | None):
        raise StoreError(
            f"[[test]] number {number} of the pasted marks lacks kind, start_s or end_s, or one is no number; {PASTE}"
        )
    return MarkedTest(
        kind=kind, start_s=float(times[0]), end_s=float(times[1]), configuration=configuration or None,
        waits_s=tuple(map(float, waits)),
    )  # fmt: skip


def _later(mark: MarkedTest, by_s: float) -> MarkedTest:
    return replace(mark, start_s=mark.start_s + by_s, end_s=mark.end_s + by_s)


def started_of(result: DriveResult) -> datetime | None:
    """The instant of the drive's zero, where a recording counts its time since 1970; None where none does."""
    offsets = [one.clock.offset_s for one in result.recordings if one.clock.offset_s is not None]
    dates = [offset for offset in offsets if DATES_S[0] < offset < DATES_S[1]]
    return datetime.fromtimestamp(dates[0], tz=UTC) if dates else None


def moved_by_hours(marks: tuple[MarkedTest, ...], whole_s: Span) -> tuple[MarkedTest, ...]:
    """The marks, by whole hours later where only so they lie in the drive: a log's date without a zone is local."""
    first_s, last_s = min(mark.start_s for mark in marks), max(mark.end_s for mark in marks)
    fits = [
        hours for hours in ZONES_H
        if first_s + HOUR_S * hours > whole_s[0] - BEYOND_S and last_s + HOUR_S * hours < whole_s[1] + BEYOND_S
    ]  # fmt: skip
    return tuple(_later(mark, HOUR_S * fits[0]) for mark in marks) if len(fits) == 1 else marks


def place_pasted(pasted: PastedMarks, *, started: datetime | None, first_at_s: float | None) -> tuple[MarkedTest, ...]:
    """The marks in drive time. StoreError where nothing tells where the first of them began.

    started : when the drive's zero was, by a clock; first_at_s : where the first mark begins, and goes before
    """
    if first_at_s is not None:
        shift_s = first_at_s - pasted.marks[0].start_s
    elif started is not None and pasted.began is not None:
        shift_s = (pasted.began - started).total_seconds()
    else:
        lacks = "the drive names no instant at which it started" if started is None else "the marks name no `began`"
        raise StoreError(f"{lacks}; give the second of the drive at which the first test began")
    moved = [_later(mark, shift_s) for mark in pasted.marks]
    return tuple(replace(m, start_s=round(m.start_s, 3), end_s=round(m.end_s, 3)) for m in moved)
