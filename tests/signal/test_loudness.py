"""Short-time loudness against closed forms."""

import numpy as np
import pytest

from shiftlog.signal.loudness import HOP_S, lasting_levels, short_time_power
from shiftlog.signal.onward_filter import band_pass_onward

RATE_HZ = 1600.0


def test_a_tone_has_half_its_amplitude_squared() -> None:
    """A²/2 for each axis, to 1 %: 10 ms hold whole periods of 400 Hz."""
    time_s = np.arange(0, 1, 1 / RATE_HZ)
    tone = 3.0 * np.sin(2 * np.pi * 400 * time_s)
    power = short_time_power(np.stack([tone, 0 * tone, tone], axis=1), RATE_HZ)
    assert power[10:-10] == pytest.approx(9.0, rel=0.01)
    assert power.size == pytest.approx(1 / HOP_S, abs=1)


def test_the_power_of_noise_is_its_variance_whatever_the_rate() -> None:
    """White noise of 0.7: 0.49, 3 % for the scatter of 20 s."""
    for rate_hz in (1600.0, 1593.7, 3200.0):
        noise = np.random.default_rng(1).normal(0, 0.7, int(20 * rate_hz))
        assert short_time_power(noise, rate_hz).mean() == pytest.approx(0.49, rel=0.03)


def test_one_blow_makes_nothing_that_lasts() -> None:
    values = np.zeros(40)
    values[20:22] = 30.0
    assert lasting_levels(values, 8).max() == 0.0
    values[20:30] = 30.0
    assert lasting_levels(values, 8).max() == 30.0
    assert lasting_levels(values[:3], 8).size == 0


def test_nothing_is_heard_before_it_happens() -> None:
    """All that an onward filter makes of a blow comes after it; what passes keeps its size, to 2 %."""
    values = np.zeros((3200, 3))
    values[1600] = 100.0
    heard = band_pass_onward(values + 9.81, RATE_HZ, 150.0, 640.0, order=2)
    assert np.abs(heard[:1600]).max() < 1e-9 < np.abs(heard[1600:]).max()
    tone = np.sin(2 * np.pi * 310 * np.arange(1600) / RATE_HZ)
    assert band_pass_onward(tone, RATE_HZ, 150.0, 640.0, order=2)[400:].std() == pytest.approx(tone.std(), rel=0.02)
