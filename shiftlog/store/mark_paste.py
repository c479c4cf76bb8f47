"""Marks as the prompts write them, by the clock of a device, laid into drive time."""

import math
import tomllib
from dataclasses import dataclass, replace
from datetime import datetime

from shiftlog.errors import StoreError
from shiftlog.model.drive import MarkedTest

PASTE = "paste the marks of the prompts whole, from [marks] to the last line"


@dataclass(frozen=True, eq=False, kw_only=True)
class PastedMarks:
    """began : by the device's clock, or None; marks : their times count from there [s], in order of time"""

    began: datetime | None
    marks: tuple[MarkedTest, ...]


def read_pasted(text: str) -> PastedMarks:
    """What was pasted. StoreError, in one line, where it is not what the prompts wrote."""
    try:
        tables = tomllib.loads(text.replace("\r\n", "\n"))
    except tomllib.TOMLDecodeError as error:
        raise StoreError(f"the pasted marks cannot be read ({error}); {PASTE}") from None
    tests = tables.get("test")
    if not isinstance(tests, list) or not tests:
        raise StoreError(f"the pasted text holds no [[test]]; {PASTE}")
    head = tables.get("marks")
    began = head.get("began") if isinstance(head, dict) else None
    marks = [_mark(test, number) for number, test in enumerate(tests, start=1)]
    return PastedMarks(
        began=began if isinstance(began, datetime) and began.tzinfo is not None else None,
        marks=tuple(sorted(marks, key=lambda mark: mark.start_s)),
    )


def _mark(test: object, number: int) -> MarkedTest:
    given = test if isinstance(test, dict) else {}
    kind, configuration = given.get("kind"), given.get("configuration")
    times = [given.get(name) for name in ("start_s", "end_s")]
    fine = all(type(value) in (int, float) and math.isfinite(value) for value in times)
    if not isinstance(kind, str) or not fine or not isinstance(configuration, str | None):
        raise StoreError(f"[[test]] number {number} of the pasted marks lacks kind, start_s or end_s; {PASTE}")
    return MarkedTest(kind=kind, start_s=float(times[0]), end_s=float(times[1]), configuration=configuration or None)


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
    return tuple(
        replace(mark, start_s=round(mark.start_s + shift_s, 3), end_s=round(mark.end_s + shift_s, 3))
        for mark in pasted.marks
    )
