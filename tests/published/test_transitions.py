"""Level crossings of known waveforms against closed forms (IEEE Std 181-2011, 10/50/90 % reference levels)."""

import numpy as np
import pytest
from scipy.stats import norm

from shiftlog.signal.crossing import find_crossings

LENGTH_S = 0.2
SIGMA_S = 0.05
TAU_S = 0.05


def ramp(t):
    return np.clip(t / LENGTH_S, 0, 1)


def gaussian_step(t):
    return norm.cdf(t, loc=0.3, scale=SIGMA_S)


def first_order(t):
    return np.where(t > 0, -np.expm1(-np.maximum(t, 0) / TAU_S), 0.0)


def raised_cosine(t):
    return (1 - np.cos(np.pi * np.clip(t / LENGTH_S, 0, 1))) / 2


def minimum_jerk(t):
    u = np.clip(t / LENGTH_S, 0, 1)
    return 10 * u**3 - 15 * u**4 + 6 * u**5


# Closed forms: 10-90 % durations in units of the waveform's own time.
WAVEFORMS = {
    "linear ramp": (ramp, 0.8 * LENGTH_S),
    "Gaussian step": (gaussian_step, 2.5631031310892007 * SIGMA_S),
    "first-order step": (first_order, 2.1972245773362196 * TAU_S),
    "raised cosine": (raised_cosine, 0.5903344706017332 * LENGTH_S),
    "minimum jerk": (minimum_jerk, 0.5067270934 * LENGTH_S),
}


def transition(waveform, rate_hz, phase):
    t = (np.arange(-0.3 * rate_hz, 1.2 * rate_hz) + phase) / rate_hz
    low, high = (find_crossings(t, waveform(t), level, rising=True)[0] for level in (0.1, 0.9))
    return high - low


@pytest.mark.parametrize("name", WAVEFORMS)
@pytest.mark.parametrize(("rate_hz", "within"), [(200.0, 0.002), (400.0, 0.001), (1000.0, 0.0005)])
def test_ten_to_ninety_per_cent(name, rate_hz, within):
    """Tolerance: linear interpolation between samples, worst over sub-sample phase (computed, see the closed forms)."""
    waveform, expected = WAVEFORMS[name]
    for phase in np.random.default_rng(3).random(20):
        assert transition(waveform, rate_hz, phase) == pytest.approx(expected, rel=within)


def test_a_hundred_hertz_still_holds_to_a_hundredth():
    waveform, expected = WAVEFORMS["first-order step"]
    for phase in np.random.default_rng(4).random(20):
        assert transition(waveform, 100.0, phase) == pytest.approx(expected, rel=0.01)
