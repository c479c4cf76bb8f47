"""A lever that creeps at one speed, and a hand's sway against a lever that keeps its place."""

import numpy as np
import pytest

from shiftlog.signal.steady_run import fit_steady_run
from shiftlog.signal.sway import sway_of_noise, sway_power
from shiftlog.signal.tremor import touch_odds

RATE_HZ = 100.0


def test_a_creep_is_explained_and_a_smooth_move_is_not():
    time = np.arange(0, 1.6, 1 / RATE_HZ)
    u = np.clip((time - 0.3) / 1.0, 0, 1)
    creep, led = 25 * (1 - u), 25 * (1 - u**3 * (10 - 15 * u + 6 * u**2))
    assert fit_steady_run(time, creep) < 0.05
    assert fit_steady_run(time, led) > 0.3
    assert fit_steady_run(time, np.zeros(time.size)) is None


@pytest.mark.parametrize("noise_mm", [0.05, 0.4])
def test_sway_of_a_lever_left_alone_is_that_of_its_noise(noise_mm):
    places = np.random.default_rng(3).normal(0, noise_mm, (20000, 2))
    assert sway_power(places, RATE_HZ).mean() == pytest.approx(sway_of_noise(noise_mm, RATE_HZ), rel=0.1)


def test_a_hand_that_is_not_felt_weighs_nothing():
    assert touch_odds(np.array([0.5, 1.0, 9.0]), 1.0) == pytest.approx(0.0)
    assert touch_odds(np.array([1.0]), 4.0) < 0 < touch_odds(np.array([4.0]), 4.0)
