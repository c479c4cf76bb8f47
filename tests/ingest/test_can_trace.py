"""Bus traces through the product: four ways of writing them, two ways of decoding them, and what damage does."""

import re
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import can
import cantools
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from shiftlog.errors import LogError
from shiftlog.ingest.add import plan_drive
from shiftlog.ingest.add_options import AddOptions
from shiftlog.ingest.columns import ColumnWish
from shiftlog.ingest.formats.bus_signal import BusSignal, decode_signal
from shiftlog.ingest.log_file import LogRequest, read_log
from shiftlog.model.recording import Recording
from shiftlog.units import MPS_PER_KMH
from tests.ingest.bus_writer import DBC, SIGNALS_TOML, drive_frames, truth, write_trace

FRAMES = drive_frames()
TRUE = truth(FRAMES)
ENDINGS = [".log", ".trc", ".asc", ".blf"]


@pytest.fixture
def trace(tmp_path: Path) -> Callable[..., Recording]:
    """Reads a trace with signals written in TOML or DBC."""

    def read(path: Path, content: str = SIGNALS_TOML, ending: str = ".toml", **more: object) -> Recording:
        decode = tmp_path / f"signals{ending}"
        decode.write_text(content)
        request = {"file": path.name, "name": "bus", "place": "engine", "clock": "bus", "decode": decode, **more}
        return read_log(LogRequest(path=path, **request))

    return read


def held(recording: Recording, name: str) -> tuple[np.ndarray, np.ndarray]:
    column = recording.column(name)
    rows = np.isfinite(column)
    return recording.time_s[rows], column[rows]


def check_values(recording: Recording) -> None:
    assert held(recording, "engine_speed")[1] == pytest.approx(TRUE["engine_speed"])
    assert held(recording, "vehicle_speed")[1] == pytest.approx(TRUE["vehicle_speed"] * 0.05625 * MPS_PER_KMH)
    assert held(recording, "accel_x")[1] == pytest.approx(TRUE["accel_x"] * -0.1)


@pytest.mark.parametrize("ending", ENDINGS)
@pytest.mark.parametrize(("content", "kind"), [(SIGNALS_TOML, ".toml"), (DBC, ".dbc")])
def test_every_way_of_writing_and_of_decoding_gives_the_same(tmp_path, trace, ending, content, kind) -> None:
    recording = trace(write_trace(FRAMES, tmp_path / f"trace{ending}"), content, kind)
    check_values(recording)
    times = np.array([f.timestamp for f in FRAMES if f.arbitration_id == 0x140])
    # A TRC counts tenths of a millisecond, the others microseconds.
    assert np.diff(held(recording, "engine_speed")[0]) == pytest.approx(np.diff(times), abs=2e-4)


@pytest.mark.parametrize("ending", ENDINGS)
def test_the_rate_is_that_of_the_fastest_signal(tmp_path, trace, ending: str) -> None:
    quality = trace(write_trace(FRAMES, tmp_path / f"trace{ending}")).quality
    assert quality.rate_hz == pytest.approx(100, rel=1e-3)
    # The jitter of the writer's rounding, far from the 4 ms between frames of one cycle.
    assert quality.jitter_s < 1e-3
    assert quality.gaps == () and quality.dropped == 0


def test_a_hole_is_a_gap_and_its_frames_are_missing(tmp_path, trace) -> None:
    begin = FRAMES[0].timestamp
    kept = [f for f in FRAMES if not 1.0 <= f.timestamp - begin < 1.5]
    quality = trace(write_trace(kept, tmp_path / "trace.log")).quality
    assert len(quality.gaps) == 1 and quality.dropped == pytest.approx(50, abs=1)


def test_what_candump_shows_on_a_screen_is_read_as_what_it_logs(tmp_path, trace) -> None:
    lines = [
        f" ({f.timestamp:.6f})  can0  {f.arbitration_id:03X}   [{f.dlc}]  {' '.join(f'{b:02X}' for b in f.data)}"
        for f in FRAMES
    ]
    path = tmp_path / "screen.log"
    path.write_text("\n".join([*lines[:9], " (1700000000.090000)  can0  140   [0]  remote request", *lines[9:]]))
    recording = trace(path)
    check_values(recording)
    assert recording.quality.mended == {}


