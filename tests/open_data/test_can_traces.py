"""Bus trace of a six-speed manual (shared data, folder can-traces; see its SOURCE.txt)."""

from pathlib import Path

import numpy as np
import pytest

from shiftlog.ingest.add_options import AddOptions
from tests.open_data.candump import read_candump, write_log

pytestmark = pytest.mark.open_data

# When the ECU's gear code leaves each gear, from the trace's start [s] (README of the data, can-traces).
CODE_LEAVES_S = (1.59, 6.59, 9.59, 12.82, 16.07)
WITHIN_S = 0.25
# Published ratios of the box, corroborated by several public sources (README of the data, can-traces).
RATIOS = np.array([3.636, 2.235, 1.521, 1.137, 0.971, 0.756])


@pytest.fixture(scope="module")
def allgears(open_data: Path, measure, tmp_path_factory):
    trace = read_candump(open_data / "can-traces" / "vabsubaru_allgears.log")
    log = write_log(trace, tmp_path_factory.mktemp("can") / "allgears.csv")
    return trace, measure([log], "123456R", AddOptions())


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
def test_an_engine_that_revs_or_idles_at_standstill_shifts_nothing(open_data, measure, tmp_path, name: str) -> None:
    log = write_log(read_candump(open_data / "can-traces" / f"vabsubaru_{name}.log"), tmp_path / f"{name}.csv")
    result = measure([log], "123456R", AddOptions())
    assert result.shifts == () and result.summary.learnt_rpm_per_mps == {}
    assert any("no change of gear can be found" in note for note in result.notes)
