"""A binary log in a drive folder: read, added and checked like any other."""

from pathlib import Path

import numpy as np
import pytest

from shiftlog.cli import main
from shiftlog.ingest.add import plan_drive, write_drive
from shiftlog.ingest.drive_file import read_drive
from tests.ingest.frame_writer import FrameWriter

LEVER = (("select", "count", 0, 1, 0, 0, 0), ("engage", "count", 0, 1, 0, 0, 0), ("accel_z", "mg", 0, 61, -3, 0, 0))
CAR = '[car]\nname = "Test car"\n[gate]\nplanes = [{ forward = "1", rear = "2" }, { forward = "3", rear = "4" }]\n'


def lever_log(*, session: int = 1, start_us: int = 0) -> FrameWriter:
    """Two minutes of a lever that moves, 250 Hz, with a marker after a minute."""
    writer = FrameWriter(channels=LEVER, session=session)
    for number in range(3000):
        at = start_us + number * 40_000
        if number % 100 == 0:
            writer.header(at)
        if number == 1500:
            writer.marker(at + 1, 2)
        t = (at + 4000 * np.arange(10)) * 1e-6
        axes = [2000 + 200 * np.sin(t), 2100 + 150 * np.cos(5 * t), 16384 + 9 * np.sin(40 * t)]
        rows = np.round(np.stack(axes, axis=1))
        writer.even(at, 4000, [tuple(int(v) for v in row) for row in rows])
    return writer


@pytest.fixture(scope="module")
def log() -> FrameWriter:
    return lever_log()


def folder_with(data: bytes, tmp_path: Path) -> Path:
    (tmp_path / "car.toml").write_text(CAR)
    (tmp_path / "log.frames").write_bytes(data)
    recording = '[[recording]]\nname = "lever"\nfile = "log.frames"\nplace = "lever"\n'
    (tmp_path / "drive.toml").write_text(f'format = 1\n[car]\nprofile = "car.toml"\n{recording}')
    return tmp_path


def test_a_drive_reads_it(log: FrameWriter, tmp_path: Path) -> None:
    drive = read_drive(folder_with(log.data, tmp_path))
    assert drive.left_out == ()
    (recording,) = drive.recordings
    times, rows = zip(*log.samples, strict=True)
    assert recording.time_s == pytest.approx(np.array(times) * 1e-6, abs=1e-9)
    assert recording.column("engage") == pytest.approx(np.array(rows)[:, 1])
    # 0.061 mg a count.
    assert recording.column("accel_z") == pytest.approx(np.array(rows)[:, 2] * 0.061e-3 * 9.80665)
    assert [(c.name, c.unit) for c in recording.channels] == [
        ("select", "count"), ("engage", "count"), ("accel_z", "m/s^2"), ("marker", "1")
    ]  # fmt: skip
    marked = np.flatnonzero(recording.column("marker"))
    assert recording.time_s[marked] == pytest.approx([60.004])
    assert recording.quality.mended == {}
    assert recording.quality.rate_hz == pytest.approx(250)


def test_what_was_lost_stands_in_the_quality(log: FrameWriter, tmp_path: Path) -> None:
    frames = [*log.frames[:200], b"\xff\xfe garbage\0", *log.frames[210:400], log.frames[400][:50], *log.frames[401:]]
    (recording,) = read_drive(folder_with(b"".join(frames), tmp_path)).recordings
    mended = dict(recording.quality.mended)
    assert mended.pop("bytes of rubbish", 0) + mended.pop("frames with a wrong checksum", 0) > 0
    # Ten cut out, one cut off, and the one that it ran into.
    assert mended == {"frames lost": 12}
    assert recording.quality.dropped == pytest.approx(119, abs=11)


def test_a_restart_is_refused_and_allowed(log: FrameWriter, tmp_path: Path) -> None:
    # The second session begins later than the first ends: time alone would not tell.
    folder = folder_with(log.data + lever_log(session=2, start_us=500_000_000).data, tmp_path)
    (left_out,) = read_drive(folder).left_out
    assert left_out.why == (
        "log.frames, row 30001: the logger restarted. Split the file there, or use --allow-restart."
    )
    (recording,) = read_drive(folder, allow_restart=True).recordings
    assert recording.quality.mended == {"restarts": 1}
    assert recording.time_s[30_000] - recording.time_s[29_999] == pytest.approx(10.0)


def test_it_is_added_without_a_question(log: FrameWriter, tmp_path: Path) -> None:
    (tmp_path / "car.toml").write_text(CAR)
    (tmp_path / "log.frames").write_bytes(log.data)
    plan = plan_drive([tmp_path / "log.frames"], tmp_path / "car.toml")
    drive = read_drive(write_drive(plan, tmp_path / "drive"))
    assert drive.recordings[0].place == "lever"
    assert drive.recordings[0].has("select", "engage", "accel_z", "marker")


def test_check_shows_it(log: FrameWriter, tmp_path: Path, capsys) -> None:
    folder = folder_with(b"".join(log.frames[:100] + log.frames[101:]), tmp_path)
    assert main(["check", str(folder)]) == 0
    said = capsys.readouterr()
    assert "frames lost" in said.out
    assert said.err == ""


@pytest.mark.parametrize("content", [b"", bytes(3000), b"hello\0world\0", lever_log().data[:60]])
def test_what_is_no_binary_log_is_said_in_one_line(content: bytes, tmp_path: Path) -> None:
    (left_out,) = read_drive(folder_with(content, tmp_path)).left_out
    assert left_out.why.startswith("log.frames: ")
    assert "\n" not in left_out.why


def test_adding_takes_place_and_clock_from_the_header(tmp_path: Path) -> None:
    writer = FrameWriter(channels=LEVER[:2], place="tower", clock="box")
    writer.header()
    for number in range(100):
        writer.even(number * 40_000, 4000, [(2000 + 7 * number + i, 2100 - 9 * number) for i in range(10)])
    (tmp_path / "log.frames").write_bytes(writer.data)
    (planned,) = plan_drive([tmp_path / "log.frames"], None).recordings
    assert (planned.place, planned.clock) == ("tower", "box")
