"""The frames of a CAN trace, read with python-can into arrays."""

import re
from array import array
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from itertools import chain
from pathlib import Path

import numpy as np

from shiftlog.errors import LogError
from shiftlog.ingest.formats.relative_stamps import check_stamps
from shiftlog.ingest.optional import load_extra
from shiftlog.ingest.text_bytes import open_lines

_HEADLESS = "lines without their head"

_ERROR_FLAG, _STANDARD_DIGITS = 0x20000000, 3

FrameKey = tuple[int, bool]
"""Identifier, and whether it is an extended one."""


@dataclass(frozen=True, eq=False, kw_only=True)
class TraceKind:
    """One way in which traces are written.

    reader : class of python-can; interface_shift : what its numbers of interfaces lack to those in the file
    is_whole : (line, head so far) → whether the line is as it was written; others are damage; None in a binary trace
    identifier : the frame's identifier at the head of a line, so that others need not be taken apart; None where it is
    not written so
    head : lines that belong to the head; headless : lines that mean nothing where no head stands above them, or None
    rewrite : a line of another form into that of the reader, or None
    stamp : time and interface at the beginning of a line; None where times cannot be relative to the line before
    relative : the line of the head which says that they are; then they are added up
    """

    reader: str
    binary: bool = False
    interface_shift: int = 0
    is_whole: Callable[[str, Sequence[str]], object] | None = None
    identifier: re.Pattern[str] | None = None
    head: re.Pattern[str] | None = None
    headless: re.Pattern[str] | None = None
    rewrite: Callable[[str], str] | None = None
    stamp: re.Pattern[str] | None = None
    relative: re.Pattern[str] | None = None


@dataclass(frozen=True, eq=False, kw_only=True)
class Frames:
    """Frames with data, in the order of the trace.

    row : (n,) int, line or number of each frame in the trace; time : (n,) [s]; key : (n,) int, index into ``keys``
    keys : (identifier, extended, interface)
    start, length : (n,) int, where a frame's bytes lie in ``data``, (b,) uint8
    counts : what held no values, by kind
    """

    row: np.ndarray
    time: np.ndarray
    key: np.ndarray
    keys: tuple[tuple[int, bool, str], ...]
    start: np.ndarray
    length: np.ndarray
    data: np.ndarray
    counts: dict[str, int]

    def of(self, index: int) -> "Frames":
        """The frames of one key."""
        at = np.flatnonzero(self.key == index)
        return Frames(
            row=self.row[at], time=self.time[at], key=self.key[at], keys=self.keys, start=self.start[at],
            length=self.length[at], data=self.data, counts=self.counts,
        )  # fmt: skip

    def content(self) -> np.ndarray:
        """Data as (n, b) uint8, zero behind the end of a frame."""
        width = int(self.length.max()) if self.length.size else 0
        inside = np.arange(width)
        at = np.minimum(self.start[:, None] + inside, max(self.data.size - 1, 0))
        return np.where(inside < self.length[:, None], self.data[at], np.uint8(0))


@dataclass
class _Collected:
    """What was read so far, in compact arrays: a trace of an hour has millions of frames."""

    row: array = field(default_factory=lambda: array("q"))
    time: array = field(default_factory=lambda: array("d"))
    key: array = field(default_factory=lambda: array("i"))
    length: array = field(default_factory=lambda: array("B"))
    data: bytearray = field(default_factory=bytearray)
    keys: dict[tuple[int, bool, str], int] = field(default_factory=dict)
    counts: Counter = field(default_factory=Counter)

    def add(self, message, row: int, shift: int) -> None:
        """One frame with data."""
        channel = message.channel
        interface = str(channel + shift) if isinstance(channel, int) else str(channel or "")
        key = (message.arbitration_id, message.is_extended_id, interface)
        self.row.append(row)
        self.time.append(message.timestamp)
        self.key.append(self.keys.setdefault(key, len(self.keys)))
        self.length.append(len(message.data))
        self.data += message.data

    def frames(self) -> Frames:
        """Everything as arrays."""
        length = np.frombuffer(self.length, dtype=np.uint8).astype(np.int64)
        return Frames(
            row=np.frombuffer(self.row, dtype=np.int64), time=np.frombuffer(self.time, dtype=np.float64),
            key=np.frombuffer(self.key, dtype=np.int32), keys=tuple(self.keys), start=np.cumsum(length) - length,
            length=length, data=np.frombuffer(self.data, dtype=np.uint8), counts=dict(self.counts),
        )  # fmt: skip


