"""A row in words: its change, its verdict, what is not in its interval, and what would settle it."""

import re
from dataclasses import replace

import pytest

from shiftlog.model.comparison import TESTS, LeftOutCount
from shiftlog.report.answer import answer
from shiftlog.report.content import DriveUsed, make_content
from shiftlog.report.language import languages, load_language
from shiftlog.report.page import Wishes, make_page
from shiftlog.report.row_words import change, of_days, row_name, verdict_word, what_settles

from .conftest import a_shift
from .test_words import said_by

CODES = languages()


def test_a_difference_that_no_verdict_backs_is_told_as_a_range(make_row):
    words = load_language("en")
    unclear = make_row(verdict="unclear", ci_low=-0.2, ci_high=0.03)
    assert change(unclear, words) == "the difference lies between −0.200 and 0.030\N{NO-BREAK SPACE}s"
    better = make_row(verdict="better", provisional=False)
    assert change(better, words) == "shorter by 0.080\N{NO-BREAK SPACE}s (95 %: 0.050 to 0.100)"
    assert change(make_row(verdict="too_few"), words) == ""
    assert verdict_word(make_row(verdict="worse"), load_language("de")) == "schlechter, vorläufig"


def test_one_of_many_figures_is_told_from_one_that_shows_nothing(make_row):
    words = load_language("en")
    by_chance = make_row(verdict="unclear", ci_low=-0.1, ci_high=-0.05, p_corrected=0.2)
    assert verdict_word(by_chance, words) == "may be chance: many figures were looked at"
    for other in (
        make_row(verdict="unclear", ci_low=-0.1, ci_high=0.05, p_corrected=0.2),
        make_row(verdict="unclear", p_corrected=0.01),  # taken back for another reason
        make_row(verdict="unclear", p_corrected=None),
    ):
        assert verdict_word(other, words) == "cannot be told from these drives"


@pytest.mark.parametrize("code", CODES)
def test_a_share_of_none_in_the_table_of_figures_has_its_limit(code, make_row, with_rows):
    row = make_row("refused_share", verdict="unclear", unit="", before=0.2, after=0.0, difference=-0.2, ci_low=-0.5,
                   ci_high=0.1, values_before={"b0": (1.0, 0.0, 0.0, 0.0, 0.0)}, values_after={"a0": (0.0,) * 20},
                   n_before=5, n_after=20)  # fmt: skip
    said = said_by(make_page(with_rows(row), Wishes(language=code)))
    assert {"en": "0 of 20: at most", "de": "0 von 20: höchstens"}[code] in said


def test_a_share_that_the_fit_takes_to_nothing_shows_that_some_were_counted(make_row, with_rows):
    row = make_row("refused_share", verdict="unclear", unit="", before=0.2, after=0.0, difference=-0.2, ci_low=-0.5,
                   ci_high=0.1, values_before={"b0": (1.0, 0.0, 0.0, 0.0, 0.0)},
                   values_after={"a0": (1.0, *(0.0,) * 19)}, n_before=5, n_after=20)  # fmt: skip
    cells = re.findall(r"<td[^>]*>(.*?)</td>", make_page(with_rows(row), Wishes()))
    assert any("0\N{NO-BREAK SPACE}%" in cell and "1 of 20" in cell for cell in cells)


@pytest.mark.parametrize("code", CODES)
def test_one_drive_a_side_says_beside_the_number_that_the_day_is_not_in_it(code, make_result):
    def drives(time_s, marks):
        timed = [[a_shift(n, time_s=time_s + 0.001 * n + 0.02 * k) for n in range(1, 12)] for k in range(3)]
        return [DriveUsed(id=None, result=make_result(m, mark=m, shifts=s)) for m, s in zip(marks, timed, strict=True)]

    before, after = drives(0.5, "abc"), drives(0.4, "def")
    no_days = load_language(code).say("change.no_days", things=load_language(code).say("things.shift"))
    rows = re.findall(r"<tr>.*?</tr>", make_page(make_content(before[:1], after[:1]), Wishes(language=code)))
    timed = load_language(code).say("measure.shift_time_s")
    assert any("95" in row and no_days in row for row in rows if timed in row)
    rows = re.findall(r"<tr>.*?</tr>", make_page(make_content(before, after), Wishes(language=code)))
    assert any(timed in row for row in rows) and not any(no_days in row for row in rows if timed in row)


@pytest.mark.parametrize(
    ("need", "said"),
    [
        ({"more_drives": 2}, "2 more drives a side would probably settle it"),
        ({"more_drives": 1, "times_shifts": 3},
         "one more drive a side or 3 times the shifts in each would probably settle it"),
        ({"more_drives": 4, "where": "standstill test"}, "4 more such tests a side would probably settle it"),
        ({}, ""), ({"more_drives": 2, "verdict": "better"}, ""),
    ],
)  # fmt: skip
def test_what_would_settle_an_unclear_row_stands_in_the_table(need, said, make_row, with_rows):
    row = make_row(**{"verdict": "unclear", **need})
    assert what_settles(row, load_language("en")) == said
    assert said in said_by(make_page(with_rows(row), Wishes()))


@pytest.mark.parametrize("code", CODES)
def test_what_changed_with_no_better_direction_is_not_said_to_be_unknown(make_row, with_rows, code):
    words = load_language(code)
    row = make_row("hysteresis_mm", better=None, verdict="unclear", p=0.001, p_corrected=0.01, unit="mm")
    said = answer(with_rows(row), words)[1]
    assert words.say("verdict.provisional", verdict=words.say("verdict.changed")) == verdict_word(row, words)
    assert words.say("answer.unclear", list="").strip() not in said
    assert change(row, words, with_interval=False) in said
    assert verdict_word(replace(row, p_corrected=0.2, ci_low=-1.0, ci_high=1.0), words) == words.say("verdict.unclear")


@pytest.mark.parametrize("code", CODES)
def test_a_figure_of_the_gear_with_the_least_is_named_as_such(make_row, code):
    words = load_language(code)
    least = words.say("answer.least", what=words.say("measure.clearance_mm"))
    assert row_name(make_row("clearance_mm"), words) == least != row_name(make_row("clearance_mm", "3"), words)
    assert row_name(make_row("free_play_mm"), words) == words.say("measure.free_play_mm")


@pytest.mark.parametrize("code", CODES)
def test_an_interval_of_marked_tests_names_the_repeats(make_row, code):
    words = load_language(code)
    row = make_row("let_go_offset_mm", interval_covers=TESTS, counted="test")
    assert of_days(row, words) == words.say("change.no_days", things=words.say("things.repeat"))


def test_shifts_that_were_driven_but_not_alike_are_not_said_to_have_been_too_few(make_row, with_rows):
    row = make_row(verdict="too_few", n_before=0, n_after=0, left_out=LeftOutCount(before=144, after=144, why=()))
    assert "too few shifts that can be compared: shift time" in answer(with_rows(row), load_language("en"))[1]
    assert verdict_word(row, load_language("de")) == "zu wenige vergleichbare Schaltungen"
