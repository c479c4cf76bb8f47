"""Before against after: counts that add up, verdicts that claim no more than was measured, laws."""

import json
from dataclasses import replace

import numpy as np
import pytest

from shiftlog.compare.document import comparison_to_document
from shiftlog.compare.drives import compare_drives
from shiftlog.errors import CompareError
from shiftlog.model.drive import ClockMatch, Mounting
from shiftlog.model.recording import Quality
from shiftlog.model.result import RecordingReport


@pytest.fixture
def side(result, shift):
    def make(name, centre_s, drives=3, n=8, seed=0, gears=("2", "3"), **more):
        rng = np.random.default_rng([seed, *name.encode()])
        return [
            result(
                f"{name}-{d}", [shift(k, gears, centre_s * rng.lognormal(0, 0.08), **more) for k in range(n)]
            )  # fmt: skip
            for d in range(drives)
        ]

    return make


def row(comparison, measure="shift_time_s", group="2-3"):
    return next(r for r in comparison.rows if (r.measure, r.group) == (measure, group))


def test_a_shorter_time_is_better(side):
    comparison = compare_drives(side("cold", 0.5), side("cured", 0.4))
    found = row(comparison)
    assert (found.verdict, found.provisional) == ("better", False)
    assert found.ci_low < found.difference < found.ci_high < 0
    assert found.why.startswith("shorter by 0.")
    assert (found.n_before, found.n_after, found.drives_before, found.drives_after) == (24, 24, 3, 3)


def test_one_drive_a_side_says_that_day_and_repair_cannot_be_told_apart(side):
    found = row(compare_drives(side("cold", 0.5, drives=1), side("cured", 0.4, drives=1)))
    assert "the day and the repair cannot be told apart" in found.why


def test_two_shifts_a_side_are_too_few(side):
    assert row(compare_drives(side("a", 0.5, drives=1, n=2), side("b", 0.4, drives=1))).verdict == "too_few"


def test_nothing_changed_by_much_is_the_same_only_inside_the_margin(side):
    close = row(compare_drives(side("a", 0.4, drives=6, n=40), side("b", 0.401, drives=6, n=40)))
    assert close.verdict == "same"
    far = row(compare_drives(side("a", 0.4, drives=2, n=4), side("b", 0.401, drives=2, n=4)))
    assert far.verdict in ("unclear", "same")
    assert far.ci_high - far.ci_low > close.ci_high - close.ci_low


def test_swapping_the_sides_mirrors_the_row(side):
    before, after = side("a", 0.5), side("b", 0.4)
    there, back = row(compare_drives(before, after)), row(compare_drives(after, before))
    assert back.difference == pytest.approx(-there.difference)
    assert back.cliffs_delta == pytest.approx(-there.cliffs_delta)
    assert (there.verdict, back.verdict) == ("better", "worse")


def test_a_shift_of_another_kind_changes_nothing_in_a_row(side, result, shift):
    before, after = side("a", 0.5), side("b", 0.4)
    extra = [result(r.head.id, [*r.shifts, shift(99, ("4", "5"), 3.0)]) for r in before]
    assert row(compare_drives(extra, after)).difference == pytest.approx(row(compare_drives(before, after)).difference)


def test_a_drive_with_more_of_a_slow_kind_does_not_look_slower(result, shift):
    """Second gear takes 0.6 s and third 0.3 s on both sides; only the mix differs."""
    slow, quick = lambda k: shift(k, ("1", "2"), 0.6 + 0.001 * k), lambda k: shift(k, ("2", "3"), 0.3 + 0.001 * k)
    before = [result(f"b{d}", [*map(slow, range(9)), *map(quick, range(3))]) for d in range(2)]
    after = [result(f"a{d}", [*map(slow, range(3)), *map(quick, range(9))]) for d in range(2)]
    assert abs(row(compare_drives(before, after), group="all").difference) < 0.01


def test_used_and_left_out_add_up_to_all_shifts_of_the_kind(result, shift):
    mixed = [shift(1), shift(2, outcome="missed", time_s=None), shift(3, outcome="wrong_gear"), shift(4, via=("4",))]
    comparison = compare_drives([result("a", mixed)], [result("b", [shift(k) for k in range(4)])])
    found = row(comparison)
    assert found.n_before + found.left_out.before == 4
    assert found.n_after + found.left_out.after == 4
    assert any("missed" in why for why in found.left_out.why)


