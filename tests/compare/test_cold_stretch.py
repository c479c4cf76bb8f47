"""A complaint about the cold gearbox: cold stretches alone answer it, and without them nothing is called better."""

import copy
import pickle
from dataclasses import replace

import pytest

from shiftlog.compare.cold_stretch import find_cold_sides, find_cold_stretch, keep_cold
from shiftlog.compare.drives import compare_drives
from shiftlog.model.rest import Rest
from shiftlog.model.result import Summary
from shiftlog.model.told import tell


@pytest.fixture
def drive(shift, result):
    """A drive with a shift every ten seconds; temps : the gearbox's at each, or None for one that logged none."""

    def make(name="d", temps=None, *, times=None, cold=None, typed=None, count=6):
        temps = temps or [None] * count
        times = times or [0.4 + 0.001 * k for k in range(len(temps))]
        shifts = [
            shift(k + 1, time_s=times[k], figures={} if t is None else {"gearbox_temp_c": t})
            for k, t in enumerate(temps)
        ]
        made = result(name, shifts, cold=cold)
        return replace(made, head=replace(made.head, gearbox_temp_c=typed))

    return make


def headline(comparison):
    return next(r for r in comparison.rows if (r.measure, r.group) == ("shift_time_s", "all"))


def test_a_logged_temperature_tells_the_stretch(drive):
    """40 °C is passed between the third shift, at 30 s, and the fourth, at 40 s."""
    stretch = find_cold_stretch(drive(temps=[12.0, 25.0, 38.0, 41.0, 39.0, 60.0]))
    assert (stretch.end_s, stretch.by) == (40.0, "temperature")
    kept = keep_cold(drive(temps=[12.0, 25.0, 38.0, 41.0, 39.0, 60.0]))
    assert [s.number for s in kept.shifts] == [1, 2, 3] and kept.head.cold
    assert find_cold_stretch(drive(temps=[50.0, 60.0], cold=True)) is None  # what was logged goes before the mark


def test_without_a_log_the_first_ten_minutes_of_a_cold_start_stand_for_it(drive):
    marked = drive(cold=True, count=80)
    assert (find_cold_stretch(marked).end_s, find_cold_stretch(marked).by) == (600.0, "minutes")
    assert len(keep_cold(marked).shifts) == 59
    assert find_cold_stretch(drive()) is None and find_cold_stretch(drive(cold=False)) is None


def test_a_reading_typed_once_tells_the_start_and_not_the_whole_drive(drive):
    cool = drive(temps=[12.0] * 80, typed=12.0)
    assert (find_cold_stretch(cool).by, len(keep_cold(cool).shifts)) == ("minutes", 59)
    assert find_cold_stretch(drive(temps=[64.0] * 5, typed=64.0)) is None


def test_figures_of_the_whole_drive_do_not_pass_for_cold_ones(drive):
    warm = Rest(start_s=500.0, end_s=502.0, select_mm=0.0, engage_mm=0.0, plane="3-4", released=True,
                came_from="right", in_bend=False)  # fmt: skip
    made = replace(drive(temps=[12.0, 50.0]), rests=(warm,), summary=Summary(hysteresis_mm=0.4))
    kept = keep_cold(made)
    assert kept.rests == () and kept.summary.hysteresis_mm is None
    assert "cold stretch" in kept.summary.unmeasured["hysteresis_mm"]


def test_cold_stretches_alone_are_compared(drive):
    """Cold shifts take 0.5 s before and 0.4 s after; warm ones 0.2 s on both sides and would hide it."""
    temps = [15.0, 20.0, 25.0, 30.0, 60.0, 60.0, 60.0, 60.0]
    before = [drive(f"b{k}", temps, times=[0.5] * 4 + [0.2] * 4) for k in range(3)]
    after = [drive(f"a{k}", temps, times=[0.4 + 0.001 * k] * 4 + [0.2] * 4) for k in range(3)]
    found = compare_drives(before, after, cold_complaint=True)
    assert headline(found).before == pytest.approx(0.5) and headline(found).n_before == 12
    assert headline(found).verdict == "better"
    assert any("below 40 °C counts, by its logged temperature" in said for said in found.caveats)
    plain = compare_drives(before, after)
    assert headline(plain).n_before == 24


def test_without_a_cold_stretch_after_nothing_is_better_and_the_page_says_what_is_missing(drive):
    before = [drive(f"b{k}", times=[0.5 + 0.001 * k] * 6, cold=True) for k in range(3)]
    after = [drive(f"a{k}", times=[0.4 + 0.001 * k] * 6, temps=[55.0] * 6) for k in range(3)]
    found = headline(compare_drives(before, after, cold_complaint=True))
    assert found.verdict == "unclear" and "nothing was driven cold after the work" in found.why
    assert found.taken_back.key == "cold.lacks_after"
    said = compare_drives(before, after, cold_complaint=True)
    assert "gearbox below 40 °C" in said.advice[0] and said.caveats[0].key == "cold.lacks_after"


def test_what_got_worse_is_told_all_the_same(drive):
    sides = [[drive(f"{n}{k}", times=[t + 0.001 * k] * 6, temps=[60.0] * 6) for k in range(3)]
             for n, t in (("b", 0.4), ("a", 0.5))]  # fmt: skip
    assert headline(compare_drives(*sides, cold_complaint=True)).verdict == "worse"


def test_drives_without_a_cold_stretch_are_left_aside_by_name(drive):
    cold, warm = drive("early", cold=True), drive("late", temps=[60.0] * 6)
    sides = find_cold_sides([cold, warm], [cold])
    assert [r.head.id for r in sides.before] == ["early"] and sides.aside == ("late",) and sides.by == ("minutes",)
    assert find_cold_sides([warm], [warm]).lacks == ("before", "after")
    again = find_cold_sides(sides.before, sides.after)
    assert [len(r.shifts) for r in again.before] == [len(r.shifts) for r in sides.before]


def test_a_told_sentence_is_plain_text_and_a_copy_keeps_its_key():
    said = tell("cold.aside", "left aside: a", names="a")
    assert said == "left aside: a" and f"{said}." == "left aside: a."
    for again in (copy.deepcopy(said), pickle.loads(pickle.dumps(said))):
        assert (again, again.key, again.values) == (said, "cold.aside", {"names": "a"})
