"""Traces of a bus, GPS sentences and packed files (shared data: can-traces, phone-roads, track-day), damaged.

The trace is read as it came. No sentences and no packed file are among the open logs, so that the phone's fixes are
written as sentences, and the track day as MDF 4, before they are damaged.
"""

import gc
import importlib
import importlib.util
import random
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from shiftlog.errors import LogError
from shiftlog.ingest.log_file import LogRequest, read_log
from shiftlog.model.recording import Recording
from tests.bus_signals import signals_toml
from tests.open_data.real_logs import LOGS

pytestmark = pytest.mark.open_data

needs_can = pytest.mark.skipif(importlib.util.find_spec("can") is None, reason='needs pip install "shiftlog[can]"')
needs_mdf = pytest.mark.skipif(importlib.util.find_spec("asammdf") is None, reason='needs pip install "shiftlog[mdf]"')

Read = Callable[..., Recording]


@pytest.fixture
def read(tmp_path: Path) -> Read:
    """Reads bytes as a log of that name; a trace with the signals above."""

    def run(content: bytes, name: str, *, allow_restart: bool = False) -> Recording:
        path = tmp_path / name
        path.write_bytes(content)
        decode = None
        if name.endswith(".log"):
            decode = tmp_path / "signals.toml"
            decode.write_text(signals_toml("engine_speed", "vehicle_speed"))
        asked = {"path": path, "file": name, "decode": decode, "allow_restart": allow_restart}
        return read_log(LogRequest(name="log", place="engine", clock="bus", **asked))

    return run


def assert_part_of(damaged: Recording, clean: Recording) -> None:
    """Every sample that was read is one of the undamaged log's, at its time."""
    at = np.searchsorted(clean.time_s, damaged.time_s - 1e-7)
    np.testing.assert_allclose(damaged.time_s, clean.time_s[at], rtol=0, atol=1e-7)
    there = np.isfinite(damaged.values)
    np.testing.assert_allclose(damaged.values[there], clean.values[at][there], rtol=1e-12)


@pytest.fixture(scope="module")
def trace(open_data: Path) -> list[str]:
    return (open_data / "can-traces" / "vabsubaru_allgears.log").read_text().splitlines()


def own(lines: list[str]) -> list[int]:
    """Which lines hold a frame of the signals above."""
    return [at for at, line in enumerate(lines) if " 140#" in line or " 0D1#" in line]


def joined(lines: list[str]) -> bytes:
    return ("\n".join(lines) + "\n").encode()


@needs_can
def test_a_trace_with_lines_cut_short(read: Read, trace: list[str]) -> None:
    clean, lines, hit = read(joined(trace), "drive.log"), list(trace), own(trace)[50:800:50]
    for at in hit:
        lines[at] = lines[at][: lines[at].index("#") - 2]
    recording = read(joined(lines)[:-20], "drive.log")
    # The last line of all is cut as well.
    assert recording.quality.mended["rows that are no frame"] == len(hit) + 1
    assert_part_of(recording, clean)
    assert np.count_nonzero(np.isfinite(clean.values)) - np.count_nonzero(np.isfinite(recording.values)) <= len(hit) + 1


@needs_can
def test_a_trace_with_rubbish_among_its_lines(read: Read, trace: list[str]) -> None:
    clean = read(joined(trace), "drive.log")
    rubbish = b"\x00\xff\x13\x88\n" + bytes(range(128, 256)) + b"\ninterface down\n"
    recording = read(joined(trace[:900]) + rubbish + joined(trace[900:]), "drive.log")
    assert recording.quality.mended == {"rows that are no frame": 3}
    np.testing.assert_allclose(recording.values, clean.values)


@needs_can
def test_a_trace_with_lines_moved_and_twice(read: Read, trace: list[str]) -> None:
    clean, chance, lines = read(joined(trace), "drive.log"), random.Random(4), list(trace)
    for at in chance.sample(own(trace)[:-60], 20):
        lines[at], lines[at + 1] = lines[at + 1], lines[at]
    recording = read(joined([*lines[:3000], *lines[2900:]]), "drive.log")
    assert_part_of(recording, clean)
    assert np.count_nonzero(np.isfinite(recording.values)) == np.count_nonzero(np.isfinite(clean.values))
    assert recording.quality.mended["duplicate rows"] > 0


@needs_can
def test_a_trace_with_frames_lost(read: Read, trace: list[str]) -> None:
    clean, hit = read(joined(trace), "drive.log"), set(own(trace)[300:420])
    recording = read(joined([line for at, line in enumerate(trace) if at not in hit]), "drive.log")
    assert_part_of(recording, clean)
    assert len(recording.quality.gaps) == 1
    begin, end = recording.quality.gaps[0]
    # 120 frames of 100 and 50 a second.
    assert end - begin == pytest.approx(0.8, abs=0.05)


@needs_can
def test_a_trace_that_begins_anew(read: Read, trace: list[str]) -> None:
    again = [f"({line[1:18]}{other[18:]}" for line, other in zip(trace, trace[4000:], strict=False)]
    damaged = joined([*trace[:4000], *again[:3000]])
    with pytest.raises(LogError, match=r"^drive.log, row \d+: time jumps back by .*the logger restarted") as caught:
        read(damaged, "drive.log")
    assert 4000 < int(str(caught.value).split("row ")[1].split(":")[0]) < 4030
    assert read(damaged, "drive.log", allow_restart=True).quality.mended["restarts"] == 1


