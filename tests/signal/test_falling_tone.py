"""Rates of blows from trains made here: times from the integral of the rate, sizes and ways of ringing by chance."""

import numpy as np
import pytest

from shiftlog.guided.settled_tones import LEAST_STRENGTH
from shiftlog.signal.falling_tone import find_falling_tones

FINE_HZ = 12800.0


def _blows(from_hz: float, left: float, lasts_s: float, rng: np.random.Generator) -> np.ndarray:
    """Times at which ∫ f dt passes a whole number, f falling evenly from from_hz to left · from_hz."""
    time = np.arange(0.0, lasts_s, 1 / FINE_HZ)
    passed = from_hz * (time - (1 - left) * time**2 / (2 * lasts_s)) + rng.uniform()
    return time[1:][np.diff(np.floor(passed)) > 0]


def _rung(blows: np.ndarray, lasts_s: float, rng: np.random.Generator, *, rate_hz: float, alike: bool) -> np.ndarray:
    """(n, 3): each blow rings at two resonances and dies in 4 ms; unless alike its direction is any."""
    time = np.arange(0.0, lasts_s, 1 / rate_hz)
    total = rng.normal(0, 0.05, (time.size, 3))
    for hz in rng.uniform(220, 0.35 * rate_hz, 2):
        way = rng.normal(0, 1, 3)
        for at in blows:
            since = np.maximum(time - at, 0.0)
            wave = np.exp(-since / 0.004) * np.sin(2 * np.pi * hz * since)
            total += np.outer(wave, (way if alike else rng.normal(0, 1, 3)) * rng.uniform(0.5, 1.5))
    return total


@pytest.mark.parametrize("alike", [True, False])
@pytest.mark.parametrize("rate_hz", [1000.0, 3200.0])
def test_the_rate_is_neither_halved_nor_doubled(rate_hz, alike):
    rng = np.random.default_rng([int(rate_hz), alike])
    told, held = [], []
    for _ in range(25):
        from_hz, left, lasts_s = rng.uniform(40, 150), rng.uniform(0.1, 0.95), rng.uniform(0.2, 0.4)
        blows = _blows(from_hz, left, lasts_s, rng)
        values = _rung(blows, lasts_s, rng, rate_hz=rate_hz, alike=alike)
        best = find_falling_tones(values, rate_hz, low_hz=15.0, high_hz=180.0)[0]
        if best.strength >= LEAST_STRENGTH and best.weight > 0.9:
            told.append(best.from_hz / from_hz - 1)
            held.append(abs(best.from_hz - from_hz) < 1.96 * best.u_hz)
    assert len(told) >= 18 and np.max(np.abs(told)) < 0.2
    assert np.median(np.abs(told)) < 0.05 and np.mean(held) >= 0.85


def test_noise_has_no_rate():
    rng = np.random.default_rng(5)
    found = [find_falling_tones(rng.normal(0, 1, (480, 3)), 1600.0, low_hz=15.0, high_hz=180.0) for _ in range(40)]
    assert np.mean([tones[0].strength >= LEAST_STRENGTH for tones in found]) <= 0.05


def test_a_stretch_too_short_for_the_lowest_rate_has_none():
    assert find_falling_tones(np.ones((40, 3)), 1600.0, low_hz=15.0, high_hz=180.0) == ()
