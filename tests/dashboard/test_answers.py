"""The sentences under the questions: with figures, and never more certain than the verdict."""

from dataclasses import replace

import pytest

from dashboard import answers
from dashboard.routes import KMH, MPH
from shiftlog.model.comparison import Comparison
from shiftlog.model.result import Summary
from shiftlog.model.share import Share

NBSP = "\N{NO-BREAK SPACE}"


def test_a_drive_is_summed_up_with_figures(make_result):
    said = answers.answer_drive(make_result())
    assert said[0] == f"1 journey of the lever; the most frequent, 2 → 3, took 0.38{NBSP}s in the median of 1."
    assert said[1] == "None of them was refused, pushed twice or put into a wrong gear."
    assert "9 of 12 rests" in said[2] and f"43{NBSP}% to 95{NBSP}%" in said[2]


def test_what_was_not_clean_is_counted_but_not_at_standstill(make_result, make_shift):
    shifts = (
        make_shift(number=1, outcome="second_push"),
        make_shift(number=2, outcome="second_push"),
        make_shift(number=3, outcome="missed"),
        make_shift(number=4, outcome="missed", standing=True),
    )
    assert answers.answer_drive(make_result(shifts=shifts))[1] == "Not clean: 2 second pushes and 1 refused."


def test_a_drive_gap_is_never_said_to_be_a_lever_time(make_result, gap_shift):
    said = " ".join(answers.answer_drive(make_result(shifts=(gap_shift,), gate=None, gate_why="no lever", rests=())))
    assert (
        "seen in the drive itself" in said and "journey" not in said and "rest" not in said.replace("interrupted", "")
    )
    assert answers.answer_shift(gap_shift, KMH)[0].endswith("That is no lever time.")


def test_a_drive_with_nothing_says_so(make_result):
    said = answers.answer_drive(make_result(shifts=(), rests=(), summary=Summary()))
    assert said == ["No shift was found in this drive."]


def test_the_range_if_unknown_rests_counted_stands_beside_the_share():
    share = Share(k=1, n=10, low=0.0025, high=0.445, if_unknown_counted=(0.07, 0.4))
    text = answers.rest_sentence(share, "3-4")
    assert f"between 7{NBSP}% and 40{NBSP}%" in text
    assert "if every rest" not in answers.rest_sentence(replace(share, if_unknown_counted=(0.1, 0.1)), "3-4")
    assert answers.rest_sentence(replace(share, k=0, n=0), "3-4") == "The lever was never seen let go in neutral."


def test_a_shift_is_told_with_speed_as_the_user_likes_it(make_shift):
    shift = make_shift(outcome="second_push", attempts=2)
    assert f"at 72{NBSP}km/h in 0.38{NBSP}s: second push." in answers.answer_shift(shift, KMH)[0]
    assert f"at 45{NBSP}mph" in answers.answer_shift(shift, MPH)[0]
    assert f"the lever stood for 0.06{NBSP}s" in answers.answer_shift(shift, KMH)[0]


@pytest.mark.parametrize(
    ("different", "text"),
    [
        ({}, f"Shorter by 0.08{NBSP}s (95{NBSP}%: 0.05 to 0.10)."),
        ({"difference": 0.08, "ci_low": 0.05, "ci_high": 0.10}, f"Longer by 0.08{NBSP}s (95{NBSP}%: 0.05 to 0.10)."),
        (
            {"difference": -0.01, "ci_low": -0.03, "ci_high": 0.012},
            f"Shorter by 0.010{NBSP}s (95{NBSP}%: −0.012 to 0.030).",
        ),
        ({"ci_low": None, "ci_high": None}, f"Shorter by 0.08{NBSP}s."),
        (
            {"interval_covers": "shifts"},
            f"Shorter by 0.08{NBSP}s (95{NBSP}%: 0.05 to 0.10; shifts alone, not the day).",
        ),
        ({"difference": None}, ""),
        (
            {"measure": "wrong_plane_share", "unit": "", "difference": -0.5, "ci_low": -0.75, "ci_high": -0.25},
            f"Fewer by 50{NBSP}in 100 (95{NBSP}%: 25 to 75).",
        ),
    ],
)
def test_differences_in_words(make_row, different, text):
    assert answers.difference(make_row(**different), KMH) == text


@pytest.mark.parametrize("verdict", ["better", "worse", "same"])
def test_a_provisional_verdict_says_so(make_row, verdict):
    assert ", provisionally." in answers.verdict_sentence(make_row(verdict=verdict), KMH)
    assert "provisional" not in answers.verdict_sentence(make_row(verdict=verdict, provisional=False), KMH)