def test_paused_and_standing_shifts_are_kinds_of_their_own(result, shift):
    shifts = [shift(1), shift(2, paused=True), shift(3, standing=True)]
    groups = {r.group for r in compare_drives([result("a", shifts)], [result("b", shifts)]).rows}
    assert {"2-3", "2-3 paused", "2-3 standing", "all"} <= groups


def test_shifts_at_standstill_count_in_their_own_rows_and_in_no_headline(result, shift):
    """Gears pressed one by one in a clearance test take as long as the test does."""
    driven = [shift(k, time_s=0.4 + 0.002 * k) for k in range(6)]
    pressed = lambda time_s: [shift(9, ("4", "5"), time_s, standing=True)]  # noqa: E731
    sides = [[result(f"{s}{d}", [*driven, *pressed(t + d)]) for d in range(3)] for s, t in (("b", 15.0), ("a", 1.0))]
    found = compare_drives(*sides)
    whole = row(found, group="all")
    assert (whole.verdict, whole.n_before, whole.difference) == ("same", 18, 0.0)
    assert whole.left_out.why == ("6 × at standstill: a row of its own",)
    assert row(found, group="4-5 standing").n_before == 3


def test_drives_at_standstill_alone_still_have_a_headline(result, shift):
    sides = [[result(f"{s}{d}", [shift(k, standing=True) for k in range(4)]) for d in range(3)] for s in "ba"]
    assert row(compare_drives(*sides), group="all").n_before == 12


def test_shifts_whose_gears_nobody_knows_are_never_taken_for_like(result, shift):
    felt = [shift(k, (None, None), 0.4 + 0.01 * k, outcome=None, confidence=0.9) for k in range(8)]
    comparison = compare_drives([result("a", [shift(9), *felt])], [result("b", [shift(9), *felt])])
    assert not [r for r in comparison.rows if r.group not in ("all", "2-3") and r.n_before]
    whole = row(comparison, group="all")
    assert whole.n_before == whole.n_after == 1 and not any("None" in r.group for r in comparison.rows)
    assert any("which gears it was is not known" in why for why in whole.left_out.why)


def test_refusals_are_counted_as_a_share_of_shifts_under_way(result, shift):
    refused = [shift(k, outcome="second_push" if k % 2 else "clean") for k in range(10)]
    clean = [shift(k) for k in range(10)]
    found = row(compare_drives([result("a", refused)], [result("b", clean)]), "refused_share", "all")
    assert (found.before, found.after) == (pytest.approx(0.5), pytest.approx(0.0))


def test_a_shorter_baulk_with_more_refusals_is_never_better(result, shift):
    before = [result("a", [shift(k, figures={"baulk_time_s": 0.15 + 0.001 * k}) for k in range(12)])]
    crashing = [
        shift(k, outcome="second_push" if k % 3 == 0 else "clean", figures={"baulk_time_s": 0.02 + 0.001 * k})
        for k in range(12)
    ]
    found = row(compare_drives(before, [result("b", crashing)]), "baulk_time_s")
    assert found.difference < 0
    assert found.verdict == "unclear"
    assert "refused" in found.why


def test_a_kind_that_happened_not_to_grind_is_no_better_where_all_together_grind(result, shift):
    def drive(name: str, baulk_s: float, *, quiet: int, loud: int):
        def one(k, gears, ground):
            return shift(k, gears, figures={"baulk_time_s": baulk_s + 0.001 * k, "grind": k < ground})

        return result(name, [one(k, gears, n) for gears, n in ((("2", "3"), quiet), (("3", "4"), loud))
                             for k in range(10)])  # fmt: skip

    def found(before, after):
        sides = [[drive(f"{side}{k}", *given[:1], quiet=given[1], loud=given[2] + k % 2) for k in range(4)]
                 for side, given in (("b", before), ("a", after))]  # fmt: skip
        return row(compare_drives(*sides), "baulk_time_s")

    taken = found((0.15, 0, 0), (0.02, 0, 6))
    assert taken.verdict == "unclear" and "more shifts ground" in taken.taken_back
    assert found((0.15, 4, 0), (0.02, 0, 9)).verdict == "better"