def read_trace(path: Path, kind: TraceKind, wanted: frozenset[FrameKey], *, file: str) -> Frames:
    """The frames of the wanted identifiers. LogError where the file cannot be read, or python-can is not installed."""
    can = load_extra("can", extra="can", file=file)
    collected = _Collected()
    try:
        for row, message in _messages(path, kind, wanted, can, collected.counts, file=file):
            if message.is_error_frame:
                collected.counts["error frames"] += 1
            elif message.is_remote_frame:
                collected.counts["remote frames"] += 1
            elif (message.arbitration_id, message.is_extended_id) in wanted:
                collected.add(message, row, kind.interface_shift)
    except FileNotFoundError:
        raise LogError(f"{file}: there is no such file. Put it there, or mend the name.") from None
    except OSError as error:
        raise LogError(f"{file}: cannot be read ({error.strerror or error}).") from None
    if collected.counts[_HEADLESS] and not collected.row:
        raise LogError(
            f"{file}: begins without the head of a TRC (;$FILEVERSION and the lines below it), so that its columns are "
            "not known. Put the head of the file it was cut from on top of it."
        )
    return collected.frames()


def _messages(
    path: Path, kind: TraceKind, wanted: frozenset[FrameKey], can, counts: Counter, *, file: str
) -> Iterator[tuple]:
    if not kind.binary:
        with open_lines(path, encoding="utf-8") as stream:
            check_stamps(stream, stamp=kind.stamp, relative=kind.relative, file=file)
        with open_lines(path, encoding="utf-8") as stream:
            yield from _text_messages(_Lines(stream, kind, wanted, counts), getattr(can, kind.reader), counts)
        return
    row = 0
    try:
        with getattr(can, kind.reader)(path) as reader:
            for row, message in enumerate(reader, start=1):
                yield row, message
            # A packed block that is cut unpacks without complaint as far as it goes.
            counts["ends in damage"] += getattr(reader, "file_size", 0) > path.stat().st_size
    except OSError:
        raise
    except Exception as error:
        # Damage in a packed file ends it: what was read before stands.
        if row == 0:
            raise OSError(f"its content is damaged: {error}") from error
        counts["ends in damage"] += 1


class _Lines:
    """Lines of a text trace that may hold a wanted frame, with the row of the last one handed out."""

    def __init__(self, stream: Iterator[str], kind: TraceKind, wanted: frozenset[FrameKey], counts: Counter) -> None:
        self.row = 0
        self.head: list[str] = []
        self._stream, self._kind, self._counts = stream, kind, counts
        self._wanted = wanted
        self._total_s: float | None = None

    def __iter__(self) -> Iterator[str]:
        for given in self._stream:
            self.row += 1
            line = given if self._kind.rewrite is None else self._kind.rewrite(given)
            if self._kind.head is not None and self._kind.head.match(line):
                self.head.append(line)
                if self._kind.relative is not None and self._kind.relative.match(line):
                    self._total_s = 0.0
                yield line
                continue
            line = self._added_up(line)
            if self._may_hold(line):
                yield line

    def _added_up(self, line: str) -> str:
        """The line with the time since the trace began, where its own is that since the line before."""
        found = self._kind.stamp.match(line) if self._total_s is not None and self._kind.stamp is not None else None
        if found is None:
            return line
        self._total_s += float(found[1])
        return f"{self._total_s:.9f}{line[found.end(1) :]}"

    def _may_hold(self, line: str) -> bool:
        kind = self._kind
        found = kind.identifier.match(line) if kind.identifier is not None else None
        if found is not None:
            number, extended = int(found[1], 16), len(found[1]) > _STANDARD_DIGITS
            if number & _ERROR_FLAG:
                self._counts["error frames"] += 1
                return False
            if (number, extended) not in self._wanted:
                return False
        if kind.headless is not None and not self.head and kind.headless.match(line):
            self._counts[_HEADLESS] += 1
            return False
        if not line.strip():
            return False
        if kind.is_whole is None or kind.is_whole(line, self.head):
            return True
        self._counts["rows that are no frame"] += 1
        return False


class _Again:
    """The head of a trace again, then the lines that are left: a reader that stumbled starts anew behind the damage."""

    def __init__(self, head: list[str], lines: Iterator[str]) -> None:
        self._whole = chain(head, lines)

    def __iter__(self) -> Iterator[str]:
        return self

    def __next__(self) -> str:
        return next(self._whole)

    def close(self) -> None:
        """As a file has it; the stream is closed where it was opened."""


def _text_messages(lines: _Lines, reader_class, counts: Counter) -> Iterator[tuple]:
    left = iter(lines)
    head: list[str] = []
    while True:
        try:
            for message in reader_class(_Again(head, left)):
                yield lines.row, message
            return
        except (ValueError, IndexError, TypeError, KeyError, OverflowError):
            counts["rows that are no frame"] += 1
            head = list(lines.head)
