"""Rows of guided tests: like with like, what the repeats within a test leave uncertain, and no more than that."""

from dataclasses import replace

import numpy as np
import pytest

from shiftlog.commands.compare_text import comparison_lines
from shiftlog.compare.drives import compare_drives
from shiftlog.compare.repeatability import measure_setup
from shiftlog.compare.weigh_tests import know, weigh_figures
from shiftlog.guided.cards.known import CARDS
from shiftlog.guided.shares import middle_figure, share_figure
from shiftlog.measure.catalogue import MEASURES
from shiftlog.model.guided import Figure, GuidedResult
from shiftlog.signal.middle import middle_of


def length(key, value, u=0.1, *, of="", interval=None):
    return Figure(key=key, label=key, unit="mm", of=of, value=value, uncertainty=u, interval95=interval)


@pytest.fixture
def tested(result):
    """A drive with one marked test."""

    def make(name, kind, *figures, configuration=None):
        test = GuidedResult(
            kind=kind, start_s=0.0, end_s=9.0, configuration=configuration, figures=figures, says=("said",)
        )
        return replace(result(name, []), guided=(test,))

    return make


def row(comparison, measure, group="all"):
    return next(r for r in comparison.rows if (r.measure, r.group) == (measure, group))


def test_clearance_is_compared_gear_by_gear_and_the_least_stands_for_all(tested):
    before = tested("b", "clearance", length("clearance_mm", 0.2, of="3"), length("clearance_mm", 3.0, of="4"))
    after = tested("a", "clearance", length("clearance_mm", 1.6, of="3"), length("clearance_mm", 1.6, of="4"))
    comparison = compare_drives([before], [after])
    whole, third, fourth = (row(comparison, "clearance_mm", g) for g in ("all", "3", "4"))
    assert (whole.before, whole.after, whole.verdict, whole.provisional) == (0.2, 1.6, "better", True)
    # Unless a profile says otherwise a gear wants 1 mm: the fourth has given of what it had to spare.
    assert (third.verdict, fourth.verdict, whole.where) == ("better", "same", "standstill test")
    assert fourth.taken_back == "both before and after there are 1 mm or more, as wanted"
    # Two independent uncertainties of 0.1 mm: 1.96 · √2 · 0.1 (normal, closed form).
    assert third.ci_low == pytest.approx(1.4 - 0.2772, abs=1e-3)
    assert third.smallest_change == pytest.approx(0.2772, abs=1e-3)
    assert "day and the repair cannot be told apart" in whole.why


@pytest.mark.parametrize(
    ("limits", "after", "verdict"),
    [
        ({}, 1.1, "worse"),
        ({"clearance_mm": 0.5}, 1.1, "same"),
        ({"clearance_mm": {"4": 2.0, "default": 0.5}}, 1.6, "worse"),
    ],
)
def test_a_gear_that_gave_more_than_it_could_spare_is_worse(tested, limits, after, verdict):
    """1.1 mm known to 0.28 mm may be less than the 1 mm that is wanted."""
    sides = [tested(n, "clearance", length("clearance_mm", v, of="4")) for n, v in (("b", 3.0), ("a", after))]
    found = row(compare_drives(sides[:1], sides[1:], limits=limits), "clearance_mm", "4")
    assert found.verdict == verdict


@pytest.mark.parametrize(("size", "verdict"), [(0.0, "same"), (0.25, "unclear"), (1.0, "worse")])
def test_free_play_the_same_unclear_or_worse(tested, size, verdict):
    sides = [tested(n, "free_play", length("free_play_mm", v, of="3")) for n, v in (("b", 2.0), ("a", 2.0 + size))]
    assert row(compare_drives([sides[0]], [sides[1]]), "free_play_mm").verdict == verdict


def test_of_a_signed_figure_its_size_counts(tested):
    sides = [tested(n, "release", length("hysteresis_mm", v)) for n, v in (("b", -9.0), ("a", 0.5))]
    found = row(compare_drives([sides[0]], [sides[1]]), "hysteresis_mm")
    assert (found.before, found.after, found.difference) == (9.0, 0.5, -8.5)


def test_a_figure_that_knows_no_better_way_stands_behind_all_others_and_takes_nothing_from_them(tested):
    def drive(name, mm):
        both = [
            tested(name, kind, length(key, mm, 1.6))
            for kind, key in (("release", "hysteresis_mm"), ("free_play", "free_play_mm"))
        ]
        return replace(both[0], guided=tuple(test for one in both for test in one.guided))

    for after, changed in ((14.0, True), (15.0, False)):
        rows = compare_drives([drive("b", 20.0)], [drive("a", after)]).rows
        way, none = (next(r for r in rows if r.measure == key) for key in ("free_play_mm", "hysteresis_mm"))
        assert way.p == none.p and way.p_corrected == way.p and none.p_corrected == pytest.approx(2 * none.p)
        assert (way.verdict, none.verdict, none.changed) == ("better", "unclear", changed)


