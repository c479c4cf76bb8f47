"""Damaged lines of text traces: each is counted, whatever the reader makes of it, and none gives a value."""

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from shiftlog.errors import LogError
from shiftlog.ingest.formats.trace_lines import is_whole_asc, is_whole_trc
from shiftlog.ingest.log_file import LogRequest, read_log
from shiftlog.model.recording import Recording
from tests.ingest.bus_writer import SIGNALS_TOML, drive_frames, truth, write_trace

FRAMES = drive_frames()
WRITTEN = set(truth(FRAMES)["engine_speed"])


@pytest.fixture
def read(tmp_path: Path) -> Callable[[list[str], str], Recording]:
    def write_and_read(lines: list[str], ending: str) -> Recording:
        path, decode = tmp_path / f"made{ending}", tmp_path / "signals.toml"
        path.write_text("\n".join(lines))
        decode.write_text(SIGNALS_TOML)
        request = LogRequest(path=path, file=path.name, name="bus", place="engine", clock="bus", decode=decode)
        return read_log(request)

    return write_and_read


@pytest.fixture
def lines(tmp_path: Path) -> Callable[[str], list[str]]:
    return lambda ending: write_trace(FRAMES, tmp_path / f"trace{ending}").read_text().splitlines()


DAMAGE = {
    "cut": lambda line: line[:40],
    "cut early": lambda line: line[:12],
    "within a byte": lambda line: line.rstrip()[:-1],
    "without its direction": lambda line: line.replace(" Rx ", " R"),
    "spoilt": lambda line: line[:20] + "\x00\x01\x02",
}
_ALL = [(ending, how) for ending in (".asc", ".trc", ".log") for how in ("cut", "cut early", "spoilt", "within a byte")]


@pytest.mark.parametrize(("ending", "how"), [*_ALL, (".asc", "without its direction")])
def test_every_damaged_line_is_counted(read, lines, ending: str, how: str) -> None:
    made = [line.removesuffix(" R") for line in lines(ending)]
    at = range(27, len(made) - 5, 10)
    for i in at:
        made[i] = DAMAGE[how](made[i])
    recording = read(made, ending)
    assert recording.quality.mended == {"rows that are no frame": len(at)}
    column = recording.column("engine_speed")
    assert set(column[np.isfinite(column)]) <= WRITTEN


@pytest.mark.parametrize("ending", [".asc", ".trc"])
def test_a_trace_that_is_whole_has_no_damage(read, lines, ending: str) -> None:
    assert read(lines(ending), ending).quality.mended == {}


@pytest.mark.parametrize(
    "line",
    [
        "   3.500000 1  ErrorFrame",
        "   3.6 1  Statistic: D 100 R 0 XD 0 XR 0 E 0 O 0 B 10.0%",
        "   3.7 CAN 1 Status:chip status error active",
        "   3.8 1  140             TxRq   d 8 00 00 00 00 00 00 00 00",
        "   3.9 1  140x            Rx   r 8",
        "   0.000000 Start of measurement",
        "Begin Triggerblock Mon Sep 21 14:13:20.000 2026",
        "   1.0 1  140             Rx   d 2 00 FF  Length = 244000 BitCount = 126 ID = 320",
    ],
)
def test_lines_of_an_asc_that_are_no_frame_are_no_damage(line: str) -> None:
    assert is_whole_asc(line, ["base hex  timestamps absolute"])
    assert is_whole_asc("   1.0 1  320   Rx   d 3 0 16 255", ["base dec  timestamps absolute"])


@pytest.mark.parametrize(
    "line",
    [
        "     1)      1059.9  Rx         0300  7  00 00 00 00 04 00 00",
        "     2)      1283.2 1  Rx     0300 -  0",
        "     3)      1298.9  Rx         0400  2  RTR",
        "     4)      1323.0  Rx     FFFFFFFF  4  00 00 00 08  BUSHEAVY",
        "     5)      1334.4  Warng  FFFFFFFF  4  00 00 00 04  BUSLIGHT",
        "     6      1222.7 ST                Rx    00 00 00 00",
        "     7      1231.5 DT     0300 Rx 7  00 00 00 00 04 00 00",
        "     8      1231.5 FD 1   0300 Rx -  9    00 00 00 00 04 00 00 00 00 00 00 00",
        "     9      1234.6 RR 1   0100 Rx -  3",
    ],
)
def test_lines_of_a_trc_of_every_version_are_whole(line: str) -> None:
    assert is_whole_trc(line, [])


@pytest.mark.parametrize(
    "line",
    [
        "{n:6d}) {ms:12.1f}  Rx     0140  8  00 00 E8 03 00 00 00 00 ",
        "{n:6d}) {ms:12.1f} 1  Rx     0140 -  8    00 00 E8 03 00 00 00 00 ",
        "{n:7d} {ms:13.3f} DT     0140 Rx 8  00 00 E8 03 00 00 00 00 ",
        "{n:7d} {ms:13.3f} DT 1      0140 Rx -  8    00 00 E8 03 00 00 00 00 ",
    ],
    ids=["1.1", "1.3", "2.0", "2.1"],
)
def test_the_second_half_of_a_trc_says_that_it_lacks_its_head(read, line: str) -> None:
    with pytest.raises(LogError, match="^made.trc: begins without the head of a TRC .*Put the head of the file it was"):
        read([line.format(n=n, ms=n * 10.0) for n in range(3000, 3400)], ".trc")
