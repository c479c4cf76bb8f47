"""Like is compared with like: what differs is left out and counted, or said."""

from dataclasses import replace

import pytest

from shiftlog.compare.drives import compare_drives


def row(comparison, measure="shift_time_s", group="2-3"):
    return next(r for r in comparison.rows if (r.measure, r.group) == (measure, group))


@pytest.fixture
def drives(result, shift):
    """Drives of shifts with one figure beside the time; times fall from side to side."""

    def make(name, values, *, count=3, time_s=0.4, key="engine_speed_rpm", driver=None, cold=None):
        made = []
        for d in range(count):
            shifts = [
                shift(k, time_s=time_s + 0.002 * ((k * 7 + d * 3) % 5) + 0.003 * d, figures={key: v})
                for k, v in enumerate(values)
            ]
            made.append(result(f"{name}{d}", shifts, driver=driver, cold=cold))
        return made

    return make


def test_shifts_beyond_the_other_side_s_range_are_left_out_and_counted(drives):
    before, after = drives("b", [3000, 3100, 3200, 3300, 6000]), drives("a", [3050, 3150, 3250, 3350, 3300])
    found = row(compare_drives(before, after))
    assert (found.n_before, found.n_after, found.left_out.before, found.left_out.after) == (12, 15, 3, 0)
    assert found.left_out.why == ("3 × engine speed outside what both sides drove",)


@pytest.mark.parametrize(
    ("key", "mine", "theirs", "name"),
    [
        ("engine_speed_rpm", 3000, 5000, "engine speed"),
        ("vehicle_speed_mps", 10, 20, "vehicle speed"),
        ("gearbox_temp_c", 10, 80, "gearbox temperature"),
        ("approach_speed_mmps", 100, 400, "approach speed of the hand"),
        ("rev_mismatch_rpm", -800, 800, "rev mismatch"),
    ],
)
def test_sides_that_share_no_band_cannot_be_compared(drives, key, mine, theirs, name):
    found = row(compare_drives(drives("b", [mine] * 4, key=key), drives("a", [theirs] * 4, key=key, time_s=0.3)))
    assert found.verdict == "too_few"
    assert found.left_out.before + found.left_out.after == 24
    assert f"{name} outside what both sides drove" in found.left_out.why[0]


def test_a_figure_one_side_did_not_log_leaves_nothing_out(drives, result, shift):
    found = row(compare_drives(drives("b", [3000] * 4), drives("a", [3000] * 4, key="vehicle_speed_mps")))
    assert found.left_out.why == ()


def test_swapping_sides_leaves_the_same_shifts_out(drives):
    before, after = drives("b", [3000, 3400, 6000, 6100]), drives("a", [2000, 2100, 3100, 3500])
    there, back = row(compare_drives(before, after)), row(compare_drives(after, before))
    assert (there.n_before, there.n_after) == (back.n_after, back.n_before)
    assert there.left_out.before == back.left_out.after > 0


def test_a_driver_of_one_side_only_is_left_out_where_another_drove_both(drives):
    before = drives("b", [3000] * 4, driver="A")
    after = drives("a", [3000] * 4, driver="A") + drives("x", [3000] * 4, driver="B", time_s=0.2)
    found = row(compare_drives(before, after))
    assert (found.drives_after, found.left_out.after) == (3, 12)
    assert found.left_out.why == ("12 × driver B on one side only",)


def test_a_cold_complaint_is_called_cured_on_cold_drives_only(drives):
    cold, slow = {"cold": True}, {"time_s": 0.6}
    warm_after = row(compare_drives(drives("b", [3000] * 4, **cold, **slow), drives("a", [3000] * 4, cold=False)))
    assert warm_after.verdict == "unclear"
    assert "a cold complaint is answered only on cold drives" in warm_after.why
    assert row(compare_drives(drives("b", [3000] * 4, **cold, **slow), drives("a", [3000] * 4, **cold))).verdict == (
        "better"
    )
    both = drives("a", [3000] * 4, **cold) + drives("w", [3000] * 4, cold=False, time_s=0.2)
    mixed = row(compare_drives(drives("b", [3000] * 4, **cold, **slow), both))
    assert (mixed.verdict, mixed.drives_after) == ("better", 3)
    assert "driven warm, no such drive on the other side" in mixed.left_out.why[0]


def test_times_and_knocks_say_that_the_hand_was_gentler(drives):
    before = drives("b", [200, 310, 290, 305], key="approach_speed_mmps", time_s=0.3)
    after = drives("a", [215, 210, 205, 280], key="approach_speed_mmps")
    comparison = compare_drives(before, after)
    assert "gentler after" in row(comparison).why
    assert "gentler" not in row(comparison, "refused_share", "all").why
    assert any("gentler after: times and knocks follow the hand" in caveat for caveat in comparison.caveats)


def geared(result, shift, name, ratios):
    """A drive with eight shifts 2-3 and eight 4-5, and these engine speeds for road speed by gear."""
    shifts = [shift(k, gears, 0.4 + 0.01 * k) for gears in (("2", "3"), ("4", "5")) for k in range(8)]
    one = result(name, shifts)
    return replace(one, summary=replace(one.summary, learnt_rpm_per_mps=ratios))


def test_shifts_of_a_gear_with_another_ratio_are_left_out_and_said(result, shift):
    own = {"2": 200.0, "3": 140.0, "4": 100.0, "5": 80.0}
    before, after = geared(result, shift, "b", own), geared(result, shift, "a", own | {"3": 156.8})
    comparison = compare_drives([before], [after])
    rows = {row.group: row for row in comparison.rows if row.measure == "shift_time_s"}
    assert (rows["2-3"].n_before, rows["2-3"].left_out.before, rows["4-5"].n_before, rows["all"].n_after) == (
        0,
        8,
        8,
        8,
    )
    assert "gear 3 had another ratio" in rows["2-3"].left_out.why[0]
    assert any("12 % in 3" in text and "into and out of 3 are left out" in text for text in comparison.caveats)


@pytest.mark.parametrize(("factor", "kept", "said"), [(1.03, 16, False), (1.06, 16, True), (1.12, 0, True)])
def test_tyres_are_no_other_gearbox(result, shift, factor, kept, said):
    """All gears alike by 6 % may be other tyres or another source of speed; by 12 % it is another final drive."""
    own = {"2": 200.0, "3": 140.0, "4": 100.0, "5": 80.0}
    after = geared(result, shift, "a", {gear: factor * ratio for gear, ratio in own.items()})
    comparison = compare_drives([geared(result, shift, "b", own)], [after])
    row = next(row for row in comparison.rows if (row.measure, row.group) == ("shift_time_s", "all"))
    assert (row.n_before, any("another ratio or tyre" in text for text in comparison.caveats)) == (kept, said)
