"""The truth's own consistency: it follows from the path, and the script agrees with it."""

import numpy as np
import pytest

from shiftlog.synth.cars import CARS
from shiftlog.synth.hand import Hand, Push, Style
from shiftlog.synth.health import Health
from shiftlog.synth.path import PATH_RATE_HZ, StrokePlan
from shiftlog.synth.scenario import make_drive
from shiftlog.synth.scene import Scene
from shiftlog.synth.script import JourneyScript
from shiftlog.synth.true_shift import true_shift
from shiftlog.synth.vehicle import Motion

PLAIN = Style(out_s=0.2, cross_s=0.2, in_s=0.2, overlap=0.0, corner=0.9, skew=0.0, press_mm=0.0, press_s=0.0)


def _scene(hand: Hand, plan: StrokePlan) -> Scene:
    time_s, path = plan.trace(4.0)
    still = np.zeros(time_s.size)
    courses = {
        n: still
        for n in (
            "speed_mps",
            "engine_rpm",
            "accel_mps2",
            "force_n",
            "yaw_rate",
            "clutch",
            "throttle",
            "brake",
            "grade",
            "closed",
        )
    }
    motion = Motion(time_s=time_s, **courses)
    car = CARS["hatch5"].car
    seats = {g: hand.seat(g) for g in car.gate.gears}
    return Scene(car=car, seats=seats, time_s=time_s, path=path, steady=path, motion=motion)


def _shifted(pushes: tuple[Push, ...]) -> tuple[Scene, JourneyScript]:
    """3 to 4 with two separate strokes of 0.2 s, from 1.0 s on."""
    gate = CARS["hatch5"].car.gate
    plan = StrokePlan(at=[0.0, 15.0])
    rng = np.random.default_rng(1)
    hand = Hand(gate=gate, health=Health(name="new"), rng=rng, plan=plan)
    moved = hand.shift(1.0, "4", style=PLAIN, pushes=pushes)
    script = JourneyScript(
        from_gear="3",
        to_gear="4",
        kind="through",
        begin_s=moved.begin_s,
        neutral_s=moved.neutral_s,
        settle_s=moved.in_s,
    )
    return _scene(hand, plan), script


def test_shift_of_two_strokes_has_the_closed_forms_times():
    """Min-jerk passes 10 % at u = 0.246637 and 90 % at 1 − 0.246637 (width 0.5067271): from 0.9 in the old gear to 0.9
    in the new one is 0.4 s − 2 · 0.246637 · 0.2 s. The neutral line lies within 0.8 mm: under 1 ms."""
    scene, script = _shifted((Push(),))
    shift = true_shift(scene, script, number=1, before_s=0.0, after_s=4.0)
    assert shift.value("shift_time_s") == pytest.approx(0.4 - 2 * 0.2466365 * 0.2, abs=1e-3)
    assert shift.value("baulk_time_s") == 0.0
    assert (shift.outcome, shift.attempts, shift.paused) == ("clean", 1, False)


def test_stand_is_a_baulk_of_its_own_length_and_a_little():
    """A stand of 0.15 s, and the ends of the strokes about it that are below a fifth of the peak: 10 to 50 ms."""
    scene, script = _shifted((Push(depth=0.55, stand_s=0.15),))
    shift = true_shift(scene, script, number=1, before_s=0.0, after_s=4.0)
    assert 0.15 < shift.value("baulk_time_s") < 0.2
    assert shift.outcome == "clean"


def test_refused_push_counts_as_an_attempt():
    scene, script = _shifted((Push(depth=0.6, fall_to=0.1), Push()))
    shift = true_shift(scene, script, number=1, before_s=0.0, after_s=4.0)
    assert (shift.outcome, shift.attempts) == ("second_push", 2)


@pytest.fixture(scope="module")
def drive():
    return make_drive(car="coupe5", seed=12, health="worn", minutes=3.0)


def test_same_arguments_give_the_same_drive(drive):
    again = make_drive(car="coupe5", seed=12, health="worn", minutes=3.0)
    for one, other in zip(drive.recordings, again.recordings, strict=True):
        assert all(np.array_equal(one.columns[c], other.columns[c], equal_nan=True) for c in one.columns)


def test_journeys_follow_one_another_and_begin_where_the_last_one_ended(drive):
    gear = "N"
    for shift in drive.truth.shifts:
        assert shift.from_gear == gear, f"shift {shift.number}"
        refused = "N" if shift.end_s is None else shift.from_gear
        gear = refused if shift.outcome == "missed" else shift.to_gear
    starts = [s.start_s for s in drive.truth.shifts]
    assert starts == sorted(starts)


@pytest.mark.parametrize(
    ("car", "seed", "health"), [("saloon6", 5, "healthy"), ("dogleg5", 6, "worn"), ("van4", 7, "sick")]
)
def test_drives_keep_the_definitions_distances(car, seed, health):
    """No journey that the definitions would cut or join otherwise: stays in neutral, stays in a gear, rock."""
    truth = make_drive(car=car, seed=seed, health=health, minutes=3.0).truth
    assert len(truth.shifts) > 15 and truth.rock_mm <= 1.5
    for one, two in zip(truth.shifts, truth.shifts[1:], strict=False):
        if one.to_gear == "N":
            assert two.start_s - one.end_s > 2.05
        elif one.end_s is not None:
            stay = two.start_s - one.end_s
            assert 0.1 < stay < 0.75 if one.outcome == "wrong_gear" else stay > 0.8


def test_lever_is_in_the_gear_the_truth_names_between_journeys(drive):
    gate, origin = drive.car.gate, np.array(drive.truth.origin_mm)
    for one, two in zip(drive.truth.shifts, drive.truth.shifts[1:], strict=False):
        gear = one.from_gear if one.outcome == "missed" else one.to_gear
        if gear == "N" or one.end_s is None:
            continue
        middle = int((one.end_s + two.start_s) / 2 * PATH_RATE_HZ)
        place = drive.lever.path[middle] - origin
        assert place == pytest.approx(gate.position_mm(gear), abs=5.0)


def test_knock_is_null_where_nothing_went_in(drive):
    for shift in drive.truth.shifts:
        knock = shift.readings["knock_peak_mps2"]
        if shift.outcome in ("missed", "to_neutral", "jumped_out"):
            assert knock.value is None and knock.why
        else:
            assert knock.value > 0.0
