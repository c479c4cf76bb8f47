"""Yes and no: exact within a standstill test, by drives where days lie between; a grind is never a gain."""

from dataclasses import replace

import numpy as np
import pytest

from shiftlog.compare.drives import compare_drives
from shiftlog.compare.evidence import weigh_drives
from shiftlog.compare.words import say_range
from shiftlog.model.car import GateLayout, Plane
from shiftlog.model.drive import MarkedTest
from shiftlog.model.gate import GateMap
from shiftlog.model.guided import Figure, GuidedResult
from shiftlog.model.reading import measured
from shiftlog.model.rest import Rest
from shiftlog.model.share import Share

LAYOUT = GateLayout(planes=(Plane(forward="1", rear="2"), Plane(forward="3", rear="4")), home="3-4")


def row(comparison, measure, group="all"):
    return next(r for r in comparison.rows if (r.measure, r.group) == (measure, group))


@pytest.fixture
def released(result):
    """A drive with a marked release test, of which ``wrong`` of ``n`` rests lie out of the home plane."""

    def make(name, wrong, n=20, *, marked=True):
        rests = tuple(
            Rest(start_s=k + 0.1, end_s=k + 0.9, select_mm=0.0, engage_mm=0.0, plane="1-2" if k < wrong else "3-4",
                 released=True, came_from="left") for k in range(n)
        )  # fmt: skip
        gate = GateMap(
            matrix=np.eye(2), offset=np.zeros(2), orientation="found", evidence="", scale="relative", seats=(),
            layout=LAYOUT, noise_mm=0.1,
        )  # fmt: skip
        tests = (MarkedTest(kind="release", start_s=0.0, end_s=1000.0),) if marked else ()
        return replace(result(name, []), rests=rests, gate=gate, tests=tests)

    return make


def test_counts_of_a_marked_test_are_exact_and_firm_with_one_drive_a_side(released):
    found = row(compare_drives([released("b", 20)], [released("a", 0)]), "wrong_plane_share")
    assert (found.verdict, found.provisional, found.n_before) == ("better", False, 20)
    assert "20 of 20 (at least 83 %) before, 0 of 20 (at most 17 %) after" in found.why
    assert "standstill test" in found.why


def test_counts_under_way_are_provisional_with_one_drive_a_side(released):
    found = row(
        compare_drives([released("b", 20, marked=False)], [released("a", 0, marked=False)]), "wrong_plane_share"
    )
    assert (found.verdict, found.provisional) == ("better", True)


def test_rests_of_a_marked_test_and_under_way_have_rows_of_their_own(released):
    both = [
        replace(released(n, k), tests=(MarkedTest(kind="release", start_s=0.0, end_s=10.0),))
        for n, k in (("b", 15), ("a", 2))
    ]
    comparison = compare_drives([both[0]], [both[1]])
    marked, under_way = (
        row(comparison, "wrong_plane_share"),
        row(comparison, "wrong_plane_share", "rests while driving"),
    )
    assert (marked.n_before, under_way.n_before, under_way.left_out.before) == (10, 10, 10)


def test_straight_pushes_are_compared_as_counts_and_sides_do_not_count_twice(result):
    def drive(name, k):
        shares = [
            Figure(key="found_home", label="found 3", of=of, share=Share(k=k, n=12, low=0.0, high=1.0))
            for of in ("", "left")
        ]
        test = GuidedResult(
            kind="straight_push", start_s=0, end_s=9, configuration=None, figures=tuple(shares), says=()
        )
        return replace(result(name, []), guided=(test,))

    found = row(compare_drives([drive("b", 1)], [drive("a", 11)]), "straight_push_share")
    assert (found.verdict, found.provisional, found.n_before) == ("better", False, 12)
    assert (found.before, found.after) == (pytest.approx(1 / 12), pytest.approx(11 / 12))


def test_shares_of_a_guided_test_under_way_are_no_standstill_counts(result, shift):
    def drive(name, k):
        share = Figure(key="crash_through_share", label="crashes", share=Share(k=k, n=12, low=0.0, high=1.0))
        test = GuidedResult(kind="synchroniser", start_s=0, end_s=9, configuration=None, figures=(share,), says=())
        return replace(result(name, [shift()]), guided=(test,))

    comparison = compare_drives([drive("b", 11)], [drive("a", 1)])
    found = row(comparison, "crash_through_share")
    assert (found.provisional, found.where, found.n_before) == (True, "road test", 12)


