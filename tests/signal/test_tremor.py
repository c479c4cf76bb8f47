"""A hand on a lever is felt by its tremor and its nudges; noise alone is not."""

import numpy as np
import pytest

from shiftlog.signal.tremor import find_touched, white_power

RATE_HZ, NOISE_MM = 200.0, 0.15


def touched(places: np.ndarray, rate_hz: float = RATE_HZ) -> np.ndarray:
    floor = white_power(NOISE_MM, rate_hz)
    return find_touched(places, rate_hz, floor_mm2=floor, noise_mm=NOISE_MM)


def lying(seconds: float, seed: int) -> np.ndarray:
    return np.random.default_rng(seed).normal(0, NOISE_MM, (int(seconds * RATE_HZ), 2))


def test_a_lever_left_alone_is_left_alone():
    assert np.mean([touched(lying(5.0, seed)).mean() for seed in range(40)]) < 0.005


@pytest.mark.parametrize("amplitude", [0.15, 0.3, 0.6])
@pytest.mark.parametrize("frequency", [8.5, 10.0, 12.0])
def test_tremor_is_felt_where_it_is(amplitude, frequency):
    """Over forty stretches: noise passes for a hand now and then."""
    t = np.arange(int(6.0 * RATE_HZ)) / RATE_HZ
    here, apart = (t > 2.0) & (t < 4.0), (t < 1.7) | (t > 4.3)
    hand = (amplitude * np.sin(2 * np.pi * frequency * t) * here)[:, None]
    found = np.array([touched(lying(6.0, seed) + hand) for seed in range(40)])
    assert found[:, here].mean(axis=1).min() > 0.85
    assert found[:, apart].mean() < 0.02


def test_a_nudge_is_felt_by_what_it_moves():
    places = lying(4.0, 2)
    places[400:, 0] += 0.9
    found = touched(places)
    assert found[390:410].all()
    assert found[:330].mean() < 0.05 and found[470:].mean() < 0.05


def test_a_rate_too_low_for_tremor_still_feels_nudges():
    places = np.random.default_rng(3).normal(0, 0.02, (80, 2))
    places[40:, 1] += 1.0
    assert find_touched(places, 20.0, floor_mm2=1e-4, noise_mm=0.02)[39:42].all()
