"""Clunk and shuffle on drives of a driveline written apart from the synthesiser, and why they cannot be had."""

from dataclasses import replace

import numpy as np
import pytest
from scipy import signal

from shiftlog.measure.driveline import KEYS, NO_BODY, prepare_driveline
from shiftlog.measure.take_up import find_take_up
from shiftlog.model.trace import Trace

from .two_masses import STEP_S, TwoMasses, drive

CARS = (
    (TwoMasses(frequency_hz=2.5, damping=0.07), 100.0, 0.12, False),
    (TwoMasses(frequency_hz=4.0, damping=0.12), 100.0, 0.12, True),
    (TwoMasses(frequency_hz=6.5, damping=0.1), 200.0, 0.15, False),
)


@pytest.fixture(scope="module")
def runs():
    return [
        drive(car, shifts=10, rate_hz=rate_hz, shake=shake, seed=i, brake=brake)
        for i, (car, rate_hz, shake, brake) in enumerate(CARS)
    ]


def read(scene):
    family = prepare_driveline(scene)
    return [{r.key: r for r in family(shift)} for shift in scene.shifts]


def test_the_swing_is_that_of_the_two_masses(runs):
    """Median within 0.2 Hz and 0.03 where the amplitude is above 0.5 m/s²; intervals that hold the truth."""
    off, held = [], []
    for run, (car, *_) in zip(runs, CARS, strict=True):
        for found in read(run.scene):
            if found["shuffle_hz"].value is None or found["shuffle_amplitude_mps2"].value < 0.5:
                continue
            hz, damping = found["shuffle_hz"], found["shuffle_damping"]
            off.append((hz.value - car.frequency_hz, damping.value - car.damping))
            held += [hz.interval95[0] <= car.frequency_hz <= hz.interval95[1]]
            held += [damping.interval95[0] <= car.damping <= damping.interval95[1]]
    assert len(off) >= 15
    assert np.all(np.median(np.abs(off), axis=0) < (0.2, 0.03))
    assert np.mean(held) > 0.8


def test_the_lock_is_where_its_uncertainty_says(runs):
    """Between two samples of the speeds and the twist of the shafts: a few hundredths of a second, as it says."""
    for run in runs:
        found = [find_take_up(shift, run.scene) for shift in run.scene.shifts]
        off = np.array([one.lock_s - lock_s for one, lock_s in zip(found, run.locks_s, strict=True)])
        u = np.array([one.lock_u_s for one in found])
        assert np.abs(off).max() < 0.1 and u.max() < 0.06
        assert np.mean(np.abs(off) <= 1.96 * u) >= 0.9


def test_the_amplitude_is_the_envelope_at_the_lock(runs):
    """From the state of spring and masses as the clutch locked, less what the climbing torque asks for."""
    held, ratios = [], []
    for run in runs:
        for found, true in zip(read(run.scene), run.envelopes_mps2, strict=True):
            reading = found["shuffle_amplitude_mps2"]
            if reading.value is not None:
                held.append(reading.interval95[0] <= true <= reading.interval95[1])
                ratios.append(reading.value / true)
    assert len(held) >= 15
    assert np.mean(held) > 0.85 and np.median(ratios) == pytest.approx(1.0, abs=0.15)


def test_a_blow_from_the_road_at_the_take_up_gives_no_jerk(runs):
    """The same wheel hop upward, and two fifths of it along, as the clutch locks."""
    scene, lock_s = runs[0].scene, runs[0].locks_s[0]
    body = scene.signals.accel_vehicle["body"]
    since = np.clip(body.time_s - lock_s, 0, None)
    hop = 12 * np.exp(-since / 0.06) * np.sin(2 * np.pi * 14 * since)
    struck = changed(body, body.values + hop[:, None] * np.array([0.4, 0.2, 1.0]))
    jerk = read(replace(scene, signals=replace(scene.signals, accel_vehicle={"body": struck})))[0]["jerk_p2p_mps3"]
    assert jerk.value is None and "blow from the road" in jerk.why


def test_jerk_is_that_of_the_clean_motion(runs):
    """Against the noise-free motion, low-passed at 30 Hz and differentiated at 1 kHz."""
    sos = signal.butter(4, 30.0, fs=1 / STEP_S, output="sos")
    held = []
    for run in runs:
        jerk = np.gradient(signal.sosfiltfilt(sos, run.truth), STEP_S)
        for found, shift, lock_s in zip(read(run.scene), run.scene.shifts, run.locks_s, strict=True):
            reading = found["jerk_p2p_mps3"]
            if reading.value is not None:
                true = np.ptp(jerk[int(shift.end_s / STEP_S) : int((lock_s + 1.5) / STEP_S)])
                held.append(reading.interval95[0] <= true <= reading.interval95[1])
    assert len(held) >= 10
    assert np.mean(held) > 0.85


