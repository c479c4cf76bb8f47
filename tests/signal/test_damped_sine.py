"""The last fit of a swing against the least squares that are held to certified values."""

import numpy as np
import pytest

from shiftlog.signal.damped_sine import fit_damped_sine
from shiftlog.signal.swing_search import swing_columns, trend_columns
from shiftlog.signal.variable_projection import fit_projected

RATE_HZ, COUNT, NOISE = 50.0, 100, 5.0
"""Swings of a hundred m/s², beside which the least course of the torque that is ever allowed for is nothing."""
SWINGS = [(2.2, 0.06), (3.6, 0.12), (5.5, 0.2)]


def make_swing(frequency_hz: float, damping: float, seed: int) -> np.ndarray:
    t = np.arange(COUNT) / RATE_HZ
    noise = np.random.default_rng(seed).normal(0, NOISE, COUNT)
    return trend_columns(t) @ [80.0, 40.0] + swing_columns(t, frequency_hz, damping) @ [90.0, -70.0] + noise


def fit(values: np.ndarray, frequency_hz: float, damping: float):
    start = np.array([[1.1 * frequency_hz, damping + 0.03]])
    noise = NOISE**2 * np.eye(COUNT)
    return fit_damped_sine(values, noise, start, rate_hz=RATE_HZ, low_hz=1.0, high_hz=12.0)


@pytest.mark.parametrize(("frequency_hz", "damping"), SWINGS)
def test_in_white_noise_it_is_least_squares(frequency_hz, damping):
    """With nothing but white noise the greatest likelihood is the least sum of squares, which is certified (NIST StRD).

    A fiftieth of the standard uncertainty: the search ends where nothing is gained any more, no nearer.
    """
    values, t = make_swing(frequency_hz, damping, 1), np.arange(COUNT) / RATE_HZ
    found = fit(values, frequency_hz, damping)
    least = fit_projected(
        lambda p: np.column_stack([trend_columns(t), swing_columns(t, np.exp(p[0]), p[1])]),
        values, np.array([np.log(frequency_hz), damping]),
    )  # fmt: skip
    u_hz, u_damping, u_amplitude = np.sqrt(np.diag(found.covariance))
    assert found.frequency_hz == pytest.approx(np.exp(least.shape[0]), abs=0.02 * u_hz)
    assert found.damping == pytest.approx(least.shape[1], abs=0.02 * u_damping)
    assert found.amplitude == pytest.approx(np.hypot(*least.linear[2:]), abs=0.02 * u_amplitude)
