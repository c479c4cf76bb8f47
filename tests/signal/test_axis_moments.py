"""Least squares by blocks: against scipy, and uncertainties that correlated errors do not fool."""

import numpy as np
import pytest
from scipy.linalg import lstsq

from shiftlog.signal.axis_moments import fit_coefficients, gather_moments

NONE = np.zeros(2)


def causes_and_force(rng: np.random.Generator, *, blocks: int = 40, size: int = 50) -> tuple[np.ndarray, ...]:
    """Errors that last for a whole block, as slopes do."""
    count = blocks * size
    block = np.repeat(np.arange(blocks), size)
    causes = np.column_stack([rng.normal(0, 1, blocks)[block] + rng.normal(0, 0.3, count), np.ones(count)])
    truth = np.array([[0.8, -0.5, 0.2], [1.0, 2.0, 9.0]])
    force = causes @ truth + rng.normal(0, 0.4, (blocks, 3))[block]
    return causes, force, block, truth


def test_equal_blocks_give_ordinary_least_squares() -> None:
    rng = np.random.default_rng(0)
    causes = np.column_stack([rng.normal(0, 1, 4000), np.ones(4000)])
    force = causes @ rng.normal(0, 1, (2, 3)) + rng.normal(0, 0.1, (4000, 3))
    found = fit_coefficients(gather_moments(force, causes, np.repeat(np.arange(40), 100)), floor=100.0, penalty=NONE)
    # A floor far above all scatter makes all weights equal but for 1e-6 of them.
    assert np.allclose(found.rows, lstsq(causes, force)[0], atol=1e-5)


def test_the_uncertainty_is_that_of_blocks_and_not_of_samples() -> None:
    found, said = [], []
    for seed in range(150):
        causes, force, block, truth = causes_and_force(np.random.default_rng(seed))
        fit = fit_coefficients(gather_moments(force, causes, block), floor=0.3, penalty=NONE)
        found.append((fit.rows - truth)[0, 0])
        said.append(np.sqrt(fit.covariance[0, 0, 0, 0]))
    # A standard deviation from 150 draws is good to 6 %; the sandwich with 40 blocks is a little low by itself.
    assert np.median(said) == pytest.approx(np.std(found), rel=0.25)


def test_a_block_in_which_something_else_pulled_counts_for_little() -> None:
    causes, force, block, truth = causes_and_force(np.random.default_rng(1))
    force[block == 7] += 30 * causes[block == 7, :1] + np.random.default_rng(2).normal(0, 10, (50, 3))
    fit = fit_coefficients(gather_moments(force, causes, block), floor=0.3, penalty=NONE)
    assert np.allclose(fit.rows[0], truth[0], atol=0.35)


def test_turning_the_force_turns_the_coefficients() -> None:
    causes, force, block, _ = causes_and_force(np.random.default_rng(3))
    turn = np.linalg.qr(np.random.default_rng(4).normal(0, 1, (3, 3)))[0]
    one = fit_coefficients(gather_moments(force, causes, block), floor=0.3, penalty=NONE)
    other = fit_coefficients(gather_moments(force @ turn, causes, block), floor=0.3, penalty=NONE)
    assert np.allclose(other.rows, one.rows @ turn)
    assert other.missed == pytest.approx(one.missed)


def test_causes_that_cannot_be_told_apart_give_nothing() -> None:
    causes, force, block, _ = causes_and_force(np.random.default_rng(5))
    causes[:, 1] = 2 * causes[:, 0]
    assert fit_coefficients(gather_moments(force, causes, block), floor=0.3, penalty=NONE) is None


def test_chosen_blocks_are_those_of_their_own_samples() -> None:
    causes, force, block, _ = causes_and_force(np.random.default_rng(6))
    half = block < 20
    one = fit_coefficients(gather_moments(force, causes, block).chosen(np.arange(40) < 20), floor=0.3, penalty=NONE)
    other = fit_coefficients(gather_moments(force[half], causes[half], block[half]), floor=0.3, penalty=NONE)
    assert np.allclose(one.rows, other.rows)


def test_a_cause_that_never_was_gives_nothing() -> None:
    """A car that stands has no speed to go with the force."""
    causes, force, block, _ = causes_and_force(np.random.default_rng(6))
    causes[:, 0] = 0.0
    assert fit_coefficients(gather_moments(force, causes, block), floor=0.3, penalty=NONE) is None