def test_a_bracket_counts_as_anywhere_in_it(tested):
    before = tested("b", "spin_down", length("quiet_after_s", 5.0, None, interval=(3.0, 5.0)))
    after = tested("a", "spin_down", length("quiet_after_s", 3.0, None, interval=(2.0, 3.0)))
    found = row(compare_drives([before], [after]), "quiet_after_s")
    # Rectangles of 2 s and 1 s: standard deviations 2/√12 and 1/√12.
    assert found.smallest_change == pytest.approx(1.96 * np.sqrt(5 / 12), abs=2e-3)
    assert (found.before, found.after, found.verdict) == (4.0, 2.5, "better")
    overlaps = tested("a", "spin_down", length("quiet_after_s", 4.0, None, interval=(2.0, 4.0)))
    assert row(compare_drives([before], [overlaps]), "quiet_after_s").verdict == "unclear"


def test_without_an_uncertainty_nothing_is_claimed_and_it_is_said_why(tested):
    sides = [tested(n, "detent", length("run_in_mmps", v, None, of="3")) for n, v in (("b", 90.0), ("a", 400.0))]
    found = row(compare_drives([sides[0]], [sides[1]]), "run_in_mmps")
    assert found.verdict == "too_few" and "repeat it within the test" in found.why
    many = [[tested(f"{n}{k}", "detent", length("run_in_mmps", v + k, None, of="3")) for k in range(3)]
            for n, v in (("b", 90.0), ("a", 400.0))]  # fmt: skip
    found = row(compare_drives(*many), "run_in_mmps")
    assert (found.verdict, found.provisional) == ("better", False)


def test_how_drives_differ_counts_where_it_is_more_than_the_tests_leave(tested):
    sides = [
        [tested(f"{n}{k}", "free_play", length("free_play_mm", v + 2.0 * k, 0.01, of="3")) for k in range(3)]
        for n, v in (("b", 4.0), ("a", 2.0))
    ]
    found = row(compare_drives(*sides), "free_play_mm")
    assert not found.provisional and found.verdict == "unclear"
    # Three drives a side, 2 mm apart: t(4) · 2 · √(2/3).
    assert found.ci_high - found.difference == pytest.approx(2.776 * 2 * np.sqrt(2 / 3), abs=0.01)


def test_repeat_drives_tell_how_much_such_a_test_differs_with_nothing_changed(tested):
    def play(name, value):
        return tested(name, "free_play", length("free_play_mm", value, 0.01, of="3"))

    past = [replace(play(f"r{k}", 3.0 + 0.5 * k), head=replace(play("r", 3.0).head, id=f"r{k}", stage="r"))
            for k in range(6)]  # fmt: skip
    alone = row(compare_drives([play("b", 4.0)], [play("a", 2.0)]), "free_play_mm")
    found = row(compare_drives([play("b", 4.0)], [play("a", 2.0)], history=past), "free_play_mm")
    assert (alone.verdict, alone.provisional) == ("better", True)
    # Six repeats half a millimetre apart: variance 0.875 mm², five degrees of freedom, one drive a side.
    assert (found.verdict, found.provisional, found.history_df) == ("unclear", False, 5)
    assert found.smallest_change == pytest.approx(2.5706 * np.sqrt(2 * 0.875), abs=1e-3)


@pytest.mark.parametrize(("apart", "sd"), [(0.01, 0.3), (1.0, 1.0)])
def test_repeats_of_a_test_show_no_more_than_each_leaves_uncertain(tested, apart, sd):
    some = [tested(f"r{k}", "release", length("hysteresis_mm", 2.0 + apart * k, 0.3)) for k in range(3)]
    found = next(r for r in measure_setup(some).repeatability if r.measure == "hysteresis_mm")
    assert (found.drives, found.df, found.shift_sd) == (3, 2, pytest.approx(0.3))
    assert found.within_sd == pytest.approx(apart)
    # Three drives a side, Student's t on two degrees of freedom (4.303, any table).
    assert found.smallest_change == pytest.approx(4.303 * sd * np.sqrt(2 / 3), rel=1e-3)


