"""Attitudes that rates lead to, against known motions."""

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from shiftlog.signal.attitude import attitude_at, run_on

RNG = np.random.default_rng(3)


def apart(found: Rotation, expected: Rotation) -> float:
    """Largest angle between two rows of attitudes [rad]."""
    return float((found * expected.inv()).magnitude().max())


def test_an_attitude_is_held_beyond_the_ends_and_turns_evenly_between():
    ends = Rotation.from_rotvec([[0.0, 0.0, 0.2], [0.0, 0.0, 1.0]])
    found = attitude_at(np.array([0.0, 1.0]), ends, np.array([-1.0, 0.25, 2.0]))
    assert apart(found, Rotation.from_rotvec([[0, 0, 0.2], [0, 0, 0.4], [0, 0, 1.0]])) < 1e-12


def test_even_turning_about_one_axis_is_exact_over_an_hour():
    times = np.arange(0, 3600, 0.05)
    rates = np.tile([0.3, -0.2, 0.4], (times.size, 1))
    assert apart(run_on(times, rates), Rotation.from_rotvec(times[:, None] * rates)) < 1e-8


def coning(time_s: np.ndarray) -> Rotation:
    """The axis itself turns, which adding up angles would get wrong by tens of degrees."""
    return Rotation.from_euler("zyx", np.stack([0.2 * time_s, 0.15 * np.sin(9 * time_s), 0.2 * np.cos(9 * time_s)], 1))


def followed(step_s: float) -> float:
    """Largest angle by which our way strays from a known motion within a minute [rad]."""
    times = np.arange(0, 60, step_s)
    rates = (coning(times - 1e-4).inv() * coning(times + 1e-4)).as_rotvec() / 2e-4
    return apart(run_on(times, rates), coning(times[:1]).inv() * coning(times))


def test_rates_of_a_known_motion_lead_along_it_and_finer_steps_four_times_as_near():
    """Straight rates between samples are a method of second order: half the step, a quarter of the error."""
    assert followed(0.005) < np.deg2rad(0.2)
    assert followed(0.01) / followed(0.005) == pytest.approx(4.0, abs=0.3)


@pytest.mark.parametrize("count", [2, 3, 7, 256, 257, 5000])
def test_the_way_back_leads_home_whatever_its_length(count):
    """Rates run straight between samples, so that the way back is the way out sample by sample."""
    out = RNG.normal(0, 3, (count, 3))
    rates = np.concatenate([out, np.zeros((1, 3)), -out[::-1]])
    way = run_on(np.arange(len(rates)) * 0.01, rates)
    assert way[-1].magnitude() < 1e-9
    assert way[count].magnitude() > 1e-3