def test_candump_with_dates_is_read_in_utc(tmp_path, trace) -> None:
    stamps = [f"({datetime.fromtimestamp(f.timestamp, UTC):%Y-%m-%d %H:%M:%S.%f})" for f in FRAMES]
    lines = [
        f" {stamp}  can0  {f.arbitration_id:03X}   [{f.dlc}]  {' '.join(f'{b:02X}' for b in f.data)}"
        for stamp, f in zip(stamps, FRAMES, strict=True)
    ]
    path = tmp_path / "dates.log"
    path.write_text(
        "\n".join([*lines, " (2026-99-99 10:00:00.000000)  can0  140   [8]  00 00 00 00 00 00 00 00", lines[-1]])
    )
    recording = trace(path)
    check_values(recording)
    assert recording.time_s[0] == pytest.approx(FRAMES[0].timestamp, abs=1e-5)
    assert recording.quality.mended == {"rows that are no frame": 1, "duplicate rows": 1}


def test_error_remote_and_fd_frames(tmp_path, trace) -> None:
    at = FRAMES[-1].timestamp
    odd = [
        can.Message(timestamp=at + 0.001, is_error_frame=True, channel=0),
        can.Message(timestamp=at + 0.002, arbitration_id=0x140, is_remote_frame=True, dlc=8, is_extended_id=False),
        can.Message(timestamp=at + 0.003, arbitration_id=0x140, is_fd=True, data=bytes([0, 0, 0xE8, 0x03] + [0] * 12),
                    is_extended_id=False, channel=0),
    ]  # fmt: skip
    recording = trace(write_trace([*FRAMES, *odd], tmp_path / "trace.log"))
    assert held(recording, "engine_speed")[1][-1] == 1000
    assert held(recording, "engine_speed")[1].size == TRUE["engine_speed"].size + 1
    assert any("1 error frames and 1 remote frames" in line for line in recording.history)


def test_frames_too_short_and_values_out_of_range_are_counted_and_not_used(tmp_path, trace) -> None:
    short = can.Message(timestamp=FRAMES[-1].timestamp + 0.01, arbitration_id=0x140, data=b"\0\0\0", channel=0,
                        is_extended_id=False)  # fmt: skip
    limited = SIGNALS_TOML.replace('unit = "rpm"', 'unit = "rpm"\nhigh = 3900')
    recording = trace(write_trace([*FRAMES, short], tmp_path / "trace.log"), limited)
    beyond = int(np.count_nonzero(TRUE["engine_speed"] > 3900.5))
    assert recording.quality.mended == {"frames too short": 1, "values outside their range": beyond}
    assert held(recording, "engine_speed")[1].max() <= 3900


def test_a_signal_without_a_frame_is_named_and_the_others_are_read(tmp_path, trace) -> None:
    extra = '[[signal]]\nname = "brake_pressure"\nid = 0x7D0\nstart = 0\nlength = 8\nunit = "%"\n'
    wishes = (ColumnWish(channel="brake", column="brake_pressure"),)
    path = write_trace(FRAMES, tmp_path / "trace.log")
    recording = trace(path, SIGNALS_TOML + extra, wishes=wishes)
    check_values(recording)
    assert "trace.log: no frame in it of brake_pressure (0x7D0)." in recording.history
    with pytest.raises(LogError, match=r"no frame of any signal in signals.toml \(brake_pressure \(0x7D0\)\)"):
        trace(path, extra)


def test_other_names_are_mapped_as_columns_are(tmp_path, trace) -> None:
    renamed = SIGNALS_TOML.replace('"engine_speed"', '"EngSpd"').replace('unit = "rpm"', "")
    wishes = (ColumnWish(channel="engine_speed", column="EngSpd", unit="rpm"),)
    check_values(trace(write_trace(FRAMES, tmp_path / "trace.log"), renamed, wishes=wishes))


