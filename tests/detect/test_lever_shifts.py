"""Journeys of a lever: instants, attempts, outcomes, and what is rejected with which reason."""

import numpy as np
import pytest

from shiftlog.detect.gates import fit_gate_map
from shiftlog.detect.lever import build_path
from shiftlog.detect.shifts import find_lever_shifts
from shiftlog.model.settings import Settings
from shiftlog.model.trace import Trace

SETTINGS = Settings()
# A minimum-jerk move from seat to neutral passes depth 0.9 and 0.5 at these shares of its time (closed form).
U10, U50 = 0.2466, 0.5


def find(hand, car, **more):
    signals = hand.signals(lever_grows=("right", "forward"), **more)
    gate = fit_gate_map(signals, car)
    return find_lever_shifts(build_path(signals.lever, gate, SETTINGS), signals, car, SETTINGS)


@pytest.fixture
def warm(car, make_hand):
    """A hand that has been through all gears and waits in third."""
    hand = make_hand(car).hold(2.5)
    for gear in ("1", "2", "3", "4", "5", "4", "3"):
        hand.shift(gear)
    return hand


def last(findings):
    return findings.shifts[-1]


def test_a_clean_shift_has_its_times_from_the_path(warm, car):
    left = warm.now_s
    warm.shift("4")
    shift = last(find(warm, car))
    assert (shift.from_gear, shift.to_gear, shift.outcome, shift.attempts) == ("3", "4", "clean", 1)
    assert shift.start_s == pytest.approx(left + U10 * 0.12, abs=0.002)
    assert shift.out_s == pytest.approx(left + U50 * 0.12, abs=0.002)
    assert shift.in_s == pytest.approx(left + 0.12 + U50 * 0.12, abs=0.002)
    assert shift.end_s == pytest.approx(left + 0.12 + (1 - U10) * 0.12, abs=0.002)


def test_a_shift_from_neutral_starts_at_depth_a_tenth(warm, car):
    warm.out().hold(3.0)
    left = warm.now_s
    warm.push("4").hold(1.5)
    into_neutral, shift = find(warm, car).shifts[-2:]
    assert (into_neutral.to_gear, into_neutral.outcome) == ("N", "to_neutral")
    assert (shift.from_gear, shift.to_gear, shift.outcome) == ("N", "4", "clean")
    assert shift.start_s == pytest.approx(left + U10 * 0.12, abs=0.002)


def test_a_refused_push_is_a_second_push(warm, car):
    warm.out().push("4", 0.6, 0.1).hold(0.1).out(0.1).push("4").hold(1.5)
    shift = last(find(warm, car))
    assert (shift.from_gear, shift.to_gear, shift.outcome, shift.attempts) == ("3", "4", "second_push", 2)


def test_refused_and_back_is_missed(warm, car):
    warm.out().push("4", 0.6, 0.1).out(0.1).push("3").hold(1.5)
    shift = last(find(warm, car))
    assert (shift.from_gear, shift.to_gear, shift.outcome) == ("3", "4", "missed")


def test_refused_and_left_in_neutral_is_missed(warm, car):
    warm.out().push("4", 0.6, 0.1).out(0.1).hold(2.5)
    shift = last(find(warm, car))
    assert (shift.from_gear, shift.to_gear, shift.outcome) == ("3", "4", "missed")


def test_out_and_back_without_a_push_elsewhere(warm, car):
    warm.out().hold(0.2).push("3").hold(1.5)
    shift = last(find(warm, car))
    assert (shift.from_gear, shift.to_gear, shift.outcome) == ("3", "3", "out_and_back")


def test_a_stay_in_neutral_of_two_seconds_ends_the_journey(warm, car):
    warm.out().hold(1.7).push("4").hold(1.5)
    assert last(find(warm, car)).from_gear == "3"
    warm.out().hold(2.2).push("3").hold(1.5)
    assert [s.outcome for s in find(warm, car).shifts[-2:]] == ["to_neutral", "clean"]


