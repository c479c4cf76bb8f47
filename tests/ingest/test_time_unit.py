"""A unit of time that is named wrongly: the numbers make sense in another one only."""

import re

import numpy as np
import pytest

from shiftlog.errors import LogError, UnclearLog
from shiftlog.ingest.add import plan_drive
from shiftlog.ingest.add_options import AddOptions
from tests.ingest.lever_log import log

MINUTE = np.arange(6000) / 100


@pytest.mark.parametrize(
    ("named", "factor", "other", "reads"),
    [
        ("us", 1e3, "ms", r"1e\+05 rows a second for 0.06 s"),
        ("s", 1e3, "ms", r"0.1 rows a second for 6e\+04 s"),
        ("ms", 1e6, "us", r"0.1 rows a second for 6e\+04 s"),
        ("ns", 1e3, "ms", r"1e\+08 rows a second for 6e-05 s"),
    ],
)
def test_a_unit_named_wrongly_is_refused_with_the_one_that_fits(read, named, factor, other, reads) -> None:
    message = (
        rf"^lever.csv, column time \[{named}\]: in {named} it reads {reads}; as {other} its numbers fit, 100 rows a "
        rf'second for 60 s. Name it under .* unit = "{other}" }}, or --unit "time \[{named}\]={other}"\.$'
    )
    with pytest.raises(UnclearLog, match=message):
        read(log(named, np.round(MINUTE * factor).astype(int)))


def test_a_long_log_too_fast_for_any_recorder_is_refused(read) -> None:
    with pytest.raises(LogError, match="as ms its numbers fit"):
        read(log("us", np.arange(120_000) * 10))


def test_seconds_that_would_be_milliseconds_since_1970_are_refused(read) -> None:
    with pytest.raises(LogError, match="as ms its numbers fit"):
        read(log("s", 1_790_000_000_000 + np.arange(3000) * 10))


@pytest.mark.parametrize(
    ("named", "times"),
    [
        ("s", np.arange(1000) * 10),
        ("s", np.arange(50_000)),
        ("us", np.arange(500) * 1000),
        ("us", np.arange(30_000) * 39),
        ("s", MINUTE[:20]),
        ("us", 1_000_000_000 + np.arange(6000) * 10_000),
        ("ms", np.floor(np.arange(20_000) / 2.5)),
    ],
    ids=["a slow poll", "a long day", "a short burst", "a fast accelerometer", "0.2 s", "uptime", "coarse stamps"],
)
def test_what_may_be_as_named_passes(read, named: str, times: np.ndarray) -> None:
    assert read(log(named, times)).time_s.size > 1


def test_the_mend_that_is_offered_mends_it(tmp_path) -> None:
    path = tmp_path / "lever.csv"
    path.write_text(log("us", np.round(MINUTE * 1000).astype(int)))
    with pytest.raises(UnclearLog) as error:
        plan_drive([path], None)
    offered = re.search(r'--unit "(.*)=(\w+)"', str(error.value))
    plan = plan_drive([path], None, options=AddOptions(unit=(f"{offered[1]}={offered[2]}",)))
    assert any("60.0 s at 100 Hz" in line for line in plan.lines)