def test_repeats_know_figures_of_every_test_but_no_shares(tested):
    some = [
        tested(f"r{k}", "lockout", length("left_mm", 3.0 + k, 0.1), share_figure("went_in", "x", k, 12))
        for k in range(2)
    ]
    told = {r.measure: r for r in measure_setup(some).repeatability}
    assert told["lockout_left_mm"].within_sd == pytest.approx(np.sqrt(0.5))
    assert "lockout_reverse_share" not in told
    alone = measure_setup([some[0], tested("other", "release", length("hysteresis_mm", 1.0))]).repeatability
    assert {r.why for r in alone} == {"no two drives of one stage and driver have this test"}


def test_tries_of_a_standstill_test_are_exact_and_firm_on_the_road_they_are_provisional(tested):
    def drives(kind, key, k):
        return tested(
            "b" if k else "a", kind, share_figure(key, key, k, 12, of="3 drive" if kind == "jump_out" else "")
        )

    comparison = compare_drives([drives("lockout", "went_in", 11)], [drives("lockout", "went_in", 0)])
    found = row(comparison, "lockout_reverse_share")
    assert (found.verdict, found.provisional, found.counted) == ("better", False, "try")
    # Fisher's exact test of 11 of 12 against 0 of 12: 2 · 12 / C(24, 11), both tails alike.
    assert found.p == pytest.approx(2 * 12 / 2496144, rel=1e-3)
    road = compare_drives([drives("jump_out", "jump_outs", 11)], [drives("jump_out", "jump_outs", 0)])
    assert row(road, "jump_out_share").provisional and row(road, "jump_out_share").where == "road test"


def test_a_test_on_the_road_by_a_driver_of_one_side_only_is_left_out(tested):
    def driven(name, driver, k, kind="jump_out", key="jump_outs"):
        one = tested(name, kind, share_figure(key, key, k, 9, of="3 drive"))
        return replace(one, head=replace(one.head, driver=driver))

    comparison = compare_drives([driven("b1", "A", 8), driven("b2", "B", 8)], [driven("a", "A", 0)])
    found = row(comparison, "jump_out_share")
    assert (found.n_before, found.left_out.before) == (9, 1)
    assert found.left_out.why == ("1 × driver B on one side only",)
    standing = compare_drives(
        [driven("b1", "A", 8, "gate_entry", "strikes"), driven("b2", "B", 8, "spin_down", "refusals")],
        [driven("a", "A", 0, "spin_down", "refusals")],
    )
    assert row(standing, "engine_refused_share").n_before == 9


def test_another_configuration_is_another_thing(tested):
    figure = length("free_play_mm", 3.0, of="3")
    whole = tested("b", "free_play", figure)
    parts = tested("a", "free_play", replace(figure, value=1.0), configuration="cables off")
    comparison = compare_drives([whole], [parts])
    assert {r.group for r in comparison.rows if r.measure == "free_play_mm"} == {"all", "3", "3, cables off"}
    assert all(r.verdict == "too_few" for r in comparison.rows if r.measure == "free_play_mm")


def test_a_test_on_one_side_is_told_with_the_word_for_what_was_counted(tested, result):
    before = tested("b", "straight_push", share_figure("found_home", "found 3", 2, 9))
    said = " ".join(" ".join(comparison_lines(compare_drives([before], [result("a", [])]))).split())
    assert "9 pushes before and 0 after" in said and "too few pushes" in said
    assert "shift" not in said.replace("shiftlog", "")


def test_a_figure_that_the_test_could_not_give_is_counted_with_its_reason(tested):
    soft = Figure(key="clearance_mm", label="clearance", unit="mm", of="4", why="its stop gives")
    sides = [tested(n, "clearance", length("clearance_mm", v, of="3"), soft) for n, v in (("b", 0.2), ("a", 1.6))]
    found = row(compare_drives([sides[0]], [sides[1]]), "clearance_mm")
    assert (found.left_out.before, found.left_out.after, found.left_out.why) == (1, 1, ("2 × its stop gives",))


def test_every_measure_of_a_test_names_a_kind_of_test():
    assert {m.test for m in MEASURES.values()} - {""} <= set(CARDS)


@pytest.mark.parametrize("repeats", [3, 6])
def test_intervals_hold_and_nothing_is_found_where_nothing_changed(repeats):
    """Medians of three or six repeats: their 95 % intervals cover the true difference (0 here) in 93 % or more."""
    rng = np.random.default_rng(52)
    held = claimed = 0
    for _ in range(600):
        sides = [
            [know(middle_figure("x", "x", "mm", middle_of(rng.normal(5.0, 0.4, repeats))), size_only=False)]
            for _ in range(2)
        ]
        found = weigh_figures(*sides)
        held += found.ci95[0] <= 0 <= found.ci95[1]
        claimed += found.p < 0.05
    assert held >= 558 and claimed <= 42
