"""What few values, equal answers, equal names and other places allow to be said, and that nothing drops out unseen."""

import time
from dataclasses import replace

import numpy as np
import pytest

from shiftlog.compare.drives import compare_drives
from shiftlog.compare.repeats import find_repeats
from shiftlog.compare.shares import find_newcombe
from shiftlog.errors import CompareError
from shiftlog.model.drive import ClockMatch, Mounting
from shiftlog.model.recording import Quality
from shiftlog.model.result import InputFile, RecordingReport


def row(comparison, measure="shift_time_s", group="2-3"):
    return next(r for r in comparison.rows if (r.measure, r.group) == (measure, group))


def with_logs(result, sha):
    return replace(result, inputs=(InputFile(file="lever.csv", sha256=sha, size_bytes=1),))


def with_recorder(result, place, can=("knock",)):
    report = RecordingReport(
        name=place, place=place, quality=Quality(rate_hz=1600.0, jitter_s=0.0, samples=9, duration_s=1.0),
        clock=ClockMatch(offset_s=0.0, drift_ppm=0.0, how="reference", confidence=1.0),
        mounting=Mounting(rotation=None, how="unknown"), can_measure=can, cannot_measure=(),
    )  # fmt: skip
    return replace(result, recordings=(*result.recordings, report))


def test_no_refusal_in_three_says_nothing_about_the_fourth(result, shift):
    """Wilson's upper limit of 0 in 3 is 56 %."""
    sides = [[result(name, [shift(k) for k in range(3)])] for name in ("a", "b")]
    found = row(compare_drives(*sides), "refused_share", "all")
    assert (found.verdict, found.difference) == ("unclear", 0.0)
    assert found.ci_high == pytest.approx(0.5615, abs=1e-4)


def test_the_interval_of_a_share_never_shrinks_to_a_point(result, shift):
    before = [result("a", [shift(k, outcome="second_push") for k in range(3)])]
    found = row(compare_drives(before, [result("b", [shift(k) for k in range(3)])]), "refused_share", "all")
    assert (found.difference, found.ci_low) == (-1.0, -1.0)
    assert -0.5 < found.ci_high < 0


def test_three_equal_values_a_side_are_not_the_same(result, shift):
    few, many = (
        row(compare_drives(*[[result(s, [shift(k) for k in range(n)])] for s in "ab"])) for n in (3, 12)
    )  # fmt: skip
    assert (few.verdict, many.verdict) == ("unclear", "same")
    assert "too few" in few.why


@pytest.mark.parametrize(
    ("k", "n", "down", "up"),
    # Newcombe, Stat. Med. 17 (1998) 873, method 10: 56/70 against 48/80, 0.2 (0.0524 to 0.3339); limits recomputed.
    [((48, 56), (80, 70), 0.2 - 0.0524, 0.3339 - 0.2)],
)
def test_difference_of_shares_by_newcombe(k, n, down, up):
    found = find_newcombe((k[0], n[0]), (k[1], n[1]), confidence=0.95)
    assert found == (pytest.approx(0.2 - down, abs=5e-5), pytest.approx(0.2 + up, abs=5e-5))


def test_two_folders_of_one_name_are_two_drives(result, shift):
    slow, quick = [shift(k, time_s=0.5) for k in range(8)], [shift(k, time_s=0.4) for k in range(8)]
    before = [with_logs(result("warm-1", slow), sha) for sha in ("a", "b")]
    found = row(compare_drives(before, [with_logs(result("warm-1", quick), "c")]))
    assert (found.drives_before, found.n_before, found.drives_after, found.n_after) == (2, 16, 1, 8)


def test_one_drive_counts_once(result, shift):
    one = with_logs(result("warm-1", [shift(k) for k in range(4)]), "a")
    copy = replace(one, head=replace(one.head, id="copy of warm-1"))
    with pytest.raises(CompareError, match="given twice before"):
        compare_drives([one, one], [with_logs(result("b", [shift()]), "b")])
    with pytest.raises(CompareError, match="stands on both sides"):
        compare_drives([one], [one])
    with pytest.raises(CompareError, match="copy of warm-1 is left out: its log lever.csv"):
        compare_drives([one], [copy])


def test_a_drive_under_another_name_or_with_a_log_less_is_left_out_and_said(result, shift):
    """The lever's log makes the drive; a log of the bus beside it may be missing in a copy, or stand in two drives."""
    bus = InputFile(file="bus.csv", sha256="bus", size_bytes=1)

    def drive(name, sha, *, with_bus=True):
        one = with_recorder(with_logs(result(name, [shift(k) for k in range(4)]), sha), "lever")
        recordings = tuple(replace(rec, file="lever.csv") for rec in one.recordings)
        return replace(one, recordings=recordings, inputs=(*one.inputs, bus) if with_bus else one.inputs)

    one, other, after = drive("warm-1", "a"), drive("warm-2", "b"), drive("cured", "c")
    copy = drive("warm-3", "a", with_bus=False)
    comparison = compare_drives([one, other, copy], [after, drive("warm-4", "a")])
    assert (comparison.before, comparison.after) == (("warm-1", "warm-2"), ("cured",))
    said = [text for text in comparison.caveats if "is left out" in text]
    assert [name in text for name, text in zip(("warm-3", "warm-4"), said, strict=True)] == [True, True]
    found = row(comparison, "shift_time_s", "all")
    assert (found.drives_before, found.n_before, found.drives_after) == (2, 8, 1)


