"""The lever's path against closed forms, and the gate's walls."""

import numpy as np
import pytest

from shiftlog.synth.levels import crossings, line_slope, runs, swings
from shiftlog.synth.path import (
    ENGAGE,
    PATH_RATE_HZ,
    SELECT,
    StrokePlan,
    keep_in_gate,
    skewed_min_jerk,
)


def test_min_jerk_stroke_takes_its_closed_form_from_10_to_90_percent():
    """10u³ − 15u⁴ + 6u⁵ passes from 10 % to 90 % in 0.5067271 T (closed form, recomputed); tolerance one hundredth of
    a grid step, as crossings are interpolated."""
    plan = StrokePlan(at=[0.0, 15.0])
    plan.go(ENGAGE, -15.0, start_s=0.2003, duration_s=0.3)
    time_s, path = plan.trace(1.0)
    share = (15.0 - path[:, ENGAGE]) / 30.0
    first, last = (crossings(time_s, share, level, rising=True)[0] for level in (0.1, 0.9))
    assert last - first == pytest.approx(0.5067271 * 0.3, abs=0.01 / PATH_RATE_HZ)


def test_min_jerk_peak_speed_is_1_875_times_the_mean():
    """Peak velocity 1.875 L/T (closed form); the 2 kHz grid loses less than 1e-4."""
    plan = StrokePlan(at=[0.0, 0.0])
    plan.go(SELECT, 25.0, start_s=0.1, duration_s=0.25)
    _, path = plan.trace(0.5)
    peak = np.max(np.diff(path[:, SELECT])) * PATH_RATE_HZ
    assert peak == pytest.approx(1.875 * 25.0 / 0.25, rel=1e-4)


def test_skew_moves_the_peak_and_keeps_the_ends():
    u = np.linspace(0, 1, 2001)
    early, late = (np.argmax(np.diff(skewed_min_jerk(u, s))) for s in (0.4, -0.4))
    assert early < 1000 < late
    assert skewed_min_jerk(np.array([0.0, 1.0]), 0.4).tolist() == [0.0, 1.0]


def test_overlapping_strokes_add_and_end_where_the_last_one_goes():
    plan = StrokePlan(at=[0.0, 14.0])
    plan.go(ENGAGE, 0.0, start_s=0.1, duration_s=0.2)
    plan.go(ENGAGE, -13.0, start_s=0.2, duration_s=0.2)
    plan.go(SELECT, 25.0, start_s=0.25, duration_s=0.1)
    _, path = plan.trace(1.0)
    assert path[0].tolist() == [0.0, 14.0]
    assert path[-1] == pytest.approx([25.0, -13.0], abs=1e-9)
    assert np.all(np.diff(path[:, ENGAGE]) <= 1e-12)


def test_walls_hold_select_in_a_slot_and_free_it_near_the_neutral_line():
    planes = np.array([-25.0, 0.0, 25.0])
    path = np.array([[4.0, 15.0], [4.0, 0.5], [12.0, -2.0], [-22.0, -14.0]])
    walled = keep_in_gate(path, planes, slack_mm=1.0, mouth_mm=3.0, corner_mm=6.0)
    assert walled[:, ENGAGE].tolist() == path[:, ENGAGE].tolist()
    assert walled[:, SELECT] == pytest.approx([1.0, 4.0, 12.0, -24.0])


def test_wall_is_round_between_mouth_and_corner():
    """A quarter circle: half way in depth it lies R (1 − √(3)/2) aside of the slot."""
    walled = keep_in_gate(np.array([[20.0, 4.5]]), np.array([0.0]), slack_mm=1.0, mouth_mm=3.0, corner_mm=6.0)
    assert walled[0, SELECT] == pytest.approx(1.0 + 3.0 * (1 - np.sqrt(3) / 2))


def test_line_slope_of_a_straight_line_is_its_slope():
    course = 3.0 + 40.0 * np.arange(200) / 1000.0
    assert line_slope(course, rate_hz=1000.0, window_s=0.02)[20:-20] == pytest.approx(40.0)


def test_swings_count_a_push_once_for_each_fall_of_the_least():
    course = np.array([0.0, 0.6, 0.5, 0.62, 0.1, 0.15, 0.7, 0.3, 1.0])
    assert swings(course, least=0.2) == [(0, 3), (4, 6), (7, 8)]


def test_runs_name_every_stretch():
    assert runs(np.array([True, False, True, True])) == [(0, 1), (2, 4)]
