"""Bus traces of a six-speed manual, read straight from candump files (shared data, can-traces; see its SOURCE.txt)."""

from pathlib import Path

import can
import numpy as np
import pytest

from shiftlog.ingest.add_options import AddOptions
from shiftlog.ingest.log_file import LogRequest, read_log
from shiftlog.model.recording import Recording
from tests.bus_signals import SIGNALS, signals_dbc, signals_toml
from tests.open_data.candump import read_candump

pytestmark = pytest.mark.open_data

# When the ECU's gear code leaves each gear, from the trace's start [s] (README of the data, can-traces).
CODE_LEAVES_S = (1.59, 6.59, 9.59, 12.82, 16.07)
WITHIN_S = 0.25
# Published ratios of the box, corroborated by several public sources (README of the data, can-traces).
RATIOS = np.array([3.636, 2.235, 1.521, 1.137, 0.971, 0.756])


@pytest.fixture(scope="module")
def decode(tmp_path_factory) -> Path:
    """The signals of these traces in TOML, and in a DBC beside it."""
    path = tmp_path_factory.mktemp("signals") / "signals.toml"
    path.write_text(signals_toml(*SIGNALS))
    path.with_suffix(".dbc").write_text(signals_dbc(*SIGNALS))
    return path


@pytest.fixture(scope="module")
def allgears(open_data: Path, measure, decode):
    log = open_data / "can-traces" / "vabsubaru_allgears.log"
    return read_candump(log), measure([log], "123456R", AddOptions(decode=(str(decode),)))


def read(path: Path, decode: Path) -> Recording:
    return read_log(LogRequest(path=path, file=path.name, name="bus", place="engine", clock="bus", decode=decode))


def same_values(one: Recording, other: Recording, *, within_s: float) -> bool:
    begins = one.time_s[0], other.time_s[0]
    columns = sorted(c.name for c in one.channels)
    return sorted(c.name for c in other.channels) == columns and all(
        np.array_equal(held(one, name)[1], held(other, name)[1])
        and np.allclose(held(one, name)[0] - begins[0], held(other, name)[0] - begins[1], rtol=0, atol=within_s)
        for name in columns
    )


def held(recording: Recording, name: str) -> tuple[np.ndarray, np.ndarray]:
    rows = np.isfinite(recording.column(name))
    return recording.time_s[rows], recording.column(name)[rows]


def test_every_frame_is_read_at_the_rate_of_the_source(open_data: Path, allgears, decode) -> None:
    recording = read(open_data / "can-traces" / "vabsubaru_allgears.log", decode)
    for channel, factor in (("engine_speed", 1.0), ("vehicle_speed", 1 / 3.6), ("accel_x", 1.0)):
        time, value = allgears[0][channel].T
        assert held(recording, channel)[1] == pytest.approx(value * factor)
        assert np.diff(held(recording, channel)[0]) == pytest.approx(np.diff(time), abs=1e-5)
    # SOURCE.txt: engine speed at 100 Hz, vehicle speed at 50 Hz.
    assert recording.quality.rate_hz == pytest.approx(100, rel=0.005)
    assert 1 / np.mean(np.diff(held(recording, "vehicle_speed")[0])) == pytest.approx(50, rel=0.005)
    assert recording.quality.gaps == () and recording.quality.jitter_s < 0.001


def test_a_dbc_with_the_same_signals_gives_the_same(open_data: Path, decode) -> None:
    log = open_data / "can-traces" / "vabsubaru_allgears.log"
    assert same_values(read(log, decode), read(log, decode.with_suffix(".dbc")), within_s=0)


@pytest.mark.parametrize(("ending", "within_s"), [(".trc", 2e-4), (".asc", 2e-5), (".blf", 2e-5)])
def test_the_same_frames_in_other_formats_read_back_equal(open_data, decode, tmp_path, ending, within_s) -> None:
    # The formats count tenths of a millisecond (TRC) and microseconds.
    log = open_data / "can-traces" / "vabsubaru_cruise.log"
    path = tmp_path / f"cruise{ending}"
    with can.Logger(path) as logger:
        for message in can.LogReader(log):
            logger(message)
    assert same_values(read(log, decode), read(path, decode), within_s=within_s)


def test_the_gear_code_leaves_when_the_source_says(allgears) -> None:
    time, code = allgears[0]["gear_code"].T
    leaving = np.flatnonzero((code[:-1] >= 1) & (code[:-1] <= 6) & (code[1:] == 7)) + 1
    assert time[leaving] == pytest.approx(CODE_LEAVES_S, abs=0.02)


def test_exactly_five_upshifts_each_when_the_gear_code_leaves(allgears) -> None:
    shifts = allgears[1].shifts
    assert [(s.from_gear, s.to_gear) for s in shifts] == [("1", "2"), ("2", "3"), ("3", "4"), ("4", "5"), ("5", "6")]
    assert [s.start_s for s in shifts] == pytest.approx(CODE_LEAVES_S, abs=WITHIN_S)


def test_steps_between_gears_are_those_of_the_published_ratios(allgears) -> None:
    learnt = np.array(list(allgears[1].summary.learnt_rpm_per_mps.values()))
    # 1.5 % as the source allows; with the lag of the logged speed taken out it is 0.2 %.
    assert learnt[:-1] / learnt[1:] == pytest.approx(RATIOS[:-1] / RATIOS[1:], rel=0.015)


def test_no_lever_figure_is_given_and_each_says_why(allgears) -> None:
    for shift in allgears[1].shifts:
        for key in ("shift_time_s", "neutral_time_s", "baulk_time_s", "approach_speed_mmps"):
            assert shift.value(key) is None and "no lever" in shift.readings[key].why


@pytest.mark.parametrize("name", ["revrev", "cruise"])
def test_an_engine_that_revs_or_idles_at_standstill_shifts_nothing(open_data, measure, decode, name: str) -> None:
    log = open_data / "can-traces" / f"vabsubaru_{name}.log"
    result = measure([log], "123456R", AddOptions(decode=(str(decode),)))
    assert result.shifts == () and result.summary.learnt_rpm_per_mps == {}
    assert any("no change of gear can be found" in note for note in result.notes)
