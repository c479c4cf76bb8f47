"""A recheck is another occasion: it stands apart, holds only what was measured, and is never pooled."""

import re
from dataclasses import replace

import pytest

from shiftlog.report.answer import answer
from shiftlog.report.content import DriveUsed, make_content
from shiftlog.report.language import languages, load_language
from shiftlog.report.page import Wishes, make_page
from shiftlog.report.provenance import read_page
from shiftlog.report.recheck import find_state, say_state
from shiftlog.report.verify import compare_with, count_carried, hold_words, make_anew

from .conftest import a_rest, a_shift
from .test_words import said_by


@pytest.fixture
def recheck(make_result):
    """Two drives in which the lever comes home no more: after them nobody may say that it held."""
    return [
        DriveUsed(
            id=f"id-r{k}",
            result=make_result(f"r{k}", mark="12"[k], rests=[a_rest("1-2")] * 5, shifts=[a_shift(n) for n in range(9)]),
        )
        for k in range(2)
    ]  # fmt: skip


def part_of(page: str) -> str:
    """The section of the recheck, in English."""
    return said_by(re.search(r"<section[^>]*><h2>At the recheck</h2>.*?</section>", page, re.DOTALL)[0])


def test_counts_after_the_work_know_nothing_of_the_recheck(sides, version, recheck):
    content, alone = make_content(*sides, version, recheck=recheck), make_content(*sides, version)
    assert [(c.key, c.share("after").k, c.share("after").n) for c in content.counts if c.share("after")] == [
        (c.key, c.share("after").k, c.share("after").n) for c in alone.counts if c.share("after")
    ]
    for code in languages():
        assert answer(content, load_language(code)) == answer(alone, load_language(code))


def test_the_page_tells_the_three_occasions_side_by_side(sides, version, recheck):
    said = " ".join(part_of(make_page(make_content(*sides, version, recheck=recheck), Wishes())).split())
    assert "another occasion, with 2 drives" in said and "no part of the answer above" in said
    assert "What Before After At the recheck" in said
    assert re.search(r"Lever came home when let go, rests while driving 0 of 18 .* 21 of 21 .* 0 of 10 ", said)
    assert "Lever came home when let go, rests while driving: 0 of 10 rests over 2 drives (at most" in said
    assert "held since the work: rests" not in said


@pytest.mark.parametrize(
    ("became", "verdict", "state"),
    [
        (True, "same", "held"), (True, "better", "held"), (True, "worse", "not_held"), (True, "unclear", "open"),
        (True, "too_few", "open"), (False, "same", "same"), (False, "worse", "worse"), (False, "unclear", "unclear"),
    ],
)  # fmt: skip
def test_only_what_had_become_better_can_hold(make_row, became, verdict, state):
    row = make_row(verdict=verdict)
    assert find_state(row, {("shift_time_s", "all"): make_row(verdict="better")} if became else {}) == state


def test_what_held_is_no_firmer_than_what_had_become_better(make_row):
    words, key = load_language("en"), ("shift_time_s", "all")
    firm = make_row(verdict="same", provisional=False)
    assert say_state(firm, {key: make_row(provisional=False)}, words) == "held"
    assert say_state(firm, {key: make_row(provisional=True)}, words) == "held, provisionally"
    assert say_state(make_row(verdict="unclear"), {key: make_row()}, words) == "whether it held cannot be told"


def test_a_recheck_without_drives_after_the_work_is_held_against_those_before(sides, version, recheck):
    content = make_content(sides[0], [], version, recheck=recheck)
    page = make_page(content, Wishes())
    assert "compared by itself with the drives before the work" in part_of(page)
    assert "stands by itself below" in answer(content, load_language("en"))[1]
    assert "held" not in part_of(page).replace("lever", "")


def test_a_cold_complaint_is_not_called_held_by_a_warm_recheck(sides, version, recheck):
    cold = replace(version, job=replace(version.job, temperature="cold"))
    sides = [[replace(d, result=replace(d.result, head=replace(d.result.head, cold=True))) for d in s] for s in sides]
    said = part_of(make_page(make_content(*sides, cold, recheck=recheck), Wishes()))
    assert "whether the cold gearbox behaves as before stays open" in said
    assert "held since the work" not in said and "nothing was driven cold" not in said
    assert "Not both occasions were driven cold" in said
    assert "Before" not in said.split("At the recheck")[-1]


def test_every_figure_and_word_of_a_recheck_is_verified(sides, version, recheck, tmp_path):
    path = tmp_path / "page.html"
    path.write_text(make_page(make_content(*sides, version, recheck=recheck), Wishes()), encoding="utf-8")
    page = read_page(path)
    places = zip(("before", "after", "recheck"), (*sides, recheck), strict=True)
    results = {f"{side} {n}": d.result for side, some in places for n, d in enumerate(some, start=1)}
    anew = make_anew(page.document, results, version)
    checked, different = compare_with(page.document, anew)
    assert checked == count_carried(page.document) and different == []
    assert "recheck/count home/all/while driving/after/k" in page.document["figures"]
    assert hold_words(page, anew, lambda _: None) == ()
    healed = replace(recheck[1].result, rests=(a_rest("3-4"),) * 5)
    told = {
        d.figure for d in compare_with(page.document, make_anew(page.document, {**results, "recheck 2": healed}))[1]
    }
    assert "recheck 2: count home/all/while driving/k" in told and not any(f.startswith("after") for f in told)
