"""Free returns: closed forms of the second-order step, and parameters got back from noisy readings."""

import numpy as np
import pytest

from shiftlog.signal.free_motion import fit_free_return, fit_guided_move, minimum_jerk, step_decay

# Overshoot of a second-order step, exp(-πζ/√(1-ζ²)), and peak time ωn·tp = π/√(1-ζ²): any control text; recomputed.
OVERSHOOT = {0.1: 0.72925, 0.2: 0.52662, 0.3: 0.37233, 0.4: 0.25383, 0.5: 0.16303, 0.7: 0.04599}


@pytest.mark.parametrize("damping", OVERSHOOT)
def test_overshoot_of_the_step(damping):
    t = np.linspace(0, 3, 30001)
    left = step_decay(t, 2.0, damping)
    assert -left.min() == pytest.approx(OVERSHOOT[damping], abs=1e-4)
    assert 2 * np.pi * 2.0 * t[left.argmin()] == pytest.approx(np.pi / np.sqrt(1 - damping**2), rel=1e-3)


@pytest.mark.parametrize("damping", [0.15, 0.3, 0.5, 0.7])
@pytest.mark.parametrize("frequency_hz", [2.5, 4.0, 6.0])
def test_frequency_within_5_per_cent_and_damping_within_0_05(frequency_hz, damping):
    rng = np.random.default_rng(int(100 * damping + frequency_hz))
    t = np.arange(0, 1.2, 0.004)
    x = 20 * step_decay(t - 0.05, frequency_hz, damping) + rng.normal(0, 0.1, t.size)
    fit = fit_free_return(t, x)
    assert fit.frequency_hz == pytest.approx(frequency_hz, rel=0.05)
    assert fit.damping == pytest.approx(damping, abs=0.05)


def test_a_guided_move_is_better_told_by_the_hand_and_a_spring_by_the_spring():
    rng = np.random.default_rng(5)
    t = np.arange(0, 0.9, 0.004)
    guided = 20 - 20 * minimum_jerk((t - 0.1) / 0.35) + rng.normal(0, 0.08, t.size)
    sprung = 20 * step_decay(t - 0.1, 4.0, 0.9) + rng.normal(0, 0.08, t.size)
    assert fit_guided_move(t, guided).rms_mm < 0.8 * fit_free_return(t, guided).rms_mm
    assert fit_free_return(t, sprung).rms_mm < 0.8 * fit_guided_move(t, sprung).rms_mm
