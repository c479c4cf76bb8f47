"""Rests by what they share; the lever that makes no motion stays in the count."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import binomtest

from shiftlog.neutral.groups import group_rests


def test_standing_and_under_way_cold_and_hot_stay_apart(make_rest, make_result, layout):
    rests = [
        make_rest(1.0, speed=20.0, temp=80.0), make_rest(1.0, temp=80.0), make_rest(1.0, temp=20.0),
        make_rest(1.0, speed=None),
    ]  # fmt: skip
    groups = group_rests([make_result(*rests)], layout)
    assert [(g.moving, g.band, g.released) for g in groups] == [
        ("under way", "hot", 1), ("standing", "cold", 1), ("standing", "hot", 1), ("not known", "not known", 1),
    ]  # fmt: skip


def test_a_drive_marked_cold_is_cold_where_no_temperature_is_known(make_rest, make_result, layout):
    [cold] = group_rests([make_result(make_rest(1.0), cold=True)], layout)
    [warm] = group_rests([make_result(make_rest(1.0, temp=80.0), cold=True)], layout)
    assert (cold.band, warm.band) == ("cold", "hot")


def test_share_and_its_interval_are_clopper_and_pearsons(make_rest, make_result, layout):
    rests = [make_rest(-24.0)] * 9 + [make_rest(1.0)] * 3
    [group] = group_rests([make_result(*rests)], layout)
    exact = binomtest(9, 12).proportion_ci(0.95, method="exact")
    assert (group.wrong_plane.k, group.wrong_plane.n) == (9, 12)
    assert group.wrong_plane.low == pytest.approx(exact.low) and group.wrong_plane.high == pytest.approx(exact.high)


def test_a_lever_that_makes_no_motion_is_counted_and_bounds_the_share(make_rest, make_result, layout):
    """Friction leaves the sickest lever where it was let go: release not known, and no motion."""
    lies = [make_rest(s, released=None, moved_mm=0.2) for s in (-24.0, -24.4, 23.5, 24.5)]
    [group] = group_rests([make_result(*lies, make_rest(0.5))], layout)
    assert (group.unmoved, group.unmoved_elsewhere, group.released) == (4, 4, 1)
    assert group.unmoved_apart_mm == pytest.approx(48.2)
    assert group.wrong_plane.if_unknown_counted == (0.0, 0.8)


def test_hysteresis_of_scattered_rests_lies_within_its_interval(make_rest, make_result, layout):
    """From 400 drives of ten let-goes a side with 1 mm of scatter; truth 5 mm. The interval is 95 %."""
    rng, held = np.random.default_rng(3), 0
    for _ in range(400):
        right = [make_rest(float(v), came_from="right") for v in rng.normal(2.5, 1.0, 10)]
        left = [make_rest(float(v), came_from="left") for v in rng.normal(-2.5, 1.0, 10)]
        [group] = group_rests([make_result(*right, *left)], layout)
        low, high = group.readings["hysteresis_mm"].interval95
        held += low <= 5.0 <= high
    assert 0.92 <= held / 400 <= 0.985


def test_one_side_alone_gives_no_hysteresis_but_the_reason(make_rest, make_result, layout):
    [group] = group_rests([make_result(*[make_rest(2.0, came_from="right")] * 5)], layout)
    assert group.value("hysteresis_mm") is None
    assert "5 from the right, 0 from the left" in group.readings["hysteresis_mm"].why


def test_bends_are_left_out_and_counted(make_rest, make_result, layout):
    [group] = group_rests([make_result(make_rest(1.0), make_rest(-24.0, in_bend=True))], layout)
    assert (group.in_bends, group.released, group.wrong_plane.k) == (1, 1, 0)


def test_without_a_home_plane_there_is_no_share(make_rest, make_result, layout):
    free = replace(layout, home=None)
    [group] = group_rests([make_result(make_rest(1.0), layout=free)], free)
    assert group.wrong_plane is None and "no home plane" in group.unmeasured["wrong_plane"]


def test_mirroring_the_gate_turns_offset_and_hysteresis_round(make_rest, make_result, layout):
    sides = [(2.0, "right"), (2.4, "right"), (2.2, "right"), (-1.0, "left"), (-1.2, "left"), (-0.9, "left")]
    other = {"right": "left", "left": "right"}
    [one] = group_rests([make_result(*(make_rest(s, came_from=side) for s, side in sides))], layout)
    [two] = group_rests([make_result(*(make_rest(-s, came_from=other[side]) for s, side in sides))], layout)
    assert two.value("offset_mm") == pytest.approx(-one.value("offset_mm"))
    assert two.value("hysteresis_mm") == pytest.approx(one.value("hysteresis_mm"))