def test_of_two_interfaces_one_is_read(tmp_path, trace) -> None:
    lines = write_trace(FRAMES, tmp_path / "trace.log").read_text().splitlines()
    interface = lines[0].split()[1]
    both = [text for line in lines for text in (line, line.replace(f" {interface} ", " other "))][:-2]
    path = tmp_path / "both.log"
    path.write_text("\n".join(both))
    recording = trace(path)
    assert recording.quality.rate_hz == pytest.approx(100, rel=1e-3)
    assert any("on several interfaces" in line for line in recording.history)
    named = trace(path, SIGNALS_TOML.replace("start = 16", 'start = 16\ninterface = "other"'))
    assert held(named, "engine_speed")[1].size == pytest.approx(TRUE["engine_speed"].size, abs=1)


def test_rubbish_in_a_text_trace_costs_the_damaged_lines_only(tmp_path, trace) -> None:
    lines = write_trace(FRAMES, tmp_path / "trace.log").read_text().splitlines()
    lines[100], lines[300], lines[-1] = "\x00\x17rubbish", lines[300][:20], lines[-1][: lines[-1].index("#") + 4]
    path = tmp_path / "dirty.log"
    path.write_text("\n".join(lines))
    recording = trace(path)
    assert recording.quality.mended["rows that are no frame"] >= 2
    assert recording.time_s.size >= len(FRAMES) - 3


@pytest.mark.parametrize("ending", [".trc", ".asc"])
def test_a_line_that_the_reader_stumbles_over_does_not_end_the_trace(tmp_path, trace, ending: str) -> None:
    path = write_trace(FRAMES, tmp_path / f"trace{ending}")
    lines = path.read_text().splitlines()
    at = len(lines) // 2
    cells = lines[at].split()
    lines[at] = lines[at].replace(cells[-1], "GG")
    path.write_text("\n".join(lines))
    recording = trace(path)
    assert recording.time_s.size == len(FRAMES) - 1
    assert recording.quality.mended == {"rows that are no frame": 1}


