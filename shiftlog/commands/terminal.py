"""What the commands print with: notes, aligned tables, JSON to a file or the terminal."""

import json
import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

from shiftlog.errors import StoreError
from shiftlog.measure.carry import OFFSET
from shiftlog.measure.worth import mend_text
from shiftlog.model.drive import Drive

WIDTH = 100
"""Texts are wrapped here; a table is as wide as it must be."""


def say(text: str) -> None:
    """One line on standard error."""
    print(f"shiftlog: {text}", file=sys.stderr, flush=True)


def say_left_out(drive: Drive, *, unplaced: bool = True) -> None:
    """One line for each recording left out, or not placed if asked for, and each note, of which drive it is first."""
    say_of(drive, [*(left.why for left in drive.left_out), *(_unplaced(drive) if unplaced else ()), *drive.notes])


def say_of(drive: Drive, lines: Sequence[str]) -> None:
    """Lines on standard error that name their drive."""
    for line in lines:
        say(line if line.startswith(f"{drive.head.id}:") else f"{drive.head.id}: {line}")


def _unplaced(drive: Drive) -> list[str]:
    """A line for each recording that is not placed; what to do about it once, with the last of those it concerns."""
    lost = [placed for placed in drive.placed if not placed.on_drive_time]
    last = {placed.clock.mend: placed.recording.name for placed in lost}
    lines = []
    for placed in lost:
        name, clock = placed.recording.name, placed.clock
        mend = f"; {mend_text(clock.mend, OFFSET)}" if last[clock.mend] == name else ""
        lines.append(f"{name}: not placed: {(clock.why or '').removeprefix(f'{name}: ')}{mend}")
    return lines


@contextmanager
def writing(target: Path) -> Iterator[None]:
    """A place that cannot be written to is the user's to mend. StoreError names it."""
    try:
        yield
    except OSError as error:
        raise StoreError(f"{target}: cannot be written ({error.strerror or error}); name another place") from error


def write_json(document: object, target: str) -> None:
    """RFC 8259 JSON, UTF-8 whatever the terminal speaks, to a file, or to standard output for ``-``."""
    text = json.dumps(document, ensure_ascii=False, indent=1, allow_nan=False) + "\n"
    if target == "-":
        sys.stdout.flush()
        sys.stdout.buffer.write(text.encode("utf-8"))
        return
    with writing(Path(target)):
        Path(target).write_text(text, encoding="utf-8")


def table(head: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    """An aligned table; the columns as wide as their widest cell."""
    widths = [max(len(r[i]) for r in (head, *rows)) for i in range(len(head))]
    lines = ["  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)) for row in (head, *rows)]
    return "\n".join(line.rstrip() for line in lines)
