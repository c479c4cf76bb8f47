"""One count, one source: every figure of the page is one of the comparison, and nothing is computed a second time."""

import re
from dataclasses import replace

import pytest

from shiftlog.commands.compare_text import comparison_lines
from shiftlog.compare.document import comparison_to_document
from shiftlog.measure.share import share_of
from shiftlog.model.drive import MarkedTest
from shiftlog.model.guided import Figure, GuidedResult
from shiftlog.model.reading import measured
from shiftlog.report.content import DriveUsed, make_content
from shiftlog.report.count_words import count_clause
from shiftlog.report.language import languages, load_language
from shiftlog.report.page import Wishes, make_page
from shiftlog.report.pictures import counted_rests

from .conftest import a_rest, a_shift
from .test_words import said_by


def place(rest, at_s):
    return replace(rest, start_s=at_s + 0.1, end_s=at_s + 0.9)


def push(k, n):
    found = Figure(key="found_home", label="found 3", share=share_of(k, n))
    left = replace(found, of="left", share=share_of(k, n))
    return GuidedResult(kind="straight_push", start_s=0, end_s=9, configuration=None, figures=(found, left), says=())


@pytest.fixture
def mixed(make_result):
    """Three drives a side: in each rests while driving, in the first a marked release test and pushes as well."""

    def side(name, plane, hand):
        drives = []
        for k in range(3):
            rests = [place(a_rest(plane), 100 + n) for n in range(12 + k)]
            rests += [place(a_rest(plane, released=None), n) for n in range(15)] if k == 0 else []
            shifts = [
                a_shift(n, outcome="jumped_out" if n == 3 and name == "b" else "clean", grind=name == "b" and n < 3)
                for n in range(1, 9)
            ]
            shifts = [
                replace(s, readings={**s.readings, "approach_speed_mmps": measured("approach_speed_mmps", hand + n)})
                for n, s in enumerate(shifts)
            ]
            tests = (MarkedTest(kind="release", start_s=0.0, end_s=50.0),) if k == 0 else ()
            guided = (push(1 if name == "b" else 14, 15),) if k == 0 else ()
            result = make_result(f"{name}{k}", mark="abcdef"[k + 3 * (name == "a")], rests=rests, shifts=shifts,
                                 guided=guided)  # fmt: skip
            drives.append(DriveUsed(id=None, result=replace(result, tests=tests)))
        return drives

    return side("b", "1-2", 200.0), side("a", "3-4", 150.0)


def test_let_goes_of_a_test_stand_apart_from_rests_while_driving_on_page_and_in_comparison(mixed):
    content = make_content(*mixed)
    home = {c.where: c for c in content.counts if c.event == "home"}
    told = {w: [(c.share(s).k, c.share(s).n) for s in ("before", "after")] for w, c in home.items()}
    assert told == {"standstill test": [(0, 15), (15, 15)], "while driving": [(0, 39), (39, 39)]}
    compared = " ".join(" ".join(comparison_lines(content.comparison)).split())
    assert "15 of 15" in compared and "standstill test" in compared
    page = " ".join(said_by(make_page(content, Wishes())).split())
    assert "Lever came home when let go, standstill test 0 of 15" in page
    assert "Lever came home when let go, rests while driving 0 of 39 drive by drive: 0 of 12; 0 of 13; 0 of 14" in page
    assert "0 of 54" not in page and "54 of 54" not in page


def test_every_count_is_the_comparison_document_s_own(mixed):
    content = make_content(*mixed)
    rows = {(r["measure"], r["group"]): r for r in comparison_to_document(content.comparison)["rows"]}
    assert {c.event for c in content.counts} == {"home", "refused", "grind", "jumped", "test"}
    for count in content.counts:
        row = rows[count.row.measure, count.row.group]
        for side in ("before", "after"):
            share, k, n = count.share(side), row[f"k_{side}"], row[f"n_{side}"]
            assert (share.k, share.n) == (n - k if count.event == "home" else k, n), count.key


@pytest.mark.parametrize("code", languages())
def test_the_page_says_the_same_without_the_drives_shifts_rests_and_tests(mixed, version, code):
    """What is taken out of the drives once they were compared nobody can compute from a second time."""
    content = make_content(*mixed, version)
    bare = replace(
        content,
        **{
            side: tuple(
                replace(d, result=replace(d.result, shifts=(), rests=(), guided=(), tests=()))
                for d in getattr(content, side)
            )
            for side in ("before", "after")
        },
    )
    wishes = Wishes(language=code, made="2026-10-12T10:00:00+00:00")
    assert text_of(make_page(content, wishes)) == text_of(make_page(bare, wishes))


def text_of(page: str) -> str:
    """What it says, but for the drawings of the rests, which the next test holds."""
    return said_by(re.sub(r"<svg.*?</svg>", "", page, flags=re.DOTALL))


def test_a_drawing_of_rests_shows_those_that_its_count_counts(mixed):
    content = make_content(*mixed)
    for count in (c for c in content.counts if c.event == "home"):
        for side in ("before", "after"):
            rests = counted_rests(content, count, side)
            assert len(rests) == count.share(side).n
            assert sum(r.plane == "3-4" for r in rests) == count.share(side).k


def test_the_hand_is_told_once_and_alike(mixed):
    content = make_content(*mixed)
    share = f"{100 * abs(content.comparison.hand):.0f}"
    told = re.findall(r"hand was (\d+)", said_by(make_page(content, Wishes())))
    assert told and set(told) == {share}
    assert any(f"the hand was {share} % gentler" in caveat for caveat in content.comparison.caveats)


def test_a_page_of_one_side_counts_as_a_comparison_would(mixed):
    before, _ = mixed
    alone, both = make_content(before, []), make_content(*mixed)
    for count in (c for c in alone.counts if c.event in ("home", "test")):
        twin = next(c for c in both.counts if c.key == count.key)
        assert twin.share("before") is not None and count.share("before").k == twin.share("before").k
    assert alone.comparison is None and {c.event for c in alone.counts} >= {"home", "grind", "test"}
    assert load_language("en").say("answer.no_after") in said_by(make_page(alone, Wishes()))


def test_a_sentence_names_what_was_counted_and_how_many_days(mixed):
    first, *_ = make_content(*mixed).counts
    assert " ".join(count_clause(first, load_language("en")).split()) == (
        "let go in the standstill test, the lever came home in 0 of 15 let-goes (at most 22 % still "
        "possible, 95 %) before the work and in 15 of 15 let-goes (at most 22 % may still be otherwise, 95 %) "
        "after it"
    )
    driven = next(c for c in make_content(*mixed).counts if c.where == "while driving")
    assert "0 of 39 rests over 3 drives (at most" in count_clause(driven, load_language("en"))
    assert "bei 0 von 39 Ruhelagen über 3 Fahrten (höchstens" in count_clause(driven, load_language("de"))
