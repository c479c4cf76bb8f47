"""Rates, holes and coarse stamps on bare arrays."""

import numpy as np
import pytest

from shiftlog.signal.clock_ticks import find_spans, is_coarse, measure_ticks


def test_missing_samples_do_not_bend_the_rate() -> None:
    rng = np.random.default_rng(1)
    kept = np.sort(rng.choice(20000, 19000, replace=False))
    ticks = measure_ticks(kept / 1600)
    assert ticks.rate_hz == pytest.approx(1600, rel=1e-9)
    assert ticks.missing == kept[-1] - kept[0] + 1 - kept.size


def test_one_step_only() -> None:
    ticks = measure_ticks(np.array([5.0, 6.0]))
    assert (ticks.rate_hz, ticks.missing, ticks.gap_after.size) == (1.0, 0, 0)
    assert find_spans(np.array([5.0, 6.0]), ticks.gap_after) == ((5.0, 6.0),)


def test_gaps_shift_with_time_and_scale_with_it() -> None:
    time = np.concatenate((np.arange(100), 150 + np.arange(50))) * 0.01
    for scale, shift in ((1.0, 0.0), (3.0, 1e4)):
        ticks = measure_ticks(time * scale + shift)
        assert ticks.gap_after.tolist() == [99]
        assert ticks.missing == 50
        assert ticks.rate_hz == pytest.approx(100 / scale, rel=1e-6)


@pytest.mark.parametrize(
    ("stamps", "coarse"),
    [
        (np.floor(np.arange(1000) * 0.625), True),
        (np.repeat(np.arange(100), 10) * 0.04, True),
        (np.arange(1000) * 0.004, False),
        (np.sort(np.concatenate((np.arange(1000) * 0.004, [0.4, 1.2]))), False),
    ],
)
def test_coarse_clocks_are_told_from_single_slips(stamps: np.ndarray, coarse: bool) -> None:
    assert is_coarse(stamps) is coarse
