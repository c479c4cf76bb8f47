"""A client's table holds what says something; what does not is named, and stands in the engineer's table."""

from dataclasses import replace

import pytest

from shiftlog.model.told import tell
from shiftlog.report.language import languages, load_language
from shiftlog.report.page import Wishes, make_page
from shiftlog.report.row_words import measure_name
from shiftlog.report.telling import LONG, telling_rows

from .test_words import said_by

KEYS = (
    "shift_time_s", "baulk_time_s", "drive_gap_s", "knock_peak_mps2", "jerk_p2p_mps3", "vdv_mps175", "return_time_s",
    "hysteresis_mm", "refused_share", "grind_share",
)  # fmt: skip


@pytest.fixture
def open_rows(make_row):
    unclear = {"verdict": "unclear", "ci_low": -0.1, "ci_high": 0.1, "p_corrected": 1.0}
    return {key: make_row(key, unit="" if key.endswith("share") else "s", **unclear) for key in KEYS}


def test_what_says_something_or_was_asked_for_stays(open_rows, with_rows):
    kept = {
        "shift_time_s": {"verdict": "better"}, "baulk_time_s": {"verdict": "same"},
        "knock_peak_mps2": {"taken_back": tell("guard.hand_harder", "the hand was harder")},
        "drive_gap_s": {"ci_low": 0.01}, "hysteresis_mm": {"better": None, "p_corrected": 0.01},
    }  # fmt: skip
    rows = [replace(row, **kept.get(key, {})) for key, row in open_rows.items()]
    told, others = telling_rows(with_rows(*rows))
    assert {r.measure for r in told} == {*kept, "grind_share"}  # the complaint is that it grinds
    assert {r.measure for r in others} == set(KEYS) - {*kept, "grind_share"}


def test_a_short_table_is_shown_whole(open_rows, with_rows):
    rows = list(open_rows.values())[:LONG]
    assert telling_rows(with_rows(*rows)) == (rows, [])


@pytest.mark.parametrize("code", languages())
def test_others_are_named_and_have_their_figures_for_the_engineer(open_rows, with_rows, code):
    words = load_language(code)
    said = said_by(make_page(with_rows(*open_rows.values()), Wishes(language=code)))
    client, engineer = said.split(words.say("section.engineer"), 1)[0], said.split(words.say("engineer.rows"), 1)[1]
    name = measure_name("vdv_mps175", words)
    assert name in client[client.index(words.say("table.others", list="").split(":")[0]) :]
    assert name in engineer
