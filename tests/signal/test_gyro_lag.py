"""The lag between two gyros on one body, one of which swings now and then."""

import numpy as np
import pytest

from shiftlog.signal.filter import band_pass
from shiftlog.signal.gyro_lag import fit_gyro_lag

RNG = np.random.default_rng(8)
TIME_S = np.arange(0, 60, 0.001)
BODY = 0.03 * band_pass(RNG.normal(0, 1, (TIME_S.size, 3)), 1000.0, 0.5, 4.0, order=2) / 0.08
SWINGS = 4.0 * np.exp(-(((TIME_S % 5.0) - 2.5) ** 2) / 0.05**2)[:, None] * np.array([0.3, 1.0, 0.1])


def logged(rate_hz: float, *, late_s: float = 0.0, swings: bool = False, noise: float = 0.005):
    """Times and rates of a gyro; late by so much on its own clock."""
    time_s = np.arange(0.5, 59.0, 1 / rate_hz)
    course = BODY + SWINGS if swings else BODY
    rates = np.stack([np.interp(time_s, TIME_S, c) for c in course.T], axis=1)
    return time_s + late_s, rates + RNG.normal(0, noise, rates.shape) + np.array([0.02, -0.01, 0.015])


@pytest.mark.parametrize("late_s", [0.0, 0.003, 0.01, -0.01, 0.047, -0.12])
@pytest.mark.parametrize("rate_hz", [50.0, 100.0, 213.0])
def test_a_lag_is_found_within_two_milliseconds_past_biases_and_swings(late_s, rate_hz):
    found = fit_gyro_lag(*logged(rate_hz, late_s=late_s), *logged(200.0, swings=True))
    assert found == pytest.approx(late_s, abs=0.002)


def test_swapping_the_two_turns_the_sign():
    one, two = logged(100.0, late_s=0.02), logged(200.0, swings=True)
    assert fit_gyro_lag(*one, *two) == pytest.approx(-fit_gyro_lag(*two, *one), abs=1e-3)


def test_nothing_is_invented_where_nothing_turns():
    time_s = np.arange(0, 60, 0.01)
    noise = [RNG.normal(0, 0.005, (time_s.size, 3)) for _ in range(2)]
    assert fit_gyro_lag(time_s, noise[0], time_s, noise[1]) is None


def test_a_lag_beyond_the_window_or_a_log_too_short_gives_none():
    assert fit_gyro_lag(*logged(100.0, late_s=0.4), *logged(200.0)) is None
    time_s, rates = logged(100.0)
    assert fit_gyro_lag(time_s[:500], rates[:500], time_s, rates) is None