def test_a_cut_blf_gives_what_stands_before_the_cut(tmp_path, trace) -> None:
    path = write_trace(drive_frames(120.0), tmp_path / "trace.blf")
    content = path.read_bytes()
    path.write_bytes(content[: len(content) * 3 // 4])
    recording = trace(path)
    assert recording.quality.mended == {"ends in damage": 1}
    assert 30 < recording.quality.duration_s < 119
    path.write_bytes(content[:100])
    with pytest.raises(LogError, match="^trace.blf: "):
        trace(path)


def test_a_trace_that_nothing_decodes_says_how(tmp_path) -> None:
    path = write_trace(FRAMES, tmp_path / "trace.asc")
    with pytest.raises(LogError, match=r'trace of CAN frames.*decode = "signals.toml".*--decode signals.toml'):
        read_log(LogRequest(path=path, file="trace.asc", name="bus", place="engine", clock="bus"))


@pytest.mark.parametrize(
    ("change", "message"),
    [
        (("id = 0x140", "id = 0x140\nwidth = 3"), r"signal\[1\].width: is not known"),
        (("length = 14", "length = 65"), r"signal\[1\].length: .*less than or equal to 64"),
        (("start = 16", 'start = 16\norder = "middle"'), r"signal\[1\].order: .*'little' or 'big'"),
        (("id = 0x140", "id = 0x940\nextended = false"), r"signal\[1\].id: is larger than 0x7FF"),
        (('name = "accel_x"', 'name = "engine_speed"'), r'signal\[3\].name: "engine_speed" is there twice'),
        (('name = "accel_x"', 'name = "time"'), r"signal\[3\].name: time is that of the frames"),
        (('unit = "rpm"', 'unit = "furlong"'), r'column engine_speed.*unit "furlong" is not known'),
        (('unit = "km/h"', ""), r"column vehicle_speed: names no unit"),
        (("[[signal]]", "[[signal"), r"signals.toml: is no valid TOML"),
    ],
)
def test_a_fault_in_the_toml_is_one_line(tmp_path, trace, change, message) -> None:
    path = write_trace(FRAMES[:50], tmp_path / "trace.log")
    with pytest.raises(LogError, match=message) as caught:
        trace(path, SIGNALS_TOML.replace(*change, 1))
    assert "\n" not in str(caught.value)


def test_a_dbc_that_is_none_is_one_line(tmp_path, trace) -> None:
    path = write_trace(FRAMES[:50], tmp_path / "trace.log")
    with pytest.raises(LogError, match="^signals.dbc: cannot be read as a DBC") as caught:
        trace(path, "this is no DBC", ".dbc")
    assert "\n" not in str(caught.value)


# cantools is the outside check: another program's decoding of the same bits.
@given(
    st.integers(0, 63), st.integers(1, 64), st.booleans(), st.booleans(), st.binary(min_size=8, max_size=8),
)  # fmt: skip
def test_bits_are_those_that_cantools_reads(start: int, length: int, little: bool, signed: bool, data: bytes) -> None:
    signal = BusSignal(name="s", identifier=1, start=start, length=length, little=little, signed=signed)
    if max(signal.bits) > 63 or min(signal.bits) < 0:
        return
    layout = f"{start}|{length}@{int(little)}{'-' if signed else '+'}"
    text = f'VERSION ""\nBU_: E\nBO_ 1 M: 8 E\n SG_ s : {layout} (1,0) [0|0] "" E\n'
    message = cantools.database.load_string(text, "dbc").messages[0]
    found = decode_signal(signal, np.frombuffer(data, np.uint8)[None], np.array([8]))
    assert found.values[0] == float(message.decode(data, scaling=False)["s"])


MULTIPLEXED = """VERSION ""
BU_: E
BO_ 100 M: 8 E
 SG_ page M : 0|8@1+ (1,0) [0|255] "" E
 SG_ engine_speed m1 : 8|16@1+ (0.25,0) [0|0] "rpm" E
 SG_ vehicle_speed m2 : 8|16@1+ (0.01,0) [0|0] "km/h" E
"""


def test_a_multiplexed_signal_is_taken_from_its_own_pages(tmp_path, trace) -> None:
    frames = [
        can.Message(timestamp=k * 0.01, arbitration_id=100, data=bytes([1 + k % 2, k, 16, 0, 0, 0, 0, 0]), channel=0,
                    is_extended_id=False)
        for k in range(200)
    ]  # fmt: skip
    recording = trace(write_trace(frames, tmp_path / "m.log"), MULTIPLEXED, ".dbc")
    k = np.arange(200)
    assert held(recording, "engine_speed")[1] == pytest.approx((k[::2] + 4096) * 0.25)
    assert held(recording, "vehicle_speed")[1] == pytest.approx((k[1::2] + 4096) * 0.01 * MPS_PER_KMH)


@pytest.mark.parametrize("ending", ENDINGS)
def test_an_extended_identifier_and_the_other_order_of_bytes(tmp_path, trace, ending: str) -> None:
    raw = 3000 + np.arange(100)
    frames = [
        can.Message(timestamp=k * 0.01, arbitration_id=0x18FEF100, data=bytes([0, v >> 8, v & 255, 0, 0, 0, 0, 0]),
                    is_extended_id=True, channel=0)
        for k, v in enumerate(raw.tolist())
    ]  # fmt: skip
    # The highest bit of byte 1 is bit 15.
    signals = (
        '[[signal]]\nname = "engine_speed"\nid = 0x18FEF100\nstart = 15\nlength = 16\norder = "big"\nunit = "rpm"\n'
    )
    recording = trace(write_trace(frames, tmp_path / f"trace{ending}"), signals)
    assert recording.column("engine_speed") == pytest.approx(raw)


def test_a_trace_that_was_decoded_and_left_out_counts_as_a_trace(tmp_path) -> None:
    (tmp_path / "signals.toml").write_text(re.sub('name = "(.*)"', r'name = "my_\1"', SIGNALS_TOML))
    lever = tmp_path / "lever.csv"
    rows = "\n".join(f"{k / 100:.2f},{500 + k % 40},{300 + k % 30}" for k in range(400))
    lever.write_text(f"time [s],select [count],engage [count]\n{rows}\n")
    logs = [lever, write_trace(drive_frames(), tmp_path / "trace.log")]
    plan = plan_drive(logs, None, options=AddOptions(decode=(str(tmp_path / "signals.toml"),)))
    assert "among its columns" in plan.left_out[0].why
    assert not [line for line in plan.lines if "nothing to decode" in line]
