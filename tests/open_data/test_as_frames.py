"""Real logs (shared data; SOURCE.txt of each folder says where from), written as binary frames, whole and damaged."""

from pathlib import Path

import numpy as np
import pytest

from shiftlog.ingest.add import plan_drive, write_drive
from shiftlog.ingest.drive_file import read_drive
from shiftlog.model.recording import Recording
from shiftlog.units import STANDARD_GRAVITY_MPS2
from tests.ingest.frame_writer import FrameWriter
from tests.open_data.bench import Bench, stamps

pytestmark = pytest.mark.open_data


@pytest.mark.parametrize("name", ["phone"])
def test_as_binary_frames_it_is_the_same_to_a_count_and_damage_costs_what_it_hits(bench: Bench) -> None:
    writer, scale = as_frames(bench)
    path = bench.folder / "log.frames"
    path.write_bytes(writer.data)
    whole = read_frames_drive(path, bench.folder / "whole")
    np.testing.assert_allclose(whole.time_s, stamps(bench) * 1e-6, atol=1e-9)
    np.testing.assert_allclose(whole.values, bench.clean.values, atol=0.51 * scale)
    assert whole.quality.mended == {}

    frames = list(writer.frames)
    hit = bytearray(frames[30])
    hit[15] ^= 0x55
    frames[30] = bytes(hit)
    frames[60:63] = []
    data = b"".join(frames[:100]) + bytes(range(1, 256)) * 3 + b"\0" + b"".join(frames[100:])[:-7]
    path.write_bytes(data)
    damaged = read_frames_drive(path, bench.folder / "damaged")
    kept = np.isin(np.round(whole.time_s * 1e6), np.round(damaged.time_s * 1e6))
    assert np.count_nonzero(kept) == damaged.time_s.size
    np.testing.assert_allclose(damaged.values, whole.values[kept], rtol=1e-12)
    # One hit, three cut out; the last one was cut short, which no number behind it tells.
    assert damaged.quality.mended["frames lost"] == 4
    assert damaged.quality.mended["frames with a wrong checksum"] >= 1
    assert np.count_nonzero(~kept) <= 5 * 10


def as_frames(bench: Bench) -> tuple[FrameWriter, float]:
    """The accelerations of a log as a recorder of ±4 g with 16 bits would have written them, ten samples a frame."""
    # 0.122 mg a count, as at ±4 g.
    scale = 0.122e-3 * STANDARD_GRAVITY_MPS2
    counts = np.round(bench.clean.values / scale).astype(int)
    channels = tuple((channel.name, "mg", 0, 122, -3, 0, 0) for channel in bench.clean.channels)
    writer = FrameWriter(channels=channels, place="body")
    us = stamps(bench)
    for first in range(0, us.size, 10):
        if first % 500 == 0:
            writer.header(int(us[first]))
        block = slice(first, first + 10)
        writer.stamped([int(t) for t in us[block]], [tuple(int(v) for v in row) for row in counts[block]])
    return writer, scale


def read_frames_drive(path: Path, folder: Path) -> Recording:
    drive = read_drive(write_drive(plan_drive([path], None), folder))
    return drive.recordings[0]
