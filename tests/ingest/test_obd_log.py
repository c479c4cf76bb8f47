"""Logs of OBD-II requests and answers, as adapters and programs write them."""

from collections.abc import Callable
from pathlib import Path

import can
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from shiftlog.errors import LogError
from shiftlog.ingest.formats.iso_tp import Assembler
from shiftlog.ingest.formats.obd_lines import LineReader
from shiftlog.ingest.log_file import LogRequest, read_log
from shiftlog.model.recording import Recording
from shiftlog.units import MPS_PER_KMH


@pytest.fixture
def read(tmp_path: Path) -> Callable[[str], Recording]:
    def write_and_read(content: str, name: str = "obd.log") -> Recording:
        path = tmp_path / name
        path.write_bytes(content.encode())
        return read_log(LogRequest(path=path, file=name, name="obd", place="engine", clock="obd"))

    return write_and_read


def values(recording: Recording, name: str) -> list[float]:
    column = recording.column(name)
    return column[np.isfinite(column)].tolist()


def poll(answer: Callable[[str, str], str], count: int = 20) -> str:
    """Engine and vehicle speed asked for in turn, a stamp before each line."""
    lines = []
    for k in range(count):
        stamp = f"{1700000000 + 0.5 * k:.3f}"
        lines += [f"{stamp} >010C", answer(stamp, f"41 0C {26 + k // 8:02X} F8")]
        lines += [f"{stamp} >010D", answer(f"{1700000000.25 + 0.5 * k:.3f}", f"41 0D {50 + k:02X}")]
    return "\r\n".join(lines)


FORMS = {
    "bare": lambda stamp, data: f"{stamp} {data}",
    "without blanks": lambda stamp, data: f"{stamp},{data.replace(' ', '')}",
    "with a header": lambda stamp, data: f"{stamp} 7E8 {len(data.split()):02X} {data}",
    "header without blanks": lambda stamp, data: f"{stamp} 7E8{len(data.split()):02X}{data.replace(' ', '')}",
    "padded": lambda stamp, data: f"{stamp} 7E8 {len(data.split()):02X} {data} AA AA AA"[:48],
    "extended": lambda stamp, data: f"{stamp} 18 DA F1 10 {len(data.split()):02X} {data}",
    "older bus": lambda stamp, data: f"{stamp} 48 6B 10 {data} 24",
    "older bus with lengths": lambda stamp, data: f"{stamp} {0x80 + len(data.split()):02X} F1 10 {data} 24",
    "in brackets": lambda stamp, data: f"[{stamp}] RX: {data}",
    "prompt behind": lambda stamp, data: f"{stamp} {data} >",
    "request and answer in columns": lambda stamp, data: f"{stamp},{'01' + data[3:5]},{data}",
    "unit in a column": lambda stamp, data: f"{stamp};7E8;{len(data.split()):02X} {data}",
    "unit without a length": lambda stamp, data: f"{stamp},0x7E8,{data.replace(' ', '')}",
    "milliseconds before a blank": lambda stamp, data: f"{stamp.replace('.', '')} {data}",
    "on the next line": lambda stamp, data: f"{stamp}\r\n{data}",
}


