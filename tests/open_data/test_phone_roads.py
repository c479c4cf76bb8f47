"""A phone on three roads, with neither engine speed nor lever (shared data, folder phone-roads; see its SOURCE.txt)."""

from pathlib import Path

import pytest

from shiftlog.ingest.add_options import AddOptions

pytestmark = pytest.mark.open_data


@pytest.mark.parametrize("road", ["q1", "q2", "q3"])
def test_a_phone_alone_gives_no_shift_and_says_what_is_missing(open_data: Path, measure, road: str) -> None:
    logs = sorted((open_data / "phone-roads").glob(f"rsq_{road}_00_*.csv"))
    assert len(logs) >= 2
    result = measure(logs, "12345R", AddOptions())
    assert result.shifts == () and result.rests == () and result.gate is None
    assert any("engine speed was not logged" in note for note in result.notes)
    assert "no lever sensor" in result.gate_why
    for recording in result.recordings:
        reasons = dict(recording.cannot_measure)
        assert "select, engage" in reasons["shift, neutral and baulk times"]
