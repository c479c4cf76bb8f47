"""Shifts from a phone alone: what is found on drives with known truth, and laws that must hold."""

from dataclasses import replace

import numpy as np
import pytest

from shiftlog.detect.phone_coast import find_coast
from shiftlog.detect.phone_evidence import build_felt
from shiftlog.detect.phone_features import move_level, read_features
from shiftlog.detect.phone_gears import name_by_speed
from shiftlog.detect.phone_pairs import find_pairs
from shiftlog.detect.phone_shifts import find_accel_shifts
from shiftlog.model.car import Car
from shiftlog.model.drive import Signals
from shiftlog.model.settings import Settings
from shiftlog.model.trace import Trace
from tests.truth.phone_study import count_misplaced, match, score
from tests.truth.phone_truth import UNKNOWN_CAR, PhoneCase, other_cases, road_cases, synth_cases, third_cases

FIRST_SEED = 5400
"""Other drives than those the curves were fitted to (seeds 1000 to 1035; 0 to 119 of all other drivers)."""


@pytest.fixture(scope="module")
def cases() -> list[PhoneCase]:
    return list(synth_cases(8, first_seed=FIRST_SEED, minutes=5.0))


@pytest.fixture(scope="module")
def findings_of(cases):
    return [find_accel_shifts(case.signals, case.car, Settings()) for case in cases]


def find(signals: Signals, car: Car = UNKNOWN_CAR):
    return find_accel_shifts(signals, car, Settings())


def changed(signals: Signals, change) -> Signals:
    body = signals.accel_vehicle["body"]
    return replace(signals, accel_vehicle={"body": replace(body, values=change(body.values.copy()))})


def test_shifts_of_every_car_are_found_on_smooth_and_rough_road(cases) -> None:
    tally = score(cases)
    # Asked: 95 % under drive, 80 % under braking, 5 % invented, the gap within 60 ms; a sample of eight drives strays.
    # Of all under braking 78 % are found here; of those whose steps of drive stand out from the road 15 of 16. Of 272
    # claims 14 are none, against 4 % of 4,700 in other drives.
    assert tally.share("drive gap") >= 0.92
    assert tally.share("clear brakes", "clear engine") >= 0.7
    assert tally.share("brakes", "engine") >= 0.7
    assert tally.invented_share <= 0.06
    assert tally.gap_error_s <= 0.06


@pytest.mark.parametrize(("driver", "least", "most"), [(other_cases, 0.80, 0.17), (third_cases, 0.50, 0.14)])
def test_drivers_who_often_lift_and_brake_without_a_shift(driver, least: float, most: float) -> None:
    tally = score(driver(20, first_seed=560))
    # These two do what looks like a shift as often as they change gear, half of it on a bad road, where 95 % are out
    # of reach: the bounds are what they reach, with room for 20 drives that stray.
    assert tally.share("drive gap") >= least
    assert tally.invented_share <= most


@pytest.mark.parametrize("style", ["traffic", "bends"])
def test_drivers_who_follow_the_road(style: str) -> None:
    tally = score(road_cases(style, 4, first_seed=560))
    # Reached here: 98 and 94 % under drive, 1.3 and 1.9 % invented, with room for another machine's rounding.
    assert tally.share("drive gap") >= 0.85
    assert tally.invented_share <= 0.06
    assert tally.gap_error_s <= 0.06


def test_confidence_is_honest(cases) -> None:
    tally = score(cases)
    expected = sum(confidence for confidence, _ in tally.sure)
    shifts = sum(was_one for _, was_one in tally.sure)
    # Binomial: three standard deviations of the sum, and a tenth for drives unlike those of the fit.
    spread = np.sqrt(sum(c * (1 - c) for c, _ in tally.sure))
    assert shifts == pytest.approx(expected, abs=3 * spread + 0.1 * len(tally.sure))


def test_lifting_braking_bumps_bends_and_hills_are_no_shifts() -> None:
    tally = score(other_cases(4, first_seed=720, still_every=1))
    assert tally.true == {}
    assert tally.invented / tally.minutes <= 0.5


def test_everything_found_or_rejected_has_its_reason_and_none_overlap(cases) -> None:
    findings = find(cases[1].signals)
    assert findings.shifts and findings.rejected
    spans = sorted((x.start_s, x.end_s) for x in (*findings.shifts, *findings.rejected))
    assert all(a[0] < b[0] for a, b in zip(spans[:-1], spans[1:], strict=True))
    assert all(r.kind == "shift" and r.why for r in findings.rejected)
    for number, shift in enumerate(findings.shifts):
        assert shift.number == number + 1 and shift.seen_by == "acceleration" and shift.outcome is None
        assert Settings().phone_least_probability_overrun <= shift.confidence <= 1
        assert shift.readings["drive_gap_s"].value or shift.readings["drive_gap_s"].why
        assert "no lever sensor" in shift.readings["shift_time_s"].why
        assert (shift.gap is None) or (shift.start_s, shift.end_s) == shift.gap
    assert any("gears of" in note and "not known" in note for note in findings.notes)


def test_moving_all_times_moves_all_shifts(cases) -> None:
    signals = cases[0].signals
    body, speed = signals.accel_vehicle["body"], signals.vehicle_speed
    late = [
        replace(t, time_s=t.time_s + 100, spans=tuple((a + 100, b + 100) for a, b in t.spans)) for t in (body, speed)
    ]
    moved = find(replace(signals, accel_vehicle={"body": late[0]}, vehicle_speed=late[1])).shifts
    assert [s.start_s - 100 for s in moved] == pytest.approx([s.start_s for s in find(signals).shifts], abs=1e-6)