def sentences(open_data: Path) -> list[str]:
    """The phone's fixes as RMC sentences, at the times that it gives them, from a minute before midnight on."""
    rows = (open_data / "phone-roads" / "rsq_q1_00_Location.csv").read_text().splitlines()[1:]
    lines = []
    for number, row in enumerate(rows):
        latitude, longitude, _, speed = (float(cell) for cell in row.split(",")[1:5])
        moment = 86_340 + number
        day, second = 14 + moment // 86_400, moment % 86_400
        clock = f"{second // 3600:02d}{second // 60 % 60:02d}{second % 60:02d}.00"
        place = f"{int(latitude):02d}{latitude % 1 * 60:08.5f},N,{int(longitude):03d}{longitude % 1 * 60:08.5f},E"
        body = f"GPRMC,{clock},A,{place},{max(speed, 0) / 0.514444:.2f},0.0,{day}0326,,,A"
        total = 0
        for byte in body.encode():
            total ^= byte
        lines.append(f"${body}*{total:02X}")
    return lines


def test_sentences_across_midnight(read: Read, open_data: Path) -> None:
    lines = sentences(open_data)
    recording = read(joined(lines), "track.nmea")
    assert recording.quality.mended == {}
    np.testing.assert_allclose(np.diff(recording.time_s), 1.0, atol=1e-6)
    assert recording.time_s.size == len(lines)


def test_sentences_with_damage_are_left_out_by_their_checksum(read: Read, open_data: Path) -> None:
    lines, chance = sentences(open_data), random.Random(5)
    clean = read(joined(lines), "track.nmea")
    hit = chance.sample(range(5, len(lines)), 40)
    for at in hit:
        place = chance.randrange(7, len(lines[at]) - 3)
        lines[at] = lines[at][:place] + chr(ord(lines[at][place]) ^ 1) + lines[at][place + 1 :]
    recording = read(joined(lines)[:-30], "track.nmea")
    assert_part_of(recording, clean)
    assert recording.time_s.size >= clean.time_s.size - 41
    # A hit on the $ or the * leaves no sentence at all.
    lost = ("sentences with a wrong checksum", "rows that are no sentence")
    assert sum(recording.quality.mended.get(kind, 0) for kind in lost) == 41


def test_sentences_with_rubbish_and_copies(read: Read, open_data: Path) -> None:
    lines = sentences(open_data)
    clean = read(joined(lines), "track.nmea")
    damaged = joined(lines[:200]) + b"\x00\xff\x80\x13\n" + joined(lines[180:])
    recording = read(damaged, "track.nmea")
    np.testing.assert_allclose(recording.time_s, clean.time_s)
    np.testing.assert_allclose(recording.values, clean.values)
    assert recording.quality.mended == {"rows that are no sentence": 1, "duplicate rows": 20}


def track_rows(open_data: Path) -> np.ndarray:
    """(n, 3) time [s], GPS speed [m/s], engine speed [rpm]."""
    cells = [line.split(",") for line in LOGS["track"].lines(open_data)[1:]]
    return np.array([[row[0], row[2], row[3]] for row in cells], dtype=float)


@pytest.fixture(scope="module")
def packed(open_data: Path, tmp_path_factory) -> bytes:
    """The track day's speeds as MDF 4."""
    asammdf = importlib.import_module("asammdf")
    rows = track_rows(open_data)
    signals = [
        asammdf.Signal(samples=rows[:, column], timestamps=rows[:, 0], name=name, unit=unit)
        for name, unit, column in (("engine_speed", "rpm", 2), ("vehicle_speed", "m/s", 1))
    ]
    path = tmp_path_factory.mktemp("mdf") / "track.mf4"
    with asammdf.MDF(version="4.10") as mdf:
        mdf.append(signals)
        mdf.save(path, overwrite=True)
    return path.read_bytes()


@needs_mdf
def test_a_packed_file_gives_the_samples(read: Read, packed: bytes, open_data: Path) -> None:
    recording = read(packed, "track.mf4")
    rows = track_rows(open_data)
    np.testing.assert_allclose(recording.column("engine_speed"), rows[:, 2])
    np.testing.assert_allclose(recording.time_s, rows[:, 0])


@needs_mdf
@pytest.mark.parametrize("share", [0.02, 0.1, 0.3, 0.6, 0.9, 0.99])
def test_a_packed_file_cut_short_is_said_or_gives_what_it_holds(read: Read, packed: bytes, share: float) -> None:
    clean = read(packed, "track.mf4")
    try:
        recording = read(packed[: int(len(packed) * share)], "track.mf4")
    except LogError as error:
        assert str(error).startswith("track.mf4: ")
        assert "\n" not in str(error)
    else:
        assert_part_of(recording, clean)


@needs_mdf
@pytest.mark.parametrize("seed", range(8))
def test_a_packed_file_with_flipped_bytes_breaks_nothing(read: Read, packed: bytes, seed: int) -> None:
    chance, damaged = random.Random(seed), bytearray(packed)
    for _ in range(20):
        damaged[chance.randrange(len(damaged))] ^= 1 << chance.randrange(8)
    try:
        read(bytes(damaged), "track.mf4")
    except LogError as error:
        assert "\n" not in str(error)


@needs_mdf
def test_a_damaged_packed_file_says_one_line_and_prints_none(read: Read, packed: bytes, capfd) -> None:
    # The block that the head points to is gone.
    with pytest.raises(LogError, match=r"^track.mf4: cannot be read as MDF 4"):
        read(packed[:200] + bytes(len(packed) - 200), "track.mf4")
    gc.collect()
    assert capfd.readouterr() == ("", "")
