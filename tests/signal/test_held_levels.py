"""Levels of a signal that is held, moved and held again, in white and in rounded noise."""

import numpy as np
import pytest

from shiftlog.signal.held_levels import find_held_levels
from shiftlog.signal.robust import midmean

RATE_HZ = 100.0


def course(*levels: float, noise: float, seed: int = 1, lasts_s: float = 1.0) -> np.ndarray:
    """Held for ``lasts_s`` each, with moves of 0.15 s between."""
    rng = np.random.default_rng(seed)
    parts = [np.full(int(lasts_s * RATE_HZ), levels[0])]
    for a, b in zip(levels[:-1], levels[1:], strict=True):
        parts += [np.linspace(a, b, 15), np.full(int(lasts_s * RATE_HZ), b)]
    whole = np.concatenate(parts)
    return whole + rng.normal(0, noise, whole.size)


def found(values: np.ndarray) -> np.ndarray:
    return find_held_levels(values, RATE_HZ, shortest_s=0.25, least=0.15, sigmas=6.0, noise=0.02).levels


@pytest.mark.parametrize("seed", range(5))
def test_every_level_is_found_where_it_was(seed: int) -> None:
    true = (0.0, 1.2, 0.0, -0.8, 0.0, 2.4, 0.0)
    # A hundred values of noise 0.2 leave 0.02, the middle half of them a fifth more; four of that.
    assert found(course(*true, noise=0.2, seed=seed)) == pytest.approx(true, abs=0.1)


@pytest.mark.parametrize("seed", range(5))
def test_noise_alone_has_one_level(seed: int) -> None:
    assert found(np.random.default_rng(seed).normal(0, 0.3, 3000)).size == 1


def test_a_shift_moves_the_levels_and_nothing_else() -> None:
    values = course(0.0, 0.6, 0.0, noise=0.1)
    assert found(values + 7.0) == pytest.approx(found(values) + 7.0, abs=1e-9)


def test_a_move_is_no_level() -> None:
    assert found(course(0.0, 5.0, noise=0.02)).size == 2


def test_the_mean_of_the_middle_half_reads_between_steps_where_a_median_cannot() -> None:
    values = np.round(np.random.default_rng(3).normal(0.35, 0.6, 4000))
    assert np.median(values) == 0.0 and midmean(values) == pytest.approx(0.35, abs=0.08)