def test_a_pause_in_neutral_is_told(warm, car):
    warm.out().hold(0.3).push("4").hold(1.5)
    assert last(find(warm, car)).paused is True
    warm.out().hold(0.05).push("3").hold(1.5)
    assert last(find(warm, car)).paused is False


def test_a_wrong_gear_left_at_once_and_the_one_that_was_meant(warm, car):
    warm.shift("2").shift("5", stay_s=0.4).shift("3")
    wrong, right = find(warm, car).shifts[-2:]
    assert (wrong.from_gear, wrong.to_gear, wrong.outcome) == ("2", "5", "wrong_gear")
    assert (right.from_gear, right.to_gear, right.outcome) == ("5", "3", "clean")


def test_rowing_down_with_the_clutch_held_is_one_journey(warm, car):
    warm.shift("5")
    pressed = warm.now_s
    warm.shift("4", stay_s=0.3).shift("3", stay_s=0.3).shift("2", stay_s=0.5)
    released = warm.now_s
    warm.hold(1.5)
    shift = last(find(warm, car, clutch=clutch(warm, pressed, released)))
    assert (shift.from_gear, shift.to_gear, shift.via) == ("5", "2", ("4", "3"))


def test_the_same_gears_with_the_clutch_let_up_are_three_journeys(warm, car):
    warm.shift("5").shift("4", stay_s=0.7).shift("3", stay_s=0.7).shift("2")
    steps = [(s.from_gear, s.to_gear) for s in find(warm, car, clutch=clutch(warm, 0, 0)).shifts[-3:]]
    assert steps == [("5", "4"), ("4", "3"), ("3", "2")]


def clutch(hand, pressed_s, released_s):
    time = np.arange(0, hand.now_s, 0.02)
    down = ((time >= pressed_s) & (time < released_s)).astype(float)
    return Trace(time_s=time, values=down, spans=((0, time[-1]),), rate_hz=50, recording="pedals", place="pedal")


def test_baulk_is_the_time_the_lever_stands_on_its_way_in(warm, car):
    warm.out().push("4", 0.5, 0.08).hold(0.15).push("4", 1.0, 0.08).hold(1.5)
    shift = last(find(warm, car))
    assert shift.outcome == "clean"
    (start, end), *more = shift.baulk
    assert not more
    assert end - start == pytest.approx(0.15 + 2 * 0.08 * 0.12, abs=0.02)


def test_a_hand_that_moves_the_lever_in_gear_is_no_journey(warm, car):
    before = len(find(warm, car).shifts)
    warm.push("3", 0.8, 0.2).push("3", 1.0, 0.2).hold(0.5).push("3", 0.4, 0.2).push("3", 1.0, 0.2).hold(1.0)
    assert len(find(warm, car).shifts) == before


def test_a_touch_that_is_no_attempt_is_rejected_with_the_reason(warm, car):
    warm.out().hold(2.5).push("4", 0.32, 0.2).out(0.2).hold(2.5)
    findings = find(warm, car)
    assert last(findings).outcome == "to_neutral"
    assert "an attempt begins at 0.35" in findings.rejected[-1].why


def test_a_log_that_ends_on_the_way_is_rejected_with_the_reason(warm, car):
    warm.out().hold(0.5)
    assert "the log ends on the way" in find(warm, car).rejected[-1].why


@pytest.mark.parametrize("noise", [0.0, 2.0])
def test_noise_of_two_counts_moves_a_shift_time_by_little(warm, car, noise):
    for gear in ("4", "3") * 10:
        warm.shift(gear)
    signals = warm.signals(noise=noise, lever_grows=("right", "forward"))
    gate = fit_gate_map(signals, car)
    found = find_lever_shifts(build_path(signals.lever, gate, SETTINGS), signals, car, SETTINGS).shifts[-20:]
    errors = [s.end_s - s.start_s - 2 * 0.12 * (1 - U10) for s in found]
    assert np.median(np.abs(errors)) < 0.0015
    assert np.max(np.abs(errors)) < 0.006
