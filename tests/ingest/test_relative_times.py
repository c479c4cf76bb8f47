"""Logs whose times count from the row before: added up where their head says so, else refused."""

import re
import time
from pathlib import Path

import numpy as np
import pytest

from shiftlog.errors import LogError, RestartedLog
from shiftlog.ingest.log_file import LogRequest, read_log
from shiftlog.model.recording import Recording
from tests.ingest.bus_writer import SIGNALS_TOML, drive_frames, write_trace
from tests.ingest.lever_log import log

FRAMES = drive_frames()


def read_trace(path: Path, **more: object) -> Recording:
    decode = path.parent / "signals.toml"
    decode.write_text(SIGNALS_TOML)
    return read_log(
        LogRequest(path=path, file=path.name, name="bus", place="engine", clock="bus", decode=decode, **more)
    )


def relative_asc(path: Path, *, said: bool) -> Path:
    """The trace with times from line to line, and whether its head says so."""
    text = write_trace(FRAMES, path).read_text()
    last, lines = 0.0, []
    for line in text.replace("timestamps absolute", "timestamps relative" if said else "").splitlines():
        found = re.match(r"\s*(\d+\.\d+)(\s+\S.*)", line)
        if found:
            line = f"{float(found[1]) - last:11.6f}{found[2]}"
            last = float(found[1])
        lines.append(line)
    path.write_text("\n".join(lines))
    return path


def test_relative_times_that_the_head_declares_are_added_up(tmp_path) -> None:
    absolute = read_trace(write_trace(FRAMES, tmp_path / "absolute.asc"))
    recording = read_trace(relative_asc(tmp_path / "trace.asc", said=True))
    np.testing.assert_allclose(recording.time_s, absolute.time_s, atol=1e-5)
    np.testing.assert_array_equal(recording.values, absolute.values)
    assert not recording.quality.mended


def test_relative_times_that_no_head_declares_are_refused(tmp_path) -> None:
    path = relative_asc(tmp_path / "trace.asc", said=False)
    with pytest.raises(
        LogError, match=r"^trace.asc, row \d+: time steps back .*; times are relative to the line before"
    ):
        read_trace(path, allow_restart=True)


def candump(frames, stamps) -> str:
    return "\n".join(
        f" ({stamp:010.6f})  can{frame.channel}  {frame.arbitration_id:03X}   [8]  {frame.data.hex(' ').upper()}"
        for frame, stamp in zip(frames, stamps, strict=True)
    )


def test_times_from_frame_to_frame_on_a_screen_are_refused(tmp_path) -> None:
    path = tmp_path / "trace.log"
    times = np.array([frame.timestamp for frame in FRAMES])
    path.write_text(candump(FRAMES, np.diff(times, prepend=times[0])))
    with pytest.raises(
        LogError, match=r"relative to the line before. Record with absolute times \(candump -L, -ta or -tz\)"
    ):
        read_trace(path, allow_restart=True)
    path.write_text(candump(FRAMES, times - times[0]))
    assert read_trace(path).quality.duration_s == pytest.approx(4.0, abs=0.02)


def test_two_interfaces_with_clocks_of_their_own_are_not_relative(tmp_path) -> None:
    path = tmp_path / "trace.log"
    lines = candump(FRAMES, [frame.timestamp - FRAMES[0].timestamp + 5 for frame in FRAMES]).split("\n")
    others = candump(FRAMES, [frame.timestamp - FRAMES[0].timestamp for frame in FRAMES]).replace("can0", "can1")
    other_ids = others.replace("  140 ", "  141 ").replace("  0D", "  0E").split("\n")
    path.write_text("\n".join(line for pair in zip(lines, other_ids, strict=True) for line in pair))
    assert read_trace(path).quality.duration_s == pytest.approx(4.0, abs=0.02)


@pytest.mark.parametrize("parts", [150, 300])
def test_more_restarts_than_any_recorder_makes_are_refused_though_restarts_are_allowed(read, parts: int) -> None:
    times = np.concatenate([np.arange(6000 // parts) / 100 + 0.001 * (part % 7) for part in range(parts)])
    with pytest.raises(
        LogError, match=r"row \d+: time starts anew here and at \d+ or more of 6000 rows; no recorder"
    ) as error:
        read(log("s", [f"{t:.4f}" for t in times]), allow_restart=True)
    assert not isinstance(error.value, RestartedLog)


def test_a_long_log_in_reverse_order_takes_no_time(read) -> None:
    began = time.perf_counter()
    with pytest.raises(LogError, match="Its rows may be in reverse order"):
        read(log("s", np.arange(100_000)[::-1] / 100), allow_restart=True)
    # A search for each of its rows would take half a minute.
    assert time.perf_counter() - began < 10
