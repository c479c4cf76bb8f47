"""Logs that a Windows shell wrote: UTF-16, with the mark at its beginning and without."""

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from shiftlog.ingest.log_file import LogRequest, read_log
from shiftlog.ingest.text_bytes import find_encoding
from shiftlog.model.recording import Recording
from tests.ingest.bus_writer import DBC, SIGNALS_TOML, drive_frames, write_trace
from tests.ingest.test_gps_logs import gga, rmc

_POINTS = "".join(
    f'<trkpt lat="{48 + k * 1e-4:.5f}" lon="11.5"><time>2026-10-03T14:05:{k:02d}Z</time></trkpt>' for k in range(40)
)


def candump(folder: Path) -> str:
    return write_trace(drive_frames(), folder / "plain.log").read_text()


def screen(folder: Path) -> str:
    lines = [line.split() for line in candump(folder).splitlines()]
    shown = [(t, bus, *frame.split("#")) for t, bus, frame, *_ in lines]
    spaced = [(t, bus, i, [d[k : k + 2] for k in range(0, len(d), 2)]) for t, bus, i, d in shown]
    return "\n".join(f" {t}  {bus}  {i}   [{len(d)}]  {' '.join(d)}" for t, bus, i, d in spaced)


LOGS = {
    "candump": ("x.log", candump),
    "screen": ("x.log", screen),
    "obd": ("x.txt", lambda _: "".join(f"14:05:{k:02d}.5 41 0C {k:02X} 00\r\n" for k in range(10, 60))),
    "nmea": ("x.nmea", lambda _: "\r\n".join(text for k in range(60) for text in (rmc(k, k), gga(k)))),
    "gpx": ("x.gpx", lambda _: f'<?xml version="1.0" encoding="UTF-8"?>\n<gpx><trk>{_POINTS}</trk></gpx>'),
}


@pytest.fixture
def read(tmp_path: Path) -> Callable[..., Recording]:
    def write_and_read(name: str, content: bytes, decode: tuple[str, bytes]) -> Recording:
        (tmp_path / name).write_bytes(content)
        (tmp_path / decode[0]).write_bytes(decode[1])
        return read_log(
            LogRequest(
                path=tmp_path / name, file=name, name="x", place="body", clock="x",
                decode=tmp_path / decode[0] if name.endswith(".log") else None,
            )
        )  # fmt: skip

    return write_and_read


@pytest.mark.parametrize("encoding", ["utf-16", "utf-16-le", "utf-16-be", "utf-8-sig"])
@pytest.mark.parametrize("kind", LOGS)
def test_every_text_log_is_read_in_the_encoding_of_a_windows_shell(read, tmp_path, kind: str, encoding: str) -> None:
    name, text = LOGS[kind][0], LOGS[kind][1](tmp_path)
    toml = ("signals.toml", SIGNALS_TOML.encode())
    plain, shell = read(name, text.encode(), toml), read(name, text.encode(encoding), toml)
    np.testing.assert_array_equal(shell.time_s, plain.time_s)
    np.testing.assert_array_equal(shell.values, plain.values)
    assert shell.quality.mended == plain.quality.mended


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
def test_a_dbc_is_read_in_any_encoding(read, tmp_path, encoding: str) -> None:
    text = DBC + 'CM_ "Gerät für Öl";\n'
    recording = read("x.log", candump(tmp_path).encode(), ("car.dbc", text.encode(encoding)))
    assert np.isfinite(recording.column("engine_speed")).any()


def test_a_hole_of_zeros_is_no_encoding() -> None:
    assert find_encoding(b"time [s],a [count]\n" + bytes(4000)) == "utf-8-sig"