@pytest.mark.parametrize("form", FORMS)
def test_answers_in_every_form_give_the_same(read, form: str) -> None:
    recording = read(poll(FORMS[form]))
    assert values(recording, "engine_speed") == [(256 * (26 + k // 8) + 0xF8) / 4 for k in range(20)]
    assert values(recording, "vehicle_speed") == pytest.approx([(50 + k) * MPS_PER_KMH for k in range(20)])
    # Each signal comes twice a second; that is the rate, though a row comes every quarter.
    assert recording.quality.rate_hz == pytest.approx(2.0, rel=1e-3)
    assert recording.quality.mended == {}


def test_a_counter_of_milliseconds_is_understood(read) -> None:
    recording = read("\n".join(f"{1200 + 250 * k} 7E8 04 41 0C 1A {k:02X}" for k in range(100)))
    assert np.diff(recording.time_s) == pytest.approx(np.full(99, 0.25))


@pytest.mark.parametrize(
    "form", ["1:05:{:02d}.250 PM", "05:{:02d}.250", "03.10.2026 13:05:{:02d}.250", "3-Oct-2026 13:05:{:02d}.250"]
)
def test_stamps_in_the_forms_of_a_table(read, form: str) -> None:
    recording = read("\n".join(f"{form.format(k)} 41 0C 1A {k:02X}" for k in range(60)))
    assert np.diff(recording.time_s) == pytest.approx(np.ones(59))
    assert values(recording, "engine_speed") == [(0x1A00 + k) / 4 for k in range(60)]


def test_several_figures_in_one_answer_over_two_frames(read) -> None:
    lines = [
        line
        for k in range(9)
        for line in (f"12:00:{k:02d}.100 7E8 10 0A 41 0C 1A F8 0D 32", f"12:00:{k:02d}.110 7E8 21 11 80 5C 50 AA AA AA")
    ]
    recording = read("\n".join(lines))
    assert values(recording, "engine_speed") == [1726.0] * 9
    assert values(recording, "throttle") == pytest.approx([128 / 255] * 9)
    assert values(recording, "oil_temp") == [40.0] * 9
    assert recording.time_s[0] == pytest.approx(12 * 3600 + 0.11)


def test_numbered_lines_without_headers(read) -> None:
    lines = [line for k in range(9) for line in (f"{k}.500 >010C0D11", "00A", "0: 41 0C 1A F8 0D 32", "1: 11 80 5C 50")]
    assert values(read("\n".join(lines)), "engine_speed") == [1726.0] * 9


def test_what_adapters_say_instead_of_data_is_counted(read) -> None:
    odd = ["1700000001.1 NO DATA", "1700000001.2 SEARCHING...", "1700000001.3 CAN ERROR", "1700000001.4 STOPPED",
           "1700000001.5 ?", "1700000001.6 7F 01 12", "1700000001.7 ELM327 v1.5", "1700000001.8 >ATZ"]  # fmt: skip
    recording = read("\n".join([*odd, poll(FORMS["bare"]).replace("1700000", "1700001")]))
    assert recording.quality.mended == {"requests without data": 5}


def test_of_two_control_units_the_one_that_answers_most_is_taken_and_said(read) -> None:
    lines = poll(FORMS["with a header"]).splitlines()
    others = [line.replace("7E8", "7E9").replace("F8", "00") for line in lines[1::4]][:10]
    recording = read("\n".join(sorted([*lines, *others])))
    assert 0xF8 in {int(v * 4) & 0xFF for v in values(recording, "engine_speed")}
    assert any("engine_speed was answered by 7E8 and 7E9; taken from 7E8" in line for line in recording.history)


def test_midnight_is_passed(read) -> None:
    times = ["23:59:58", "23:59:59", "00:00:00", "00:00:01"]
    recording = read("\n".join(f"{t}.000 41 0C 1A F{k}" for k, t in enumerate(times)))
    assert np.diff(recording.time_s) == pytest.approx([1, 1, 1])


@pytest.mark.parametrize(
    ("content", "message"),
    [
        ("41 0C 1A F8\n41 0D 32\n" * 9, "none with a time stamp"),
        ("1.0 41 0C 1A\n2.0 41 0C 1B\n", "no answer of service 01"),
    ],
)
def test_a_log_that_cannot_be_used_says_why(read, content: str, message: str) -> None:
    with pytest.raises(LogError, match=message):
        read(content)


def test_a_table_of_numbers_is_no_obd_log(read) -> None:
    rows = "\n".join(f"{k / 100:.2f} 41{11 + k // 90} 41{k % 90 + 10}" for k in range(300))
    assert read("time[s] select[count] engage[count]\n" + rows).has("select", "engage")


def test_diagnostic_frames_in_a_bus_trace_are_read_without_decoding(tmp_path) -> None:
    path = tmp_path / "trace.log"
    with can.Logger(path) as logger:
        for k in range(40):
            at = 1_700_000_000 + 0.1 * k
            for offset, identifier, data in (
                (0.0, 0x7DF, b"\x02\x01\x0c\0\0\0\0\0"), (0.01, 0x7E8, bytes([4, 0x41, 0x0C, 26, k, 0, 0, 0])),
                (0.02, 0x123, bytes(8)), (0.03, 0x7E8, bytes([3, 0x41, 0x0D, k, 0, 0, 0, 0])),
            ):  # fmt: skip
                logger(can.Message(timestamp=at + offset, arbitration_id=identifier, data=data, is_extended_id=False,
                                   channel=0))  # fmt: skip
    recording = read_log(LogRequest(path=path, file="trace.log", name="obd", place="engine", clock="obd"))
    assert values(recording, "engine_speed") == [(26 * 256 + k) / 4 for k in range(40)]
    assert values(recording, "vehicle_speed") == pytest.approx([k * MPS_PER_KMH for k in range(40)])
    assert recording.quality.rate_hz == pytest.approx(10, rel=1e-3)


def test_an_answer_of_which_a_frame_is_missing_is_lost_and_counted() -> None:
    assembler = Assembler()
    assert assembler.take("7E8", bytes.fromhex("100A410C1AF80D32")) is None
    assert assembler.take("7E8", bytes.fromhex("22118000000000")) is None
    assert assembler.lost == 1
    assert assembler.take("7E8", bytes.fromhex("03410D32")) == bytes.fromhex("410D32")


@given(st.lists(st.binary(max_size=9), max_size=30))
def test_no_frame_upsets_the_assembler(frames: list[bytes]) -> None:
    assembler = Assembler()
    for frame in frames:
        answer = assembler.take("7E8", frame)
        assert answer is None or len(answer) <= 0xFFF


@given(st.text(max_size=60))
def test_no_line_upsets_the_reader(line: str) -> None:
    for answer in LineReader().take(line):
        assert answer.payload[0] == 0x41
