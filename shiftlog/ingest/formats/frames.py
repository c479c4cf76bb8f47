"""A binary log of ``firmware_notes/frames.md`` to columns of values on one time axis."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from shiftlog.errors import LogError
from shiftlog.ingest.formats.frame_header import FrameHeader
from shiftlog.ingest.formats.frame_parts import FramePart, find_parts
from shiftlog.ingest.formats.frame_records import EVEN, MARKER, STAMPED, FrameFile, FrameRecord, parse_frames
from shiftlog.ingest.sheet import TIME_HEADER, Sheet, Table
from shiftlog.model.recording import PLACES

FRAMES_SUFFIX = ".frames"
"""The ending of a binary log; what is in the file decides."""

_LINE_FEEDS = 4
"""In binary data one line feed in 256 has a carriage return before it."""


@dataclass(frozen=True, eq=False, kw_only=True)
class FrameTable:
    """What a binary log holds.

    time_s : (n,) of each sample, as the recorder's counter says [s]; values : (n, c) in the units of the header's
    channels, NaN where the recorder had no value
    marks : (n,) code of a marker at the first sample behind it, else 0; None where the file has no marker
    starts : indices of the samples with which a later start of the recorder begins
    mended : what was lost or left out, and how often
    """

    header: FrameHeader
    time_s: np.ndarray
    values: np.ndarray
    marks: np.ndarray | None
    starts: tuple[int, ...]
    mended: dict[str, int]


def open_frames(path: Path, *, file: str) -> Sheet:
    """A binary log. LogError where nothing in it can be used."""
    table = read_frames(path, file=file)
    channels = table.header.channels
    names = [f"{channel.name} [{channel.unit}]" if channel.unit else channel.name for channel in channels]
    values = table.values
    if table.marks is not None and "marker" not in (channel.name for channel in channels):
        names, values = [*names, "marker"], np.column_stack([values, table.marks])

    def read(time: int, columns: Sequence[int]) -> Table:
        return Table(
            time=table.time_s if time == 0 else values[:, time - 1],
            time_is_text=False,
            values=values[:, [column - 1 for column in columns]],
            rows=np.arange(1, table.time_s.size + 1),
            mended=dict(table.mended),
            remarks=(),
            starts=table.starts,
        )

    place = table.header.place if table.header.place in PLACES else None
    return Sheet(header=(TIME_HEADER, *names), read=read, place=place, clock=table.header.clock or None)


def read_frames(path: Path, *, file: str) -> FrameTable:
    """Reads a binary log. LogError where nothing in it can be used."""
    data = _bytes(path, file)
    found = parse_frames(data, file=file)
    if found.damaged and _was_copied_as_text(data):
        raise LogError(
            f"{file}: was copied as text: a byte stands before each line feed that was not there, and {found.damaged} "
            "frames are damaged by it. Copy it from the recorder again, in binary."
        )
    parts = find_parts(found, file=file)
    times, values, marks = zip(*(_samples(part) for part in parts), strict=True)
    marked = any(record.kind == MARKER for part in parts for record in part.records)
    return FrameTable(
        header=parts[0].header,
        time_s=np.concatenate(times),
        values=np.concatenate(values),
        marks=np.concatenate(marks) if marked else None,
        starts=tuple(int(at) for at in np.cumsum([time.size for time in times[:-1]])),
        mended=_mended(found, parts),
    )


def _was_copied_as_text(data: bytes) -> bool:
    """Whether a carriage return stands before every line feed: of so many, chance gives none."""
    return data.count(b"\n") >= _LINE_FEEDS and data.count(b"\n") == data.count(b"\r\n")


def _bytes(path: Path, file: str) -> bytes:
    try:
        return path.read_bytes()
    except FileNotFoundError:
        raise LogError(f"{file}: there is no such file. Put it there, or mend the name.") from None
    except OSError as error:
        raise LogError(f"{file}: cannot be read ({error.strerror}).") from None


def _mended(found: FrameFile, parts: tuple[FramePart, ...]) -> dict[str, int]:
    counts = {
        "frames lost": sum(part.lost for part in parts),
        "frames with a wrong checksum": found.damaged,
        "bytes of rubbish": found.rubbish,
        "frames that fit no header": found.unfit,
        "repeated frames": sum(part.repeated for part in parts),
    }
    return {kind: count for kind, count in counts.items() if count}


def _samples(part: FramePart) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Times [s], values and marks of one part, in the order of its records."""
    channels = part.header.channels
    numbered = list(enumerate(zip(part.records, part.counters_us, strict=True)))
    even = [(i, r, c) for i, (r, c) in numbered if r.kind == EVEN]
    stamped = [(i, r, c) for i, (r, c) in numbered if r.kind == STAMPED]
    pieces = [_even(even, len(channels)), _stamped(stamped, len(channels))]
    record = np.concatenate([piece[0] for piece in pieces])
    order = np.argsort(record, kind="stable")
    time_s = np.concatenate([piece[1] for piece in pieces])[order] * 1e-9
    counts = np.concatenate([piece[2] for piece in pieces])[order]
    return time_s, _scaled(counts, part.header), _marks(part, time_s)


