"""Quaternions against scipy's ``Rotation`` (scalar last there, first here)."""

import numpy as np
import pytest
from scipy.spatial.transform import Rotation, Slerp

from shiftlog.signal.attitude import (
    attitude_at,
    fit_turn,
    from_matrix,
    from_vector,
    inverse,
    mean_attitude,
    multiply,
    run_on,
    to_matrix,
    to_vector,
    turn,
)

RNG = np.random.default_rng(3)
MANY = Rotation.random(500, rng=RNG)
OTHERS = Rotation.random(500, rng=RNG)
VECTORS = RNG.normal(0, 1, (500, 3))
EXACT = 1e-12
"""Both sides are double precision; what is left is rounding."""


def ours(rotation: Rotation) -> np.ndarray:
    return rotation.as_quat(scalar_first=True)


def apart(found: np.ndarray, rotation: Rotation) -> float:
    """Largest angle between our attitudes and scipy's [rad]; q and −q are one attitude."""
    return float((Rotation.from_quat(found, scalar_first=True) * rotation.inv()).magnitude().max())


def test_products_inverses_and_turned_vectors_are_scipys():
    assert apart(multiply(ours(MANY), ours(OTHERS)), MANY * OTHERS) < EXACT
    assert apart(inverse(ours(MANY)), MANY.inv()) < EXACT
    assert turn(ours(MANY), VECTORS) == pytest.approx(MANY.apply(VECTORS), abs=EXACT)


def test_matrices_are_scipys_both_ways():
    assert to_matrix(ours(MANY)) == pytest.approx(MANY.as_matrix(), abs=EXACT)
    for rotation in [*MANY[:50], *Rotation.from_euler("xyz", [[180, 0, 0], [0, 180, 0], [0, 0, 180]], degrees=True)]:
        assert apart(from_matrix(rotation.as_matrix())[None], rotation) < 1e-10


@pytest.mark.parametrize("angle", [0.0, 1e-9, 1e-4, 0.1, 1.0, 3.0, np.pi - 1e-6])
def test_rotation_vectors_are_scipys_from_nothing_to_half_a_turn(angle):
    vectors = angle * VECTORS / np.linalg.norm(VECTORS, axis=1)[:, None]
    assert apart(from_vector(vectors), Rotation.from_rotvec(vectors)) < EXACT
    assert to_vector(from_vector(vectors)) == pytest.approx(vectors, abs=1e-9)
    assert to_vector(-from_vector(vectors)) == pytest.approx(vectors, abs=1e-9)


def test_between_two_samples_the_turning_is_even_as_in_scipys_slerp():
    times = np.sort(RNG.uniform(0, 10, 30))
    few = Rotation.random(30, rng=RNG)
    at = RNG.uniform(times[0], times[-1], 200)
    assert apart(attitude_at(times, ours(few), at), Slerp(times, few)(at)) < 1e-9
    beyond = attitude_at(times, ours(few), np.array([times[0] - 1, times[-1] + 1]))
    assert apart(beyond, few[[0, -1]]) < 1e-9


def test_the_best_turn_is_scipys_and_never_a_mirror():
    truth = MANY[0]
    targets = truth.apply(VECTORS) + RNG.normal(0, 0.05, VECTORS.shape)
    weights = RNG.uniform(0.1, 2, 500)
    expected, _ = Rotation.align_vectors(targets, VECTORS, weights=weights)
    assert fit_turn(VECTORS, targets, weights) == pytest.approx(expected.as_matrix(), abs=1e-9)
    flat = VECTORS * np.array([1.0, 1.0, 0.0])
    assert np.linalg.det(fit_turn(flat, truth.apply(flat), weights)) == pytest.approx(1.0)


def test_the_mean_attitude_is_scipys():
    near = MANY[0] * Rotation.from_rotvec(0.3 * VECTORS)
    assert apart(mean_attitude(ours(near))[None], near.mean()) < 1e-9


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
    assert np.linalg.norm(to_vector(way[-1])) < 1e-9
    assert np.linalg.norm(to_vector(way[count])) > 1e-3
