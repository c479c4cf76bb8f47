"""What rounding leaves of a mean, with and without noise that takes it away."""

import numpy as np
import pytest

from shiftlog.signal.rounding import find_rounding

STEP = 0.25


def rounded(sigma: float, seed: int) -> tuple[np.ndarray, np.ndarray]:
    """(readings of sixty places held for a hundred readings each, how far each place's mean is off)."""
    rng = np.random.default_rng(seed)
    places = rng.uniform(0, 10, 60)
    readings = np.round((places[:, None] + rng.normal(0, sigma, (60, 100))) / STEP) * STEP
    return readings, readings.mean(axis=1) - places


@pytest.mark.parametrize("seed", range(3))
def test_without_noise_a_mean_is_as_uncertain_as_one_reading(seed: int) -> None:
    readings, off = rounded(0.0, seed)
    # A rectangular distribution of one step has a standard deviation of a step over √12 (JCGM 100:2008, 4.3.7).
    assert find_rounding(np.append(readings.ravel(), [0.0, STEP])) == pytest.approx(STEP / np.sqrt(12), rel=1e-9)
    assert np.std(off) == pytest.approx(STEP / np.sqrt(12), rel=0.25)


@pytest.mark.parametrize("share", [0.0, 0.1, 0.2, 0.3])
def test_it_is_no_less_than_what_is_left_in_truth(share: float) -> None:
    left = [rounded(share * STEP, seed) for seed in range(5)]
    told = np.mean([find_rounding(readings.ravel()) for readings, _ in left])
    true2 = max(np.mean([np.var(off) for _, off in left]) - (share * STEP) ** 2 / 100, 0.0)
    # Sixty places five times tell a deviation to 4 %; noise of a third of a step leaves nearly nothing.
    assert told >= 0.9 * np.sqrt(true2) - 0.01 * STEP


def test_noise_of_half_a_step_leaves_nothing() -> None:
    assert find_rounding(rounded(0.5 * STEP, 1)[0].ravel()) < 0.02 * STEP


def test_a_signal_that_never_changes_has_no_step() -> None:
    assert find_rounding(np.full(50, 512.0)) == 0.0
