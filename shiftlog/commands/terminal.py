"""What the commands print with: progress, notes, aligned tables, JSON to a file or the terminal."""

import json
import sys
import time
from collections.abc import Callable, Sequence
from pathlib import Path

from shiftlog.errors import StoreError
from shiftlog.model.drive import Drive

QUIET_S = 1.0
"""Anything that takes longer than this says what it is doing."""


def say(text: str) -> None:
    """One line on standard error."""
    print(f"shiftlog: {text}", file=sys.stderr, flush=True)


def make_progress() -> Callable[[str], None]:
    """Progress from the second second on, in one line that changes; only a terminal sees it, logs stay clean."""
    began = time.monotonic()

    def progress(text: str) -> None:
        if text and sys.stderr.isatty() and time.monotonic() - began > QUIET_S:
            print(f"\r\x1b[K{text} …", end="", file=sys.stderr, flush=True)

    return progress


def clear_progress() -> None:
    """Take the progress line off the terminal."""
    if sys.stderr.isatty():
        print("\r\x1b[K", end="", file=sys.stderr, flush=True)


def say_left_out(drive: Drive) -> None:
    """One line for each recording left out or not placed, and each note."""
    for left in drive.left_out:
        say(left.why)
    for placed in drive.placed:
        if not placed.on_drive_time:
            say(f"{placed.recording.name}: not placed: {placed.clock.why}")
    for note in drive.notes:
        say(note)


def write_json(document: object, target: str) -> None:
    """RFC 8259 JSON to a file, or to standard output for ``-``."""
    text = json.dumps(document, ensure_ascii=False, indent=1, allow_nan=False) + "\n"
    if target == "-":
        sys.stdout.write(text)
        return
    try:
        Path(target).write_text(text, encoding="utf-8")
    except OSError as error:
        raise StoreError(f"{target}: cannot be written ({error.strerror}); give another file") from error


def table(head: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    """An aligned table; the columns as wide as their widest cell."""
    widths = [max(len(r[i]) for r in (head, *rows)) for i in range(len(head))]
    lines = ["  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)) for row in (head, *rows)]
    return "\n".join(line.rstrip() for line in lines)