def test_without_a_swing_none_is_claimed(runs):
    """The same road with the car's own motion taken out: nothing may be found in its shaking."""
    scene = runs[0].scene
    body = scene.signals.accel_vehicle["body"]
    clean = np.interp(body.time_s, np.arange(runs[0].truth.size) * STEP_S, runs[0].truth)
    road = body.values - np.column_stack([clean, 0 * clean, 0 * clean])
    still = replace(scene, signals=replace(scene.signals, accel_vehicle={"body": changed(body, road)}))
    found = read(still)
    assert sum(one["shuffle_hz"].value is not None for one in found) <= 1
    assert sum(one["jerk_p2p_mps3"].value is not None for one in found) <= 2


def test_where_nothing_shows_that_a_gear_locked_that_is_said_and_not_the_road_blamed_alone(runs):
    """Neither pedal nor engine speed, and nothing but the road to feel: there may have been no take-up at all."""
    scene = runs[0].scene
    body = scene.signals.accel_vehicle["body"]
    flat = changed(body, np.random.default_rng(3).normal(0, 0.3, body.values.shape))
    signals = replace(scene.signals, accel_vehicle={"body": flat}, clutch=None, engine_speed=None)
    for one in read(replace(scene, signals=signals)):
        missing = [r.why for r in one.values() if r.value is None]
        assert missing and all("took up is not known; log the clutch pedal" in why for why in missing)
    seen = read(replace(scene, signals=replace(scene.signals, accel_vehicle={"body": flat})))
    assert not any("is not known; log" in r.why for one in seen for r in one.values() if r.value is None)


def test_an_engine_that_never_meets_the_ratio_may_have_another_ratio(runs):
    scene = runs[0].scene
    wrong = replace(scene, rpm_per_mps={"3": 1.1 * scene.rpm_per_mps["3"]})
    reasons = first_reasons(wrong)
    assert len(reasons) == 1 and "the ratio of this gear is not the car's" in reasons.pop()


def changed(trace, values, **other):
    fields = {"time_s": trace.time_s, "spans": trace.spans, "rate_hz": trace.rate_hz, **other}
    return Trace(values=values, recording=trace.recording, place=trace.place, **fields)


def first_reasons(scene):
    return {r.why for r in prepare_driveline(scene)(scene.shifts[0])}


@pytest.mark.parametrize(
    ("change", "why"),
    [
        ({"outcome": "missed"}, "not entered"),
        ({"to_gear": "N"}, "ended in neutral"),
        ({"standing": True}, "the car stood"),
        ({"end_s": None}, "not known"),
    ],
)
def test_no_take_up_no_figure(runs, change, why):
    scene = runs[0].scene
    shifts = (replace(scene.shifts[0], **change), *scene.shifts[1:])
    reasons = first_reasons(replace(scene, shifts=shifts))
    assert len(reasons) == 1 and why in reasons.pop()


def test_a_clutch_held_down_has_no_take_up(runs):
    scene = runs[0].scene
    clutch = changed(scene.signals.clutch, np.ones(scene.signals.clutch.values.size))
    assert first_reasons(replace(scene, signals=replace(scene.signals, clutch=clutch))) == {"the clutch stayed down"}


def test_gap_range_and_missing_sensor_are_said(runs):
    scene = runs[0].scene
    body, end_s = scene.signals.accel_vehicle["body"], scene.shifts[0].end_s

    def with_body(trace):
        return replace(scene, signals=replace(scene.signals, accel_vehicle={"body": trace} if trace else {}))

    spans = ((body.spans[0][0], end_s + 0.2), (end_s + 0.9, body.spans[0][1]))
    assert first_reasons(with_body(changed(body, body.values, spans=spans))) == {"box has a gap here"}
    clipped = np.abs(body.time_s - runs[0].locks_s[0] - 0.5) < 0.1
    assert all(
        "end of its range" in why for why in first_reasons(with_body(changed(body, body.values, clipped=clipped)))
    )
    assert first_reasons(with_body(None)) == {NO_BODY}


def test_a_slow_sensor_carries_the_swing_but_not_the_jerk(runs):
    scene = runs[0].scene
    body = scene.signals.accel_vehicle["body"]
    slow = changed(body, body.values[::2].copy(), time_s=body.time_s[::2].copy(), rate_hz=body.rate_hz / 2)
    found = read(replace(scene, signals=replace(scene.signals, accel_vehicle={"body": slow})))
    assert all("75 Hz" in one["jerk_p2p_mps3"].why for one in found)
    assert any(one["shuffle_hz"].value is not None for one in found)


def test_a_larger_gain_gives_a_swing_larger_by_as_much(runs):
    scene = runs[0].scene
    body = scene.signals.accel_vehicle["body"]
    larger = replace(scene.signals, accel_vehicle={"body": changed(body, 1.02 * body.values)})
    pairs = zip(read(scene), read(replace(scene, signals=larger)), strict=True)
    both = [(a, b) for a, b in pairs if a["shuffle_hz"].value and b["shuffle_hz"].value]
    assert both and set(both[0][0]) == set(KEYS)
    ratio = [b["shuffle_amplitude_mps2"].value / a["shuffle_amplitude_mps2"].value for a, b in both]
    assert np.median(ratio) == pytest.approx(1.02, abs=0.01)