def test_a_copy_is_no_repeat_drive(result, shift):
    def drive(name, sha, stage):
        one = with_logs(result(name, [shift(k) for k in range(4)]), sha)
        return replace(one, head=replace(one.head, stage=stage))

    compared, kept, copy = drive("b", "a", "before"), drive("r", "r", "spring"), drive("r again", "r", "spring")
    assert find_repeats([kept, copy, drive("b again", "a", "spring")], without=[compared]) == []
    assert len(find_repeats([kept, copy, drive("s", "s", "spring")])[0]) == 2


def test_every_shift_of_a_drive_is_used_or_left_out_with_its_reason(result, shift):
    odd = [
        shift(1), shift(2, outcome="jumped_out"), shift(3, outcome="out_and_back"),
        shift(4, ("2", "N"), outcome="to_neutral"), shift(5, ("4", "5")), shift(6, outcome="missed", time_s=None),
    ]  # fmt: skip
    comparison = compare_drives([result("a", odd)], [result("b", [shift(k) for k in range(4)])])
    for measure in ("shift_time_s", "refused_share"):
        found = row(comparison, measure, "all")
        assert (found.n_before + found.left_out.before, found.n_after + found.left_out.after) == (6, 4)
        assert sum(int(why.split()[0]) for why in found.left_out.why) == found.left_out.before


def test_knocks_felt_at_two_places_are_left_out_and_said(result, shift):
    def drive(name, place):
        return with_recorder(result(name, [shift(k, figures={"knock_peak_mps2": 9.0}) for k in range(4)]), place)

    apart = row(compare_drives([drive("a", "gearbox")], [drive("b", "lever")]), "knock_peak_mps2", "all")
    assert (apart.verdict, apart.left_out.before, apart.left_out.after) == ("too_few", 4, 4)
    mixed = compare_drives([drive("a", "gearbox"), drive("c", "lever")], [drive("b", "gearbox")])
    found = row(mixed, "knock_peak_mps2")
    assert (found.n_before, found.left_out.before, found.n_after) == (4, 4, 4)


def test_a_lever_sensor_that_hears_no_knock_does_not_take_the_knocks_away(result, shift):
    def drive(name):
        return with_recorder(result(name, [shift(k, figures={"knock_peak_mps2": 9.0}) for k in range(4)]), "gearbox")

    deaf = with_recorder(result("c", [shift(k) for k in range(4)]), "lever", can=("shift times",))
    found = row(compare_drives([drive("a"), deaf], [drive("b")]), "knock_peak_mps2")
    assert (found.n_before, found.left_out.before) == (4, 4)


def test_many_drives_are_compared_in_a_moment(result, shift):
    """Twelve a side have 2.7 million arrangements; a page of them must not take minutes."""
    sides = [[result(f"{s}{d}", [shift(k, time_s=0.4 + 0.01 * d) for k in range(4)]) for d in range(12)] for s in "ab"]
    began = time.perf_counter()
    first, again = (row(compare_drives(*sides)) for _ in range(2))
    assert time.perf_counter() - began < 10
    assert first.p == again.p is not None


@pytest.mark.parametrize("drives", [2, 3, 4])
def test_the_headline_covers_where_days_differ_as_much_as_shifts(result, shift, drives):
    """Nine kinds, drive-to-drive spread equal to the shift-to-shift one, nothing changed: 95 % less three errors."""
    rng = np.random.default_rng(drives)
    pages, kinds = 60, [(str(g), str(g + 1)) for g in range(1, 10)]
    covered = 0
    for _ in range(pages):
        days = rng.normal(0.4, 0.04, (2, drives))
        sides = [
            [result(f"{i}{d}", [shift(k, g, rng.normal(day, 0.04)) for g in kinds for k in range(5)])
             for d, day in enumerate(side)] for i, side in enumerate(days)
        ]  # fmt: skip
        found = row(compare_drives(*sides), group="all")
        covered += found.ci_low <= 0 <= found.ci_high
    assert covered >= 52


def test_what_only_rounding_tells_apart_is_no_spread(result, shift):
    """Seven times a tenth is not seven tenths to the last digit; no p may come of that."""
    sides = [[result(f"{s}{d}", [shift(k, g, time_s=t) for g in (("1", "2"), ("2", "3")) for k in range(3 + d)])
              for d in range(3)] for s, t in (("a", 0.1 * 7), ("b", 0.7))]  # fmt: skip
    found = row(compare_drives(*sides), group="all")
    assert (found.p, found.verdict) == (None, "same")
