"""Medians of few: their interval holds, and differences follow Welch."""

import numpy as np
import pytest
from scipy.stats import ttest_ind

from shiftlog.signal.middle import Middle, difference, middle_of


def test_the_interval_of_a_median_holds_its_truth():
    """2,000 samples of ten normal values: 95 % and three standard errors; a median of ten is worth a little more."""
    draws = np.random.default_rng(7).normal(4.0, 2.0, (2000, 10))
    held = sum((span := middle_of(row).interval95)[0] <= 4.0 <= span[1] for row in draws)
    assert 0.935 <= held / 2000 <= 0.985


def test_a_difference_has_welch_s_degrees_of_freedom():
    a, b = np.array([1.0, 2.0, 4.0, 8.0]), np.array([3.0, 3.5, 4.5, 9.0, 12.0, 30.0])
    means = [
        Middle(value=float(v.mean()), u=float(v.std(ddof=1) / np.sqrt(v.size)), freedom=v.size - 1.0) for v in (a, b)
    ]
    welch = ttest_ind(a, b, equal_var=False)
    found = difference(*means)
    assert found.freedom == pytest.approx(welch.df)
    assert found.interval95 == pytest.approx(tuple(welch.confidence_interval(0.95)))


def test_a_single_value_has_no_interval():
    assert middle_of([3.0]).interval95 is None
    assert difference(middle_of([3.0]), middle_of([1.0, 2.0])).interval95 is None


def test_what_all_values_share_is_not_averaged_away():
    many = middle_of(np.tile([1.0, 1.1], 500), shared_u=0.5)
    assert many.u == pytest.approx(0.5, abs=0.01)