@pytest.mark.parametrize("verdict", ["unclear", "too_few"])
def test_no_verdict_claims_nothing(make_row, verdict):
    text = answers.verdict_sentence(make_row(verdict=verdict, difference=None), KMH)
    assert "better" not in text.lower() and "worse" not in text.lower()


def test_why_verdicts_are_provisional_is_said_once(make_row):
    rows = (
        make_row(why="not enough; provisional: one drive a side"),
        make_row(why="provisional: one drive a side"),
    )
    assert answers.why_provisional(rows) == ["one drive a side"]
    firm = make_row(measure="baulk_time_s", why="provisional: no such thing", provisional=False)
    assert answers.why_provisional((*rows, firm)) == ["one drive a side (Shift time)"]
    assert answers.why_provisional((make_row(why="x"),)) == ["Each row says why."]


def test_too_few_shifts_claim_no_difference(make_row):
    assert answers.verdict_sentence(make_row(verdict="too_few"), KMH) == "Too few shifts to tell."
    assert answers.verdict_sentence(make_row(verdict="too_few", counted="push"), KMH) == "Too few pushes to tell."


def test_the_page_s_answer_goes_by_the_rows_over_all_kinds(make_row):
    rows = (
        make_row(group="all"),
        make_row(group="2-3", verdict="worse"),
        make_row(measure="baulk_time_s", group="all", verdict="unclear"),
    )
    said = answers.answer_comparison(Comparison(before=("a",), after=("b",), caveats=(), rows=rows), KMH)
    assert said == [
        f"Better, provisionally: shift time (shorter by 0.08{NBSP}s).",
        "Cannot be told from these drives: baulk time.",
    ]
    assert answers.answer_comparison(Comparison(before=(), after=(), caveats=(), rows=()), KMH) == [
        "Nothing could be compared."
    ]


def test_a_chance_is_never_printed_as_none_at_all():
    assert [answers.chance(p) for p in (None, 1e-9, 0.0123, 0.4)] == ["–", "under 0.001", "0.012", "0.40"]


def test_the_smallest_change_and_what_the_hand_did_stand_beside_the_change(make_row):
    row = make_row(smallest_change=0.03, notes=("the hand was 30 % gentler after",))
    said = answers.evidence_sentences(row, KMH)
    assert said[0].startswith("The smallest change these drives can show is 0.03")
    assert said[1] == "The hand was 30 % gentler after."
    assert answers.evidence_sentences(make_row(verdict="too_few", smallest_change=0.03), KMH) == []


def test_what_follows_the_provisional_sentence_is_no_part_of_it(make_row):
    rows = (make_row(why="x; provisional: one drive a side; but teeth clashed; the hand was gentler"),)
    assert answers.why_provisional(rows) == ["one drive a side"]


def test_what_is_firm_and_what_is_provisional_are_told_apart(make_row):
    rows = (
        make_row(measure="wrong_plane_share", group="all", provisional=False, where="standstill test"),
        make_row(measure="clearance_mm", group="all", provisional=True, unit="mm"),
    )
    said = answers.answer_comparison(Comparison(before=("b",), after=("a",), caveats=(), rows=rows), KMH)
    assert said == [
        f"Better: rests out of the home plane (standstill test, fewer by 8{NBSP}in 100).",
        f"Better, provisionally: clearance (smaller by 0.1{NBSP}mm).",
    ]


def test_shares_differ_by_points_everywhere(make_row):
    row = make_row(measure="refused_share", unit="", smallest_change=0.14)
    assert f"is 14{NBSP}in 100." in answers.evidence_sentences(row, KMH)[0]


def test_what_changed_with_no_better_direction_is_not_said_to_be_unknown(make_row):
    row = make_row(
        measure="hysteresis_mm",
        group="all",
        unit="mm",
        better=None,
        verdict="unclear",
        p_corrected=0.001,
        provisional=False,
    )
    said = answers.answer_comparison(Comparison(before=("b",), after=("a",), caveats=(), rows=(row,)), KMH)
    assert said == [f"Changed, and neither way is better by itself: rest hysteresis (smaller by 0.1{NBSP}mm)."]
    assert answers.verdict_sentence(row, KMH).startswith("Changed, and neither way is better by itself.")
    by_itself = replace(row, p=0.01, p_corrected=0.1)
    assert answers.verdict_words(by_itself) == "may be chance, as many figures were looked at"


def test_what_its_own_interval_alone_shows_is_said_to_be_chance_perhaps(make_row):
    row = make_row(group="5-4", verdict="unclear", p=0.01, p_corrected=1.0, provisional=False)
    assert answers.verdict_sentence(row, KMH).startswith("May be chance, as many figures were looked at.")
    assert answers.verdict_words(replace(row, ci_low=-0.1, ci_high=0.1)) == "cannot be told from these drives"
