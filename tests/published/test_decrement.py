"""Logarithmic decrement and second-order step against worked examples and closed forms."""

import numpy as np
import pytest

from shiftlog.signal.coloured_noise import responses_to_ramps
from shiftlog.signal.log_decrement import damping_of, fit_decrement, log_decrement
from shiftlog.signal.swing_search import swing_columns


def test_successive_maxima_of_120_and_96():
    """qna.talkjarvis.com/172263 prints 0.225 and 0.0357 after rounding ln(120/96) = 0.2231436; exact to 1e-6 here."""
    decrement = log_decrement(120, 96, periods=1)
    assert decrement == pytest.approx(0.2231436, abs=1e-6)
    assert damping_of(decrement) == pytest.approx(0.0354920, abs=1e-6)
    assert damping_of(decrement) == pytest.approx(0.0357, abs=3e-4)


def test_the_hundredth_cycle_is_ninety_nine_periods_on():
    """physicsforums.com, thread 326265: 13 % of the first; /100 gives 0.0204022, /99 gives 0.0206083 (99 periods)."""
    assert log_decrement(100, 13, periods=100) == pytest.approx(0.0204022, abs=1e-6)
    assert log_decrement(100, 13, periods=99) == pytest.approx(0.0206083, abs=1e-6)


# ζ, overshoot in %, decrement, ωn times peak time: closed forms Mp = exp(−πζ/√(1−ζ²)), tp = π/ωd (any control text);
# to the figures printed.
STEPS = (
    (0.05, 85.4468, 0.314553, 3.14553),
    (0.1, 72.9248, 0.631484, 3.15742),
    (0.2, 52.6621, 1.28255, 3.20637),
    (0.3, 37.2326, 1.97597, 3.29328),
    (0.5, 16.3034, 3.627599, 3.6276),
)


@pytest.mark.parametrize(("damping", "overshoot", "decrement", "peak"), STEPS)
def test_second_order_step(damping, overshoot, decrement, peak):
    assert damping_of(decrement) == pytest.approx(damping, rel=1e-5)
    t = np.arange(2000) * 0.01
    ramp = responses_to_ramps(t.size, rate_hz=100.0, frequency_hz=1 / (2 * np.pi), damping=damping)[:, 0]
    step = np.gradient(ramp, 0.01)
    assert 100 * (step.max() - 1) == pytest.approx(overshoot, abs=0.02)
    assert t[step.argmax()] == pytest.approx(peak, abs=0.01)


@pytest.mark.parametrize("rate_hz", [100.0, 400.0])
@pytest.mark.parametrize("frequency_hz", [2.0, 5.0, 8.0])
@pytest.mark.parametrize("damping", [0.03, 0.1, 0.2])
def test_a_clean_decay_gives_its_damping_back(rate_hz, frequency_hz, damping):
    """Within 2 %: peaks between samples are read by a parabola, 12 samples a period at the worst."""
    t = np.arange(0, 3, 1 / rate_hz)
    swing = swing_columns(t, frequency_hz, damping) @ np.array([0.0, 1.0])
    found = fit_decrement(t, swing, guide=swing, frequency_hz=frequency_hz * np.sqrt(1 - damping**2), noise=0.01)
    assert found.damping == pytest.approx(damping, rel=0.02)