def test_the_day_is_not_taken_for_the_repair():
    """Each day has a share of its own and nothing changed: a pooled exact test would claim a third of the time."""
    rng = np.random.default_rng(3)
    claims, covered, pages = 0, 0, 300
    for _ in range(pages):
        days = rng.beta(1.5, 6, (2, 3))
        sides = [[{"k": (rng.random(60) < share).astype(float)} for share in side] for side in days]
        found = weigh_drives(sides, ("k",), yes_no=True, headline=True)
        claims += found.p <= 0.05
        covered += found.ci95[0] <= 0 <= found.ci95[1]
    assert claims <= 0.05 * pages + 11
    assert covered >= 0.95 * pages - 11


@pytest.mark.parametrize(
    ("ground_before", "ground_after", "verdict"), [(0, 0, "better"), (0, 3, "unclear"), (6, 1, "unclear")]
)
def test_a_shorter_baulk_together_with_a_grind_is_never_better(result, shift, ground_before, ground_after, verdict):
    def side(name, stand_s, ground):
        return [
            result(f"{name}{d}", [
                shift(k, figures={"baulk_time_s": stand_s + 0.002 * k + 0.001 * d, "grind": k < ground})
                for k in range(12)
            ]) for d in range(3)
        ]  # fmt: skip

    found = row(compare_drives(side("b", 0.2, ground_before), side("a", 0.05, ground_after)), "baulk_time_s")
    assert found.difference < 0 and found.verdict == verdict
    assert ("clashed" in found.why or "ground" in found.why) == (verdict == "unclear")


def test_a_shorter_baulk_says_where_no_grind_could_be_heard(result, shift):
    sides = [
        [result(f"{s}{d}", [shift(k, figures={"baulk_time_s": t + 0.002 * k + 0.001 * d}) for k in range(9)])
         for d in range(3)] for s, t in (("b", 0.2), ("a", 0.05))
    ]  # fmt: skip
    found = row(compare_drives(*sides), "baulk_time_s")
    assert found.verdict == "better" and "could not be heard on both sides" in found.why


def test_a_return_that_stops_in_a_wrong_plane_is_not_quicker(released):
    def timed(result):
        rests = tuple(
            replace(r, readings={"return_time_s": measured("return_time_s", 0.2 if r.plane == "1-2" else 0.3)})
            for r in result.rests
        )
        return replace(result, rests=rests)

    found = row(compare_drives([timed(released("b", 12))], [timed(released("a", 0))]), "return_time_s")
    assert (found.n_before, found.left_out.before, found.difference) == (8, 12, pytest.approx(0.0))
    assert "a shorter way" in found.left_out.why[0]


def test_a_share_lies_from_nought_to_one_however_unevenly_the_kinds_were_driven():
    """One kind alone grinds before and none after, and the drives after hold hardly anything else."""
    before = ({"a": (0.0,) * 8, "b": (1.0,), "c": (0.0,) * 12}, {"a": (0.0,) * 2, "b": (1.0,) * 2}, {"c": (0.0,)})
    after = ({"b": (0.0,)}, {"a": (0.0,) * 2, "b": (0.0,) * 2}, {"b": (0.0,)})
    found = weigh_drives((before, after), ("a", "b", "c"), yes_no=True, headline=True)
    assert found.estimate.after < 0.0, "the bare fit leaves the range"
    assert found.after == 0.0 and 0.0 <= found.before <= 1.0
    assert found.after - found.before == pytest.approx(found.difference)


def test_a_let_go_counts_in_the_test_in_which_it_began(released):
    """The lever may lie there beyond the mark's end; the guided test counts the let-go as well."""
    short = [
        replace(released(n, k), tests=(MarkedTest(kind="release", start_s=0.0, end_s=19.5),))
        for n, k in (("b", 20), ("a", 0))
    ]
    found = row(compare_drives([short[0]], [short[1]]), "wrong_plane_share")
    assert (found.n_before, found.k_before, found.k_after) == (20, 20, 0)


@pytest.mark.parametrize(
    ("key", "unit", "low", "high", "said"),
    [
        ("wrong_plane_share", "", -1.0, -0.79, "−100 to −79 in 100"),
        ("shift_time_s", "s", 0.05, 0.1, "0.05 to 0.1 s"),
        ("runs_in_from", "", 0.2, 0.3, "0.2 to 0.3"),
    ],
)  # fmt: skip
def test_an_interval_has_its_unit_once(key, unit, low, high, said):
    assert say_range(key, unit, low, high) == said
