"""Where a sensor ran into the end of its range, and what only looks like it."""

import numpy as np
import pytest

from shiftlog.signal.clipping import find_limits

RNG = np.random.default_rng(7)
NOISE = RNG.normal(0, 1, 96_000)
SECONDS = np.arange(NOISE.size) / 1600


def rounded(values: np.ndarray, step: float) -> np.ndarray:
    return np.round(values / step) * step


@pytest.mark.parametrize("step", [2.0**-14, 2.0**-10, 2.0**-6])
@pytest.mark.parametrize("sigma", [0.7, 1.0, 2.0])
def test_a_heap_at_the_end_is_clipping_however_wide_the_readings_are(step: float, sigma: float) -> None:
    assert find_limits(np.clip(rounded(sigma * NOISE, step), -2, 2), rests=False) == (-2, 2)


def test_an_end_that_single_readings_jump_to_is_a_limit() -> None:
    values = rounded(0.15 * NOISE, 1e-4)
    values[::97] = 32.767
    assert find_limits(values, rests=False) == (-np.inf, 32.767)


@pytest.mark.parametrize("step", [1e-4, 0.01, 0.1, 1.0])
@pytest.mark.parametrize(
    "values",
    [
        NOISE,
        3 * np.sin(SECONDS * 700),
        3 * np.sin(SECONDS * 700) + 0.1 * NOISE,
        np.maximum(np.sin(SECONDS / 3), 0) * (3 + 0.3 * NOISE),
        np.where(SECONDS < 30, 0.05, np.abs(2 + NOISE)),
        np.maximum(2 * np.sin(SECONDS / 3), 0) + 0.05 * NOISE,
        RNG.uniform(-2, 2, NOISE.size),
    ],
    ids=["noise", "sine", "shaken sine", "rests at its end", "one rest", "trembles at its end", "evenly spread"],
)
def test_ends_that_readings_come_to_by_themselves_are_no_limits(values: np.ndarray, step: float) -> None:
    assert find_limits(rounded(values, step), rests=False) is None


def test_a_trembling_lever_cut_at_both_ends_is_clipped_there() -> None:
    lever = np.round(2000 + 300 * np.sin(SECONDS) + 2 * NOISE)
    assert find_limits(np.clip(lever, 1800, 2150), rests=True) == (1800, 2150)
    assert find_limits(np.round(np.clip(lever - 2 * NOISE, 1800, 2150) + 2 * NOISE), rests=True) is None


def test_a_quiet_lever_that_goes_between_two_gears_is_not_clipped() -> None:
    lever = np.round(2000 + 200 * np.clip(6 * np.sin(SECONDS), -1, 1))
    assert find_limits(lever, rests=True) is None