def test_mirroring_the_lateral_axis_changes_nothing(cases) -> None:
    signals = cases[0].signals
    mirrored = find(changed(signals, lambda a: a * (1, -1, 1))).shifts
    plain = find(signals).shifts
    assert [s.start_s for s in mirrored] == pytest.approx([s.start_s for s in plain])
    assert [s.confidence for s in mirrored] == pytest.approx([s.confidence for s in plain])


def test_a_bias_of_the_sensor_changes_next_to_nothing(cases) -> None:
    signals = cases[0].signals
    biased = find(changed(signals, lambda a: a + (0.3, 0.1, -0.1))).shifts
    assert [s.start_s for s in biased] == pytest.approx([s.start_s for s in find(signals).shifts], abs=0.02)


def test_more_noise_makes_it_less_sure(cases) -> None:
    def sureness(case: PhoneCase, noise: float) -> float:
        rng = np.random.default_rng(3)
        shifts = find(changed(case.signals, lambda a: a + rng.normal(0, noise, a.shape))).shifts
        return sum(shifts[k].confidence for k in match(case.events, shifts).values())

    quiet, loud, twice_as_loud = (sum(sureness(case, noise) for case in cases[:2]) for noise in (0.0, 0.5, 1.0))
    assert twice_as_loud < loud < quiet


def test_figures_moved_to_another_level_are_those_read_there(cases) -> None:
    signals = cases[0].signals
    pairs = [p for felt in build_felt(signals.accel_vehicle["body"]) for p in find_pairs(felt)][:60]
    coast = find_coast(pairs, signals.vehicle_speed)
    other = replace(coast, rolling=coast.rolling - 0.3)
    here, there = (np.array([read_features(p, level) for p in pairs]) for level in (coast, other))
    assert not np.allclose(here, there)
    assert move_level(here, pairs, other) == pytest.approx(there)


def test_steps_that_hardly_stand_out_count_where_all_else_is_sure(cases, findings_of) -> None:
    strict, true, false = Settings(phone_sure_probability=1.0), 0, 0
    for case, findings in zip(cases, findings_of, strict=True):
        before = {s.start_s for s in find_accel_shifts(case.signals, case.car, strict).shifts}
        shifts = findings.shifts
        assert before <= {s.start_s for s in shifts}
        matched = match(case.events, shifts)
        claims = [s for number, s in enumerate(shifts) if s.start_s not in before and number not in matched.values()]
        left = [event for index, event in enumerate(case.events) if index not in matched]
        misplaced = count_misplaced(left, claims)
        assert all(s.confidence >= Settings().phone_sure_probability for s in shifts if s.start_s not in before)
        true += sum(s.start_s not in before for s in shifts) - len(claims) + misplaced
        false += len(claims) - misplaced
    # They are few (3 here, 50 of 4,400 in 112 drives on rough roads), and nine in ten of them are true.
    assert true >= 2 and false <= 1


def test_where_the_release_is_not_felt_there_is_no_shift_and_it_is_said(cases, findings_of) -> None:
    anyhow, all_told = Settings(phone_least_release_over_road=0.0), 0
    for case, findings in zip(cases, findings_of, strict=True):
        starts = {s.start_s for s in find_accel_shifts(case.signals, case.car, anyhow).shifts}
        starts -= {s.start_s for s in findings.shifts}
        told = [r for r in findings.rejected if "is not felt" in r.why]
        assert len(told) == len(starts)
        all_told += len(told)
    assert all_told >= 3


def test_what_is_missing_is_said_with_what_to_do(cases) -> None:
    signals = cases[0].signals
    body = signals.accel_vehicle["body"]
    unturned = Signals(accel={"body": body})
    slow = replace(body, rate_hz=10.0)
    flat = replace(body, values=body.values[:, 0].copy())
    for given, words in (
        (Signals(), "fix a phone"),
        (unturned, "give its mounting"),
        (Signals(accel_vehicle={"body": slow}), "log at 50 Hz"),
        (Signals(accel_vehicle={"body": flat}), "all three axes"),
    ):
        findings = find(given)
        assert findings.shifts == () and len(findings.notes) == 1 and words in findings.notes[0]


def test_a_short_or_silent_log_gives_nothing() -> None:
    time_s = np.arange(0, 3, 0.01)
    for seconds in (1, 60):
        time_s = np.arange(0, seconds, 0.01)
        level = np.tile((0.0, 0.0, 9.81), (time_s.size, 1))
        body = Trace(
            time_s=time_s, values=level, spans=((0.0, time_s[-1]),), rate_hz=100.0, recording="p", place="body"
        )
        assert find(Signals(accel_vehicle={"body": body})).shifts == ()


def speeds(first: float, last: float) -> Trace:
    time_s = np.arange(0, 20.0, 0.2)
    return Trace(time_s=time_s, values=np.where(time_s < 10, first, last), spans=((0.0, 19.8),), rate_hz=5.0,
                 recording="phone", place="body")  # fmt: skip


def test_a_gear_is_named_only_where_speed_leaves_one() -> None:
    car = Car(name="three", gate=None, redline_rpm=6000, learnt_rpm_per_mps={"1": 400.0, "2": 150.0, "3": 60.0})
    # 30 m/s: 1st would turn 12,000, 2nd 4,500, 3rd 1,800 rpm. 45 m/s: 2nd 6,750, so 3rd alone. 3 m/s: 3rd 180, 2nd 450.
    assert name_by_speed(speeds(45.0, 30.0), (5.0, 12.0), car) == ("3", "2")
    assert name_by_speed(speeds(3.0, 6.0), (5.0, 12.0), car) == ("1", "2")
    assert name_by_speed(speeds(30.0, 30.0), (5.0, 12.0), car) == (None, None)
    assert name_by_speed(None, (5.0, 12.0), car) == (None, None)
