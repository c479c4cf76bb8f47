"""Times written as text: what they mean in seconds, and what is no time."""

from datetime import UTC, datetime

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

from shiftlog.ingest.clock_text import is_time_of_day, parse_clock
from shiftlog.ingest.formats.stamps import split_stamp

MOMENT = datetime(2026, 3, 14, 15, 9, 26, 535000, tzinfo=UTC).timestamp()


@pytest.mark.parametrize(
    "text",
    [
        "2026-03-14T15:09:26.535Z",
        "2026-03-14T15:09:26,535",
        "2026-03-14 15:09:26.535",
        "2026-03-14T17:09:26.535+02:00",
        "20260314T150926.535",
        "2026/03/14 15:09:26.535",
        "14.03.2026 15:09:26.535",
        "14-Mar-2026 15:09:26.535",
        "14-Mar-2026  15:09:26.535",
        "14 March 2026 15:09:26.535",
        '"2026-03-14T15:09:26.535Z"',
        "2026-03-14 03:09:26.535 PM",
        "14.03.2026 3:09:26.535 pm",
        "14-Mar-2026 03:09:26.535 p.m.",
    ],
)
def test_one_moment_in_every_way_of_writing(text: str) -> None:
    assert parse_clock(pd.Series([text, text])) == pytest.approx([MOMENT, MOMENT], abs=1e-6)


@pytest.mark.parametrize(
    ("text", "seconds"),
    [
        ("00:00:00", 0),
        ("23:59:59.5", 86399.5),
        ("9:05", 32700),
        ("12:00:01 AM", 1),
        ("12:30:00 pm", 45000),
        ("1:00:00.25 p.m.", 46800.25),
        ("11:59:59 PM", 86399),
        ("11:59 am", 43140),
        ("05:12.345", 312.345),
        ("75:00,5", 4500.5),
    ],
)
def test_time_of_day(text: str, seconds: float) -> None:
    assert is_time_of_day(text)
    assert parse_clock(pd.Series([text, "rubbish"])) == pytest.approx([seconds, np.nan], nan_ok=True)


@pytest.mark.parametrize("text", ["2026-13-14T15:09:26", "0001-01-01", "14-Foo-2026 15:09:26", "4:5:6:7", "-", "12"])
def test_what_is_no_time(text: str) -> None:
    assert np.isnan(parse_clock(pd.Series([text]))).all()


def test_minutes_and_seconds_beside_one_another_and_hours() -> None:
    assert parse_clock(pd.Series(["59:59", "59:59.5", "1:00:00.5"])) == pytest.approx([3599, 3599.5, 3600.5])


def test_an_hour_past_midnight_of_a_date_with_a_half() -> None:
    first, noon = parse_clock(pd.Series(["2026-03-14 12:05:00 AM", "2026-03-14 12:05:00 PM"]))
    assert (first, noon - first) == (datetime(2026, 3, 14, 0, 5, tzinfo=UTC).timestamp(), 43200)


@pytest.mark.parametrize("date", ["4.3.2026", "04.3.2026", "4.03.2026", "04.03.2026", "4-Mar-2026", "2026-03-04"])
def test_days_and_months_of_one_digit(date: str) -> None:
    expected = datetime(2026, 3, 4, 15, 9, 26, tzinfo=UTC).timestamp()
    assert parse_clock(pd.Series([f"{date} 15:09:26", f"{date} 15:09:27"])) == pytest.approx([expected, expected + 1])


WRITTEN = [
    "15:09:26", "15:09:26.535", "3:09:26.5 PM", "12:05:00 am", "12:05:00 p.m.", "05:12.345", "75:00.5",
    "2026-03-14T15:09:26.535Z", "2026-03-14 15:09:26.535", "2026-03-14T17:09:26.535+02:00", "2026/03/14 15:09:26.535",
    "20260314T150926.535", "14.03.2026 15:09:26.535", "4.3.2026 15:09:26", "14.03.2026 3:09:26.535 pm",
    "14-Mar-2026 15:09:26.535", "3-Oct-2026 03:09:26 PM", "14 March 2026 15:09:26.535", "2026-03-14 12:05:00 AM",
]  # fmt: skip


@pytest.mark.parametrize("text", WRITTEN)
@pytest.mark.parametrize("around", ["{} 41 0C 1A F8", "[{}] 41 0C 1A F8", "{},41 0C 1A F8", "{};410C1AF8"])
def test_a_stamp_before_a_line_is_read_as_a_cell_is(text: str, around: str) -> None:
    stamp = split_stamp(around.format(text))
    assert stamp is not None and stamp.kind == ("clock" if is_time_of_day(text) else "date")
    assert stamp.value == pytest.approx(parse_clock(pd.Series([text]))[0], abs=1e-6)
    assert stamp.rest.replace(" ", "") == "410C1AF8"


@given(st.text(alphabet="0123456789:.,-/ TZAPMapm[]Oct", max_size=40))
def test_no_text_upsets_the_reader_of_stamps(text: str) -> None:
    split_stamp(text)
