"""Figures as people read them: three digits at most, a unit, a true minus."""

import pytest

from dashboard import words
from dashboard.routes import KMH, MPH
from shiftlog.measure.catalogue import MEASURES
from shiftlog.model.reading import Reading, measured


@pytest.mark.parametrize(
    ("value", "step", "text"),
    [
        (0.3812, 0.01, "0.38"),
        (5813.0, 10.0, "5810"),
        (-20.44, 0.1, "−20.4"),
        (11.94, None, "11.9"),
        (0.004, 0.01, "0"),
        (0.0, None, "0"),
        (1234.0, None, "1230"),
        (0.00412, None, "0.00412"),
        (9.996, 0.01, "10.0"),
        (99.96, None, "100"),
        (-999.7, None, "−1000"),
    ],
)
def test_numbers_have_three_digits_at_most(value, step, text):
    assert words.number(value, step=step) == text


def test_a_figure_keeps_its_unit_on_its_line_and_a_missing_one_is_a_dash():
    assert words.value("shift_time_s", 0.3812) == "0.38\N{NO-BREAK SPACE}s"
    assert words.bare("shift_time_s", 0.3812) == "0.38"
    assert words.value("shift_time_s", None) == "–"
    assert words.value("over_rev", True) == "yes"


def test_speeds_are_those_of_the_international_mile():
    # 1 mile = 1609.344 m exactly (international yard and pound agreement, 1959): 26.8224 m/s = 60 mph exactly.
    assert words.speed_value(26.8224, MPH) == pytest.approx(60.0, abs=1e-12)
    assert words.speed_value(10.0, KMH) == pytest.approx(36.0, abs=1e-12)
    assert words.value("vehicle_speed_mps", 26.8224, MPH) == "60\N{NO-BREAK SPACE}mph"


@pytest.mark.parametrize(
    ("time_s", "text"), [(0.0, "0:00.0"), (59.96, "1:00.0"), (723.44, "12:03.4"), (-1.2, "−0:01.2"), (None, "–")]
)
def test_drive_time_as_minutes_and_seconds(time_s, text):
    assert words.clock(time_s) == text


def test_what_is_known_of_the_error_is_said():
    assert (
        words.margin_of(measured("shift_time_s", 0.381, interval95=(0.373, 0.389)))
        == "95\N{NO-BREAK SPACE}%: 0.373 to 0.389\N{NO-BREAK SPACE}s"
    )
    assert (
        words.margin_of(Reading(key="shift_time_s", value=0.381, uncertainty=0.004))
        == "± 0.0040\N{NO-BREAK SPACE}s (k = 1)"
    )
    assert words.margin_of(measured("shift_time_s", 0.381)) == ""


def test_every_label_is_the_catalogue_s():
    assert {key: words.label(key) for key in MEASURES} == {key: m.label for key, m in MEASURES.items()}


def test_lists_and_counts():
    assert words.sentence_list(["a"]) == "a"
    assert words.sentence_list(["a", "b", "c"]) == "a, b and c"
    assert (words.count(1, "shift"), words.count(2, "shift"), words.count(2, "push", "pushes")) == (
        "1 shift",
        "2 shifts",
        "2 pushes",
    )


def test_gears_passed_through_are_shown(make_shift):
    assert words.change(make_shift(from_gear="5", via=("4", "3"), to_gear="2")) == "5 → 4 → 3 → 2"
    assert words.change(make_shift(from_gear=None)) == "? → 3"