_Numbered = list[tuple[int, FrameRecord, int]]


def _even(records: _Numbered, width: int) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Record number, time [ns] and counts of each sample of records that hold their step."""
    steps = np.array([int.from_bytes(r.body[:4], "little") for _, r, _ in records], dtype=np.int64)
    lengths = np.array([(len(r.body) - 4) // (2 * width) for _, r, _ in records], dtype=np.int64)
    counts = np.frombuffer(b"".join(r.body[4:] for _, r, _ in records), dtype="<i2").reshape(-1, width)
    inside = np.arange(len(counts)) - np.repeat(np.cumsum(lengths) - lengths, lengths)
    first = np.array([c for _, _, c in records], dtype=np.int64) * 1000
    time_ns = np.repeat(first, lengths) + inside * np.repeat(steps, lengths)
    return _record_numbers(records, lengths), time_ns, counts


def _stamped(records: _Numbered, width: int) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """The same of records in which each sample holds its distance from the one before."""
    rows = np.frombuffer(b"".join(r.body for _, r, _ in records), dtype="<i2").reshape(-1, width + 1)
    lengths = np.array([len(r.body) // (2 * width + 2) for _, r, _ in records], dtype=np.int64)
    since = np.cumsum(np.ascontiguousarray(rows[:, 0]).view("<u2").astype(np.int64))
    first = np.array([c for _, _, c in records], dtype=np.int64)
    # The first distance of a record is from its own counter.
    before = np.concatenate(([0], since))[np.cumsum(lengths) - lengths] if records else first
    time_ns = (since - np.repeat(before - first, lengths)) * 1000
    return _record_numbers(records, lengths), time_ns, rows[:, 1:]


def _record_numbers(records: _Numbered, lengths: np.ndarray) -> np.ndarray:
    return np.repeat(np.array([i for i, _, _ in records], dtype=np.int64), lengths)


def _scaled(counts: np.ndarray, header: FrameHeader) -> np.ndarray:
    values = np.empty(counts.shape)
    for at, channel in enumerate(header.channels):
        column = np.ascontiguousarray(counts[:, at])
        numbers = column.view("<u2") if channel.unsigned else column
        values[:, at] = numbers * channel.scale + channel.offset
        if channel.missing is not None:
            values[numbers == channel.missing, at] = np.nan
    return values


def _marks(part: FramePart, time_s: np.ndarray) -> np.ndarray:
    """The code of each marker at the first sample at or behind it; of the last one where none follows."""
    marks = np.zeros(time_s.size)
    order = np.argsort(time_s, kind="stable")
    for record, counter in zip(part.records, part.counters_us, strict=True):
        if record.kind == MARKER:
            at = np.searchsorted(time_s[order], counter * 1e-6 - 1e-9)
            marks[order[min(at, time_s.size - 1)]] = record.body[0]
    return marks
