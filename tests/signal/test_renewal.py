"""Forward-filled columns are told from slow ones."""

import numpy as np
import pytest

from shiftlog.signal.renewal import find_renewals

ROWS = 12000


def speed_kmh(count: int, *, step: float = 1.0) -> np.ndarray:
    """A drive with stops, rounded to ``step``: standing, pulling away, cruising."""
    time = np.arange(count) / count * 60
    return np.round(np.clip(60 * np.sin(time / 3) + 15 * np.sin(time), 0, None) / step) * step


def filled(values: np.ndarray, period: int, *, phase: int = 3) -> np.ndarray:
    column = np.repeat(values, period)[:ROWS]
    return np.concatenate((np.full(phase, np.nan), column))[:ROWS]


@pytest.mark.parametrize(("period", "step"), [(2, 0.05), (3, 0.05), (5, 0.1), (10, 1.0)])
def test_a_round_robin_poll_is_found_with_its_renewals(period: int, step: float) -> None:
    found = find_renewals(filled(speed_kmh(ROWS // period, step=step), period))
    true = np.arange(3, ROWS, period)
    assert found is not None
    assert np.isin(found, true).mean() > 0.98
    assert found.size == pytest.approx(true.size, rel=0.02)


def test_slips_of_a_row_now_and_then_do_no_harm() -> None:
    rng = np.random.default_rng(1)
    lengths = 10 + rng.choice([-1, 0, 1], p=[0.03, 0.94, 0.03], size=ROWS // 10)
    column = np.repeat(speed_kmh(lengths.size), lengths)
    found = find_renewals(column)
    assert found is not None
    assert found.size == pytest.approx(lengths.size, rel=0.03)


def test_a_sensor_slower_than_the_logger_is_found() -> None:
    noise = np.random.default_rng(2).normal(0, 1, ROWS)
    index = np.floor(np.arange(ROWS) / 2.5).astype(int)
    found = find_renewals(noise[index])
    assert found is not None
    assert found.size == pytest.approx(ROWS / 2.5, rel=0.01)


@pytest.mark.parametrize("rate_hz", [10, 20, 50])
def test_whole_kmh_sampled_at_every_row_are_left_alone(rate_hz: int) -> None:
    # One sample a row, only coarse: steps fall on any row.
    time = np.arange(600 * rate_hz) / rate_hz
    speed = np.round(np.clip(40 + 40 * np.sin(time / 20) + 9 * np.sin(time / 3.1), 0, None))
    assert find_renewals(speed) is None


def test_a_steady_pull_sampled_at_every_row_among_other_driving_is_left_alone() -> None:
    # 1 km/h each 0.8 s for ten minutes is a comb by chance; any real drive has faster stretches.
    slow = np.repeat(np.arange(60), 8)
    fast = np.repeat(np.arange(60, 0, -1), 3)
    assert find_renewals(np.tile(np.concatenate((slow, fast)), 10).astype(float)) is None


@pytest.mark.parametrize(
    "values",
    [
        np.zeros(5000),
        np.random.default_rng(3).normal(0, 1, 5000),
        np.repeat([0.0, 1.0, 0.0, 1.0], 1250),
        np.round(2000 + 200 * np.sin(np.arange(5000) / 40)),
        np.full(100, np.nan),
        np.array([]),
    ],
)
def test_constant_lively_seldom_and_empty_columns_are_left_alone(values: np.ndarray) -> None:
    assert find_renewals(values) is None
