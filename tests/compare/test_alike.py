"""Like is compared with like: what differs is left out and counted, or said."""

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
