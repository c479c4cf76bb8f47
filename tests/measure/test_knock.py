"""Knock: known blows, by a reference computed another way, and the reasons where it cannot be had."""

from dataclasses import replace

import numpy as np
import pytest
from scipy import signal

from shiftlog.measure.felt_dose import prepare_felt_dose
from shiftlog.measure.grind import prepare_grind
from shiftlog.measure.knock import measure_knock
from shiftlog.measure.scene import Scene
from shiftlog.model.car import Car
from shiftlog.model.drive import Signals
from shiftlog.model.settings import Settings
from shiftlog.model.shift import Shift
from shiftlog.model.trace import Trace

END_S = 2.0


def shift(outcome="clean", to_gear="3"):
    return Shift(
        number=1, from_gear="2", to_gear=to_gear, start_s=1.6, end_s=END_S, seen_by="lever", outcome=outcome
    )  # fmt: skip


def scene(values, rate_hz, place="gearbox"):
    time = np.arange(len(values)) / rate_hz
    trace = Trace(
        time_s=time, values=values, spans=((0.0, time[-1]),), rate_hz=rate_hz, recording="box", place=place
    )  # fmt: skip
    car = Car(name="test car", gate=None)
    return Scene(signals=Signals(accel={place: trace}), car=car, path=None, settings=Settings())


def blow(rate_hz, frequency_hz=180.0, height=30.0):
    """A ringing blow on all axes at END_S + 10 ms over gravity, (n, 3) m/s²."""
    t = np.arange(0, 4, 1 / rate_hz) - END_S - 0.010
    ring = np.where(t > 0, np.exp(-t / 0.015) * np.sin(2 * np.pi * frequency_hz * np.maximum(t, 0)), 0.0)
    return height * ring[:, None] * np.array([0.6, 0.0, 0.8]) + np.array([0.0, 0.0, 9.81])


@pytest.mark.parametrize("rate_hz", [800.0, 1600.0, 3200.0])
def test_peak_and_energy_against_the_same_band_of_a_twentyfold_sampled_blow(rate_hz):
    high = min(0.4 * rate_hz, 800.0)
    dense_hz = 32000.0
    sos = signal.butter(4, (20.0, high), "bandpass", fs=dense_hz, output="sos")
    norm = np.linalg.norm(signal.sosfiltfilt(sos, blow(dense_hz), axis=0), axis=1)
    t = np.arange(norm.size) / dense_hz
    window = (t >= END_S - 0.02) & (t <= END_S + 0.12)
    peak, energy = measure_knock(shift(), scene(blow(rate_hz), rate_hz))
    assert peak.value == pytest.approx(norm[window].max(), rel=0.02)
    assert energy.value == pytest.approx(np.sum(norm[window] ** 2) / dense_hz, rel=0.02)


def test_intervals_hold_the_clean_blow_in_shaking_that_grew_as_the_clutch_closed():
    """White noise, louder by a half after the blow than before it; the peak is neither lifted nor lowered by it."""
    rng = np.random.default_rng(8)
    clean = measure_knock(shift(), scene(blow(1600.0), 1600.0))
    louder = np.where(np.arange(6400) / 1600 < END_S, 2.0, 3.0)[:, None]
    runs = [
        measure_knock(shift(), scene(blow(1600.0) + louder * rng.normal(size=(6400, 3)), 1600.0)) for _ in range(60)
    ]
    for true, readings in zip(clean, zip(*runs, strict=True), strict=True):
        held = [r.interval95[0] <= true.value <= r.interval95[1] for r in readings]
        assert np.mean(held) >= 0.88
    assert np.mean([peak.value for peak, _ in runs]) == pytest.approx(clean[0].value, rel=0.02)


def test_teeth_that_clash_until_the_blow_are_no_part_of_its_energy():
    """A clash of a third of the blow's height that ends as the dogs strike, 8 ms before the end."""
    t = np.arange(6400) / 1600
    clash = np.where((t > END_S - 0.2) & (t < END_S - 0.008), 10.0 * np.sin(2 * np.pi * 300 * t), 0.0)
    clean = measure_knock(shift(), scene(blow(1600.0), 1600.0))
    found = measure_knock(shift(), scene(blow(1600.0) + clash[:, None] * np.array([0.0, 1.0, 0.0]), 1600.0))
    for true, reading in zip(clean, found, strict=True):
        assert reading.interval95[0] <= true.value <= reading.interval95[1]
        assert reading.value == pytest.approx(true.value, rel=0.1)


def test_gravity_and_slow_accelerations_are_no_knock():
    values = np.tile([3.0, 0.0, 9.81], (6400, 1))
    peak, _ = measure_knock(shift(), scene(values, 1600.0))
    assert peak.value < 1e-6


@pytest.mark.parametrize(
    ("made", "why"),
    [
        (lambda: (shift(), scene(blow(100.0), 100.0)), "samples at 100 Hz"),
        (lambda: (shift(), scene(blow(1600.0), 1600.0, place="body")), "no accelerometer at the gearbox"),
        (lambda: (shift("missed"), scene(blow(1600.0), 1600.0)), "did not go in"),
        (lambda: (shift("to_neutral", "N"), scene(blow(1600.0), 1600.0)), "no gear went in"),
    ],
)
def test_where_it_cannot_be_had_the_reason_is_said(made, why):
    for reading in measure_knock(*made()):
        assert reading.value is None
        assert why in reading.why


def test_a_sensor_that_is_there_and_gives_nothing_is_not_called_missing():
    why = "box: accel_z never changes; check that sensor and its lead"
    without = scene(blow(1600.0), 1600.0, place="body")
    without = replace(without, signals=replace(without.signals, accel={}, accel_why={"gearbox": why, "body": why}))
    for measure in (measure_knock, lambda s, made: prepare_grind(made)(s), lambda s, made: prepare_felt_dose(made)(s)):
        assert {reading.why for reading in measure(shift(), without)} == {why}
