"""Clashing teeth: the shafts, the tone and the level against closed forms."""

from dataclasses import replace

import numpy as np
import pytest

from shiftlog.model.shift import Shift
from shiftlog.synth.cars import CARS
from shiftlog.synth.clash import FINE_HZ, Clash, Push, draw_clash, follow_shafts
from shiftlog.synth.health import draw_health
from shiftlog.synth.recorder import Sensors
from shiftlog.synth.scenario import make_drive
from shiftlog.synth.synchro import LONGEST_STAND_S, Synchro, hub_difference
from shiftlog.synth.true_grind import Gearbox, true_level
from shiftlog.synth.vehicle import STEP_S, Motion

SHIFT = Shift(number=1, from_gear="2", to_gear="3", start_s=2.0, out_s=2.1, end_s=2.6, seen_by="lever", outcome="clean")
SYNCHRO = Synchro(slopes={"3": {"up": 200.0, "down": 200.0}}, drag_rpmps=500.0, dragging=0.5)


def _coasting(speed_mps: float) -> Motion:
    time_s = np.arange(0, 5, STEP_S)
    still = np.zeros(time_s.size)
    names = ("engine_rpm", "accel_mps2", "force_n", "yaw_rate", "throttle", "brake", "grade")
    return Motion(
        time_s=time_s, speed_mps=still + speed_mps, clutch=still + 1, closed=still > 1, **{n: still for n in names}
    )


def _push(from_s: float, until_s: float) -> Push:
    time_s = np.arange(from_s, until_s, 0.0005)
    return Push(time_s=time_s, depth=np.full(time_s.size, 0.5), until_s=until_s)


def test_input_shaft_coasts_and_the_cone_brings_it_along():
    """Left to itself at 2.1 s at the old gear's speed, 500 rpm/s down until touched at 2.3 s; then 1,000 rpm of
    difference at the hub in 200 ms."""
    car, speed = CARS["hatch5"].car, 15.0
    shafts = follow_shafts(SHIFT, _push(2.3, 2.5), _coasting(speed), CARS["hatch5"], SYNCHRO, grip=1.0)
    free = speed * car.rpm_per_mps("2") - 500.0 * 0.2
    assert shafts.hub_rpm[0] == pytest.approx(hub_difference(car, "3", free, speed), abs=1.0)
    assert np.polyfit(shafts.time_s[:100], shafts.hub_rpm[:100], 1)[0] == pytest.approx(-1000 / 0.2, rel=0.01)


def test_hub_on_the_input_shaft_sees_the_difference_times_the_ratio():
    car = CARS["hatch5"].car
    on_input = replace(car, hub={"3": "input"})
    at_output = hub_difference(car, "3", 3000.0, 15.0)
    assert hub_difference(on_input, "3", 3000.0, 15.0) == pytest.approx(at_output * car.ratios["3"])
    assert hub_difference(car, "3", 15.0 * car.rpm_per_mps("3"), 15.0) == pytest.approx(0.0, abs=1e-9)


def test_teeth_pass_at_z_times_the_difference():
    """f = z · |Δn| / 60 (no published worked example), from the first touch to the last."""
    car = CARS["hatch5"]
    shafts = follow_shafts(SHIFT, _push(2.3, 2.5), _coasting(15.0), car, SYNCHRO, grip=0.0)
    clash = draw_clash(SHIFT, _push(2.3, 2.5), shafts, _coasting(15.0), car, np.random.default_rng(1))
    assert clash.track_hz[0] == pytest.approx(36 * abs(shafts.hub_rpm[0]) / 60)
    power = np.sum(clash.accel**2, axis=1)
    power = power[(clash.fine_s > 2.35) & (clash.fine_s < 2.48)]
    assert clash.start_s == pytest.approx(2.3, abs=0.002) and clash.end_s == pytest.approx(2.5, abs=0.003)
    assert power.mean() > 1.0


def test_no_difference_no_sound():
    car = CARS["hatch5"]
    speed = 15.0
    shafts = follow_shafts(SHIFT, _push(2.3, 2.5), _coasting(speed), car, SYNCHRO, grip=1.0)
    quiet = replace(shafts, hub_rpm=np.full(shafts.hub_rpm.size, 20.0))
    assert draw_clash(SHIFT, _push(2.3, 2.5), quiet, _coasting(speed), car, np.random.default_rng(1)) is None


