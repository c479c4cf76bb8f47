"""Times that a spreadsheet turned into days, and counters that only look like them."""

from pathlib import Path

import numpy as np
import pytest

from shiftlog.errors import LogError
from shiftlog.ingest.add import plan_drive
from tests.ingest.lever_log import EVEN, log

DAYS = [f"{46320 + (50000 + t) / 86400:.10f}" for t in EVEN]
SAID = r"column time: its numbers are days as spreadsheets count them \(46320.5787 is on 2026-10-25\)\. Give"


def test_days_of_a_spreadsheet_are_said(read, tmp_path: Path) -> None:
    with pytest.raises(LogError, match=SAID) as caught:
        read(log("", DAYS).replace("time []", "time"))
    assert "\n" not in str(caught.value)
    (tmp_path / "lever.csv").write_text(log("", DAYS).replace("time []", "time"))
    with pytest.raises(LogError, match=SAID):
        plan_drive([tmp_path / "lever.csv"], None)


def test_a_counter_of_that_size_is_no_day(read) -> None:
    recording = read(log("", [f"{46320 + t:.4f}" for t in EVEN]).replace("time []", "time"))
    np.testing.assert_allclose(np.diff(recording.time_s), np.diff(EVEN), atol=2e-4)
