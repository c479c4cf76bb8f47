"""True swing, clunk and dose against closed forms and against the model's own motion."""

import numpy as np
import pytest
from scipy.optimize import least_squares

from shiftlog.synth.cars import CARS
from shiftlog.synth.scenario import make_drive
from shiftlog.synth.true_driveline import TakeUp, find_take_up, locked_mode, peak_jerk
from shiftlog.synth.true_felt import felt_readings, weight, weighted
from shiftlog.synth.vehicle import STEP_S, shuffle_hz


@pytest.mark.parametrize("car", sorted(CARS))
@pytest.mark.parametrize("gear", ["1", "3"])
def test_locked_driveline_swings_faster_by_the_engines_inertia(car, gear):
    """ω² (1 + J k² / m), ζ over its root. Stepped by h = 4 ms the model swings faster by about ζ ω h / 2, which is
    2.5 % of a stiff, well damped driveline; 3 %."""
    synth = CARS[car]
    k = synth.car.rpm_per_mps(gear) * 2 * np.pi / 60
    stiffer = np.sqrt(1 + synth.engine_inertia_kgm2 * k**2 / synth.mass_kg)
    frequency_hz, damping = locked_mode(synth, gear)
    assert frequency_hz == pytest.approx(shuffle_hz(synth, gear) * stiffer, rel=0.03)
    assert damping == pytest.approx(synth.shuffle_damping / stiffer, rel=0.03)


def _fitted(drive, take_up: TakeUp) -> tuple[float, float, float]:
    """Frequency, damping and envelope at the lock of a damped sine on the force, beside the throttle's own pull."""
    first = int(take_up.locks_s / STEP_S)
    span = slice(first, first + int(0.9 / STEP_S))
    time_s = np.arange(span.stop - span.start) * STEP_S
    pull = drive.motion.force_n[span] / drive.synth_car.mass_kg

    def parts(guess):
        omega = 2 * np.pi * guess[0]
        fade, turn = np.exp(-guess[1] * omega * time_s), omega * np.sqrt(1 - min(guess[1], 0.9) ** 2) * time_s
        shape = [np.ones_like(time_s), drive.motion.throttle[span], time_s, fade * np.cos(turn), fade * np.sin(turn)]
        columns = np.column_stack(shape)
        return columns, np.linalg.lstsq(columns, pull, rcond=None)[0]

    def misfit(guess):
        columns, by = parts(guess)
        return columns @ by - pull

    fit = least_squares(misfit, (4.0, 0.15), bounds=((1.5, 0.02), (12.0, 0.6)))
    return fit.x[0], fit.x[1], float(np.hypot(*parts(fit.x)[1][3:]))


def test_truth_is_what_a_damped_sine_finds_on_the_models_own_force():
    """Over the swings of a drive, medians: 0.1 Hz, 0.02, 5 % of amplitude; the throttle's kinks swing as well."""
    drive = make_drive(car="estate6", seed=3, minutes=3.0)
    apart = []
    for shift, after in zip(drive.truth.shifts, drive.truth.shifts[1:], strict=False):
        strong = (shift.value("shuffle_amplitude_mps2") or 0.0) > 1.0
        take_up = find_take_up(drive.motion, shift.end_s, after.start_s) if strong else None
        if take_up is None or take_up.until_s - take_up.locks_s < 1.0:
            continue
        true = [shift.value(k) for k in ("shuffle_hz", "shuffle_damping", "shuffle_amplitude_mps2")]
        apart.append(np.array(_fitted(drive, take_up)) - true)
        apart[-1][2] /= true[2]
    assert len(apart) >= 8
    assert np.median(np.abs(apart), axis=0) == pytest.approx([0, 0, 0], abs=0.1)
    assert np.median(np.abs(apart), axis=0)[1] < 0.02 and np.median(np.abs(apart), axis=0)[2] < 0.06


def test_jerk_of_a_sine_is_its_own():
    """Peak to peak 2 A ω of A sin ωt at 5 Hz; 2 % for differences over 1 ms and the filter at a sixth of its edge."""
    time_s = np.arange(0, 8, STEP_S)
    take_up = TakeUp(bites_s=3.0, locks_s=3.2, until_s=8.0)
    jerk = peak_jerk(time_s, 1.5 * np.sin(2 * np.pi * 5 * time_s), take_up)
    assert jerk == pytest.approx(2 * 1.5 * 2 * np.pi * 5, rel=0.02)


@pytest.mark.parametrize(
    ("which", "frequency_hz", "factor"),
    [("k", 1.0, 0.4825), ("k", 6.310, 1.054), ("k", 79.43, 0.1339), ("d", 1.0, 1.011), ("d", 10.0, 0.2017)],
)
def test_weights_are_the_printed_ones(which, frequency_hz, factor):
    """ISO 8041-1:2017 Annex B, design-goal factors to four figures, at true centres 10^(n/10) Hz; 5e-4 of rounding."""
    centre = 10 ** (round(10 * np.log10(frequency_hz)) / 10)
    assert abs(weight(np.array([centre]), which)[0]) == pytest.approx(factor, rel=7e-4)


def test_dose_of_a_sine_has_its_closed_form():
    """VDV = A |H| (3 T / 8)^¼ and running r.m.s. A |H| / √2 of a steady sine on z; 0.5 % for half a turn at the cut."""
    rate_hz, frequency_hz = 1000.0, 6.0
    time_s = np.arange(0, 60, 1 / rate_hz)
    accel = np.zeros((time_s.size, 3))
    accel[:, 2] = 9.81 + 2.0 * np.sin(2 * np.pi * frequency_hz * time_s)
    felt = weighted(accel, rate_hz=rate_hz)
    dose, peak = felt_readings(felt, rate_hz, (20.0, 28.3), "")
    gain = 2.0 * abs(weight(np.array([frequency_hz]), "k")[0])
    assert dose.value == pytest.approx(gain * (3 * 10.0 / 8) ** 0.25, rel=0.005)
    assert peak.value == pytest.approx(gain / np.sqrt(2), rel=0.005)


def test_what_the_definitions_leave_out_is_null_with_a_reason():
    truth = make_drive(car="coupe5", seed=12, health="worn", minutes=3.0).truth
    keys = ("shuffle_hz", "jerk_p2p_mps3", "vdv_mps175", "mtvv_mps2")
    for shift in truth.shifts:
        out = shift.outcome in ("missed", "to_neutral", "jumped_out") or shift.standing
        for key in keys:
            reading = shift.readings[key]
            assert not out or (reading.value is None and reading.why)
    assert sum(s.value("shuffle_hz") is not None for s in truth.shifts) > 10
