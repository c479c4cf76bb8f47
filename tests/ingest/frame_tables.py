"""A made recorder of binary logs, its log read back, and what was written held against it."""

import random
from pathlib import Path

import numpy as np

from shiftlog.ingest.formats.frames import FrameTable, read_frames
from tests.ingest.frame_writer import FrameWriter


def recorder(*, records: int = 40, start_us: int = 5_000_000, header_every: int = 10, **kind: object) -> FrameWriter:
    """A recorder at 250 Hz that writes even and stamped records in turn, eight samples each."""
    writer, chance, at = FrameWriter(**kind), random.Random(3), start_us
    for number in range(records):
        if number % header_every == 0:
            writer.header(at)
        rows = [(chance.randint(-2000, 2000), chance.randint(-32768, 32767)) for _ in range(8)]
        if number % 2:
            times = [at + i * 4000 + chance.randint(0, 300) for i in range(8)]
            writer.stamped(times, rows)
        else:
            writer.even(at, 4000, rows)
        at += 32_000
    return writer


def table_of(data: bytes, tmp_path: Path) -> FrameTable:
    path = tmp_path / "bench.frames"
    path.write_bytes(data)
    return read_frames(path, file="bench.frames")


def assert_written(table: FrameTable, *writers: FrameWriter) -> None:
    """Every sample read is one that was written, at its time."""
    written = {(t, *row) for writer in writers for t, row in writer.samples}
    microseconds = np.round(table.time_s * 1e6).astype(int)
    counts = np.round(table.values / [1, 0.061]).astype(int)
    assert {(int(t), int(a), int(b)) for t, (a, b) in zip(microseconds, counts, strict=True)} <= written
