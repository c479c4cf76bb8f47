"""Counts: what is a try, what is left out, and what a zero still allows."""

from dataclasses import replace

import pytest

from shiftlog.measure.share import share_of
from shiftlog.model.drive import MarkedTest
from shiftlog.model.guided import Figure, GuidedResult
from shiftlog.model.job import Job, JobVersion
from shiftlog.report.content import DriveUsed, make_content
from shiftlog.report.count_words import count_clause, count_label, limit, tally
from shiftlog.report.language import load_language

from .conftest import a_rest, a_shift


def counts_of(before, after, job=None):
    """The counts of a page that these drives make."""
    version = job and JobVersion(id=1, version=1, saved="", by="", job=job)
    sides = [[DriveUsed(id=None, result=r) for r in side] for side in (before, after)]
    return make_content(*sides, version).counts


def test_counts_come_first_by_the_complaint(content):
    first, second, third, *_ = content.counts
    assert (first.event, second.event, second.group, third.group) == ("home", "grind", "2-3", "all")
    # Six rests out of the bend in each of three drives, seven after; eight shifts in each.
    assert (first.share("before").k, first.share("before").n) == (0, 18)
    assert (first.share("after").k, first.share("after").n) == (21, 21)
    assert (third.share("before").k, third.share("before").n) == (9, 24)


def test_what_cannot_be_judged_is_no_try(make_result):
    shifts = [
        a_shift(1, grind=None), a_shift(2, standing=True, outcome="missed"), a_shift(3, outcome="out_and_back"),
        a_shift(4, outcome="second_push"),
    ]  # fmt: skip
    rests = [a_rest("1-2", released=None), a_rest("1-2", released=False), a_rest("3-4")]
    counts = {c.key: c.share("before") for c in counts_of([make_result(shifts=shifts, rests=rests)], [])}
    assert (counts["home/all/while driving"].k, counts["home/all/while driving"].n) == (1, 1)
    assert (counts["refused/all"].k, counts["refused/all"].n) == (1, 2)
    assert counts["grind/all"].n == 1
    assert "jumped/all" not in counts


def test_a_gear_in_the_complaint_counts_every_shift_into_it(make_result):
    shifts = [a_shift(1, gears=("4", "3"), grind=True), a_shift(2, gears=("2", "3")), a_shift(3, gears=("3", "4"))]
    counts = {
        c.key: c.share("before") for c in counts_of([make_result(shifts=shifts)], [], Job(car="x", shifts=("3",)))
    }
    assert {key: (s.k, s.n) for key, s in counts.items() if key.startswith("grind/")} == {
        "grind/2-3": (0, 1), "grind/4-3": (1, 1), "grind/all": (1, 3),
    }  # fmt: skip


@pytest.mark.parametrize(("n", "outcome", "told"), [(2, "clean", False), (3, "clean", True), (1, "second_push", True)])
def test_a_manner_of_shifting_too_rare_to_compare_is_told_where_something_came(make_result, n, outcome, told):
    shifts = [replace(a_shift(k, outcome=outcome), paused=True) for k in range(n)] + [a_shift(9)]
    found = counts_of([make_result(shifts=shifts)], [], Job(car="x", shifts=("2-3",)))
    keys = {c.key for c in found if c.event == "refused"}
    assert keys == {"refused/2-3", "refused/all"} | ({"refused/2-3 paused"} if told else set())


def test_jumping_out_is_counted_where_it_came_or_was_complained_of(make_result):
    jumped = make_result(shifts=[a_shift(1, outcome="jumped_out", gears=("3", "N")), a_shift(2)])
    quiet, again = (make_result(name, mark=name, shifts=[a_shift(1)]) for name in "bc")
    assert "jumped/all" in {c.key for c in counts_of([jumped], [quiet])}
    asked = counts_of([quiet], [again], Job(car="x", symptoms=("jumps out",)))
    assert asked[0].key == "jumped/all"


def test_shares_of_guided_tests_are_counted(make_result):
    figure = Figure(key="found_home", label="found 3", of="left", share=share_of(4, 20))
    both = replace(figure, of="")
    guided = GuidedResult(kind="straight_push", start_s=0, end_s=9, configuration=None, figures=(both, figure), says=())
    let_go = replace(figure, key="not_home")  # counted among the rests already
    letting_go = replace(guided, kind="release", figures=(let_go,))
    (count,) = counts_of([make_result(guided=[guided, letting_go])], [])
    assert (count.event, count.share("before").k, count.share("before").n) == ("test", 4, 20)
    assert count.share("after") is None
    english = count_clause(count, load_language("en"))
    assert english == (
        "straight push, went into the gear of the home plane: 4 of 20 pushes before the work and (not measured) after "
        "it"
    )
    jumps = replace(guided, kind="jump_out", figures=(replace(figure, key="jump_outs", of="3"),))
    (count,) = counts_of([make_result(guided=[jumps])], [])
    assert count_label(count, load_language("de")) == "Versuch zum Herausspringen: herausgesprungen 3"


def test_in_a_marked_release_test_every_rest_counts(make_result):
    rests = [a_rest("1-2", released=None), a_rest("1-2", released=False), a_rest("3-4"), a_rest("1-2", in_bend=True)]
    free = make_result(rests=rests)
    marked = replace(free, tests=(MarkedTest(kind="release", start_s=0.0, end_s=9.0),))
    counted = [next(iter(counts_of([r], []))).share("before") for r in (free, marked)]
    assert [(s.k, s.n) for s in counted] == [(1, 1), (1, 3)]


@pytest.mark.parametrize(("k", "n", "upper"), [(0, 20, 0.16843), (20, 20, 0.16843), (0, 1, 0.975)])
def test_every_zero_has_its_upper_limit(k, n, upper):
    # Clopper and Pearson for none of n: 1 − 0.025^(1/n); for twenty 0.1684 (exact, closed form).
    share = share_of(k, n)
    allowed = share.high if k == 0 else 1 - share.low
    assert allowed == pytest.approx(upper, abs=1e-4)
    assert load_language("en").per_cent(upper) in limit(share, load_language("en"))


def test_a_count_between_none_and_all_needs_no_limit():
    assert limit(share_of(3, 20), load_language("en")) == ""
    assert tally(share_of(3, 20), load_language("de")) == "3 von 20"
