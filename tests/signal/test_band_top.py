"""The top of a signal's band, on signals whose band is known."""

import numpy as np
import pytest
from scipy.signal import butter, sosfiltfilt

from shiftlog.signal.band_top import find_band_top

RATE_HZ = 200.0


def noise(seconds=120.0, level=1.0):
    return level * np.random.default_rng(1).standard_normal(round(seconds * RATE_HZ))


def low_passed(values, corner_hz, order=8):
    return sosfiltfilt(butter(order, corner_hz, fs=RATE_HZ, output="sos"), values)


def test_white_noise_fills_its_band():
    rounded = np.round(noise() / 0.01) * 0.01
    assert find_band_top(rounded, rate_hz=RATE_HZ, resolution=0.01) is None


@pytest.mark.parametrize("corner_hz", [15.0, 30.0, 50.0])
def test_a_filter_steeper_than_the_rounding_shows_its_corner(corner_hz):
    rounded = np.round(low_passed(noise(), corner_hz) / 0.005) * 0.005
    top = find_band_top(rounded, rate_hz=RATE_HZ, resolution=0.005)
    # Sixteen poles fall 48 dB an octave, twice over: the rounding is met within half an octave of the corner.
    assert corner_hz < top < 1.6 * corner_hz


def test_a_road_that_falls_off_slowly_is_no_filter():
    # A first-order fall to 34 dB down at the end of the band, with a sensor's own noise beneath it.
    felt = low_passed(noise(level=3.0), 2.0, order=1) + noise(level=0.03)[::-1]
    assert find_band_top(np.round(felt / 0.01) * 0.01, rate_hz=RATE_HZ, resolution=0.01) is None


def test_gravity_and_bends_do_not_leak_over_a_filtered_end():
    time_s = np.arange(120 * RATE_HZ) / RATE_HZ
    felt = 9.81 + 2 * np.sin(2 * np.pi * 0.05 * time_s) + low_passed(noise(), 20.0)
    assert find_band_top(felt, rate_hz=RATE_HZ, resolution=None) < 45.0


def test_too_little_tells_nothing():
    assert find_band_top(noise(seconds=1.0), rate_hz=RATE_HZ, resolution=0.01) is None
    assert find_band_top(np.full(5000, np.nan), rate_hz=RATE_HZ, resolution=0.01) is None


def test_a_signal_of_rounding_alone_tells_nothing():
    assert find_band_top(np.round(noise(level=0.01) / 0.01) * 0.01, rate_hz=RATE_HZ, resolution=0.01) is None