def test_one_refusal_more_in_many_shifts_takes_no_gain_back(result, shift):
    def drive(name: str, baulk_s: float, refused: tuple[int, ...]):
        shifts = [
            shift(k, outcome="second_push" if k in refused else "clean", figures={"baulk_time_s": baulk_s + 0.001 * k})
            for k in range(12)
        ]
        return result(name, shifts)

    before = [drive(f"a{k}", 0.15, (0,) if k == 0 else ()) for k in range(4)]
    after = [drive(f"b{k}", 0.02, (0,) if k < 2 else ()) for k in range(4)]
    found = row(compare_drives(before, after), "baulk_time_s")
    assert found.verdict == "better" and not found.taken_back


def test_different_cars_are_refused_with_one_line(result, shift):
    with pytest.raises(CompareError, match="different cars"):
        compare_drives([result("a", [shift()], car="one")], [result("b", [shift()], car="two")])


def test_a_gentler_hand_and_another_driver_are_said(result, shift):
    before = [result("a", [shift(k, figures={"approach_speed_mmps": 300.0}) for k in range(3)], driver="A")]
    after = [result("b", [shift(k, figures={"approach_speed_mmps": 210.0}) for k in range(3)], driver="B")]
    caveats = " | ".join(compare_drives(before, after).caveats)
    assert "30 % gentler" in caveats and "driver A before, B after" in caveats


def test_the_document_is_plain_json_with_every_field(side):
    document = json.loads(
        json.dumps(comparison_to_document(compare_drives(side("a", 0.5), side("b", 0.4))), allow_nan=False)
    )
    expected = {
        "measure", "group", "drives_before", "drives_after", "n_before", "n_after", "before", "after", "difference",
        "ci_low", "ci_high", "p", "p_corrected", "cliffs_delta", "smallest_change", "margin", "unit", "better", "df",
        "method", "left_out", "more_drives", "verdict", "provisional", "why", "times_shifts", "history_df", "p_explore",
        "p_permutation", "p_same", "notes", "counted", "where", "k_before", "k_after", "taken_back", "interval_covers",
        "tries_needed",
    }  # fmt: skip
    assert expected == set(document["rows"][0])
    assert set(document) == {"format", "before", "after", "caveats", "advice", "hand", "rows"}


def test_a_null_comparison_rarely_claims_and_its_interval_mostly_covers(result, shift):
    """Sixty pairs of sides that differ in nothing but drive-to-drive (a quarter of the) and shift-to-shift spread."""
    rng = np.random.default_rng(11)
    covered = 0
    for page in range(60):
        sides = [
            [result(f"{s}{page}{d}", _drive(rng, shift)) for d in range(4)] for s in ("a", "b")
        ]  # fmt: skip
        found = row(compare_drives(*sides))
        covered += found.ci_low <= 0 <= found.ci_high
    assert covered >= 52


def _drive(rng, shift):
    day = rng.normal(0, 0.01)
    return [shift(k, time_s=0.4 + day + rng.normal(0, 0.04)) for k in range(10)]


def test_what_the_car_does_and_nothing_measured_is_named(result, shift):
    said = compare_drives([result("b", [shift(1)])], [result("a", [shift(1)])]).advice[-1]
    assert said.startswith("not measured in any of these drives: grinds, synchroniser slope, ") and "check" in said
    assert "refusals" not in said


def recorder(place):
    return RecordingReport(
        name=place, place=place, quality=Quality(rate_hz=100.0, jitter_s=0.0, samples=9, duration_s=1.0),
        clock=ClockMatch(offset_s=0.0, drift_ppm=0.0, how="matched", confidence=1.0),
        mounting=Mounting(rotation=None, how="unknown"), can_measure=(), cannot_measure=(),
    )  # fmt: skip


def test_a_recorder_that_one_drive_of_a_side_lacks_is_said(side):
    before, after = side("a", 0.5), side("b", 0.4)
    fitted = [replace(r, recordings=(recorder("lever"), recorder("engine"))) for r in (*before, *after)]
    fitted[0] = replace(fitted[0], recordings=fitted[0].recordings[:1])
    found = compare_drives(fitted[: len(before)], fitted[len(before) :])
    told = [said for said in found.caveats if "without a recorder" in said]
    assert len(told) == 1 and f"at the engine: {before[0].head.id};" in told[0]
    assert not any("without a recorder" in said for said in compare_drives(fitted[1:3], fitted[3:]).caveats)
