"""What a description of bus signals says that cannot be, and what it says of values that are none."""

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from shiftlog.errors import LogError
from shiftlog.ingest.log_file import LogRequest, read_log
from shiftlog.model.recording import Recording
from tests.bus_signals import signals_toml
from tests.ingest.bus_writer import DBC, SIGNALS_TOML, drive_frames, truth, write_trace

FRAMES = drive_frames()
ENGINE = truth(FRAMES)["engine_speed"]


@pytest.fixture
def trace(tmp_path: Path) -> Callable[..., Recording]:
    """Reads a trace with signals written in TOML or DBC."""

    def read(content: str | bytes, ending: str = ".toml") -> Recording:
        path, decode = write_trace(FRAMES, tmp_path / "trace.log"), tmp_path / f"signals{ending}"
        decode.write_bytes(content if isinstance(content, bytes) else content.encode())
        request = LogRequest(path=path, file=path.name, name="bus", place="engine", clock="bus", decode=decode)
        return read_log(request)

    return read


def test_a_range_in_toml_holds_though_most_values_lie_beyond_it(trace) -> None:
    recording = trace(SIGNALS_TOML.replace('unit = "rpm"', 'unit = "rpm"\nlow = 0\nhigh = 1500'))
    beyond = int(np.count_nonzero(ENGINE > 1500))
    assert beyond > ENGINE.size / 2
    assert recording.quality.mended == {"values outside their range": beyond}
    assert np.nanmax(recording.column("engine_speed")) == 1500


def test_a_range_of_a_dbc_that_cannot_be_right_is_said(trace) -> None:
    recording = trace(DBC.replace("[0|16383]", "[0|1500]"), ".dbc")
    assert np.nanmax(recording.column("engine_speed")) == ENGINE.max()
    beyond = int(np.count_nonzero(ENGINE > 1500))
    assert recording.history == (
        f"trace.log: {beyond} of {ENGINE.size} values of engine_speed lie beyond the range of the DBC, 0 to 1500 rpm; "
        "it is taken for wrong, and they are kept.",
    )
    assert trace(DBC.replace("[0|16383]", "[0|0]"), ".dbc").history == ()


@pytest.mark.parametrize(
    ("more", "message"),
    [
        ("scale = 0", r"signal\[1\].scale: is 0, so that every value is the same"),
        ("low = 9000\nhigh = 0", r"signal\[1\].low: 9000 is not below high, 0"),
        ("low = 5\nhigh = 5", r"signal\[1\].low: 5 is not below high, 5"),
    ],
)
def test_what_can_give_no_value_is_refused_in_one_line(trace, more: str, message: str) -> None:
    with pytest.raises(LogError, match=message) as caught:
        trace(SIGNALS_TOML.replace('unit = "rpm"', f'unit = "rpm"\n{more}'))
    assert "\n" not in str(caught.value)


ONE = signals_toml("engine_speed")
SHORT = "engine_speed needs 10 bytes, frames of 0x140 have 8; look at start, length and order."


def test_a_signal_beyond_the_end_of_its_frames_is_said(trace) -> None:
    wrong = SIGNALS_TOML.replace("start = 16", "start = 60", 1)
    recording = trace(wrong)
    assert f"trace.log: {SHORT}" in recording.history
    assert np.isfinite(recording.column("vehicle_speed")).any()
    with pytest.raises(LogError) as caught:
        trace(ONE.replace("start = 16", "start = 60"))
    assert str(caught.value) == f"trace.log: {SHORT}"


def test_a_signal_of_which_no_value_is_in_range_is_said(trace) -> None:
    with pytest.raises(LogError, match="all 400 values of engine_speed lie beyond -5 to 0 rpm; look at low, high"):
        trace(f"{ONE}low = -5\nhigh = 0\n")