def test_a_touch_too_short_for_a_tooth_to_pass_is_silent():
    """36 teeth at 70 rpm pass at 42 a second: within 8 ms one passes in a third of the cases, else none."""
    car, push, speed = CARS["hatch5"], _push(2.3, 2.308), 15.0
    shafts = follow_shafts(SHIFT, push, _coasting(speed), car, SYNCHRO, grip=0.0)
    slow = replace(shafts, hub_rpm=np.full(shafts.hub_rpm.size, 70.0))
    drawn = [draw_clash(SHIFT, push, slow, _coasting(speed), car, np.random.default_rng(k)) for k in range(40)]
    loud = [clash for clash in drawn if clash is not None]
    assert 0 < len(loud) < 30 and all(np.isfinite(clash.accel).all() for clash in loud)


def test_level_of_a_tone_over_noise_is_their_ratio():
    """A tone of r.m.s. 2 m/s² at 300 Hz over white noise: 10 log10((2² + b²) / b²) with b² the noise's share in
    150 … 640 Hz; 0.5 dB for the scatter of 10 ms windows. It lasts 0.2 s: two windows' worth of edges, 15 ms."""
    rng, rate_hz = np.random.default_rng(3), 1600.0
    time_s = np.arange(0, 5, 1 / rate_hz)
    bare = rng.normal(0, 0.3, (time_s.size, 3))
    whole, on = bare.copy(), (time_s > 2.3) & (time_s < 2.5)
    whole[on, 0] += 2 * np.sqrt(2) * np.sin(2 * np.pi * 300 * time_s[on])
    clash = Clash(
        window_s=(2.2, 2.59), start_s=2.3, end_s=2.5, track_s=time_s[on], track_hz=np.full(on.sum(), 300.0),
        hub_rpm=500.0, fine_s=np.arange(2.3, 2.5, 1 / FINE_HZ), accel=np.zeros((1, 3)),
    )  # fmt: skip
    gearbox = Gearbox(time_s=time_s, whole=whole, bare=bare, rate_hz=rate_hz)
    level, duration = true_level(SHIFT, clash, gearbox)
    background = 3 * 0.3**2 * (640 - 150) / (rate_hz / 2)
    assert level == pytest.approx(10 * np.log10((4 + background) / background), abs=0.5)
    assert duration == pytest.approx(0.2, abs=0.016)


@pytest.fixture(scope="module")
def drive():
    return make_drive(car="estate6", seed=8, health="worn", road="holed", minutes=4.0)


def test_only_worn_gears_clash_and_each_has_its_truth(drive):
    assert drive.truth.grinds
    for shift in drive.truth.shifts:
        grind = shift.value("grind")
        if shift.to_gear == "N":
            assert grind is None
            continue
        assert grind == (shift.number in drive.truth.grinds)
        if grind:
            assert shift.to_gear in (*drive.health.grinds, "R")
            clash = drive.truth.clashes[shift.number]
            assert clash.window_s[0] < clash.start_s <= clash.end_s <= clash.window_s[1] + 0.001
            assert clash.end_s < (shift.end_s or np.inf)
            assert shift.value("grind_level_db") is not None


def test_a_slow_recorder_has_no_grind():
    health = draw_health("worn", CARS["estate6"], np.random.default_rng(0))
    sensors = Sensors(gearbox_rate_hz=400.0)
    truth = make_drive(car="estate6", seed=8, health=health, minutes=1.0, sensors=sensors).truth
    assert all(s.readings["grind"].value is None and s.readings["grind"].why for s in truth.shifts)


def test_stands_follow_the_slope_of_the_cone(drive):
    """t = J Δω / T: the stand of a push that stood over the difference its hub had is its gear's slope; 25 % for the
    hand's scatter, for a coast that the driver cannot know, and for the ends of the strokes that count as standing."""
    ratios = []
    for shift in drive.truth.shifts:
        stood = sum(b - a for a, b in shift.baulk)
        if shift.outcome != "clean" or shift.standing or shift.from_gear == "N" or shift.via or stood < 0.06:
            continue
        up = int(shift.to_gear) > int(shift.from_gear)
        slope = drive.truth.slopes[shift.to_gear]["up" if up else "down"]
        due = min(slope * abs(drive.truth.hub_rpm[shift.number]) / 1e6, LONGEST_STAND_S)
        ratios.append(stood / due)
    assert len(ratios) >= 5
    assert np.median(ratios) == pytest.approx(1.0, abs=0.25)
