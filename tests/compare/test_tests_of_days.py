"""Marked standstill tests of several days: the drive is the unit, and one test a side is counted exactly."""

import numpy as np
import pytest
from scipy.stats import fisher_exact

from shiftlog.compare.evidence import weigh_tests_of_days


def test_one_test_a_side_is_counted_exactly():
    evidence = weigh_tests_of_days([[1.0] * 7 + [0.0] * 3], [[0.0] * 10])
    assert evidence.p == pytest.approx(fisher_exact([[7, 3], [0, 10]]).pvalue) and evidence.firm


def test_a_clear_change_over_three_days_a_side_stands():
    evidence = weigh_tests_of_days([[1.0] * 6] * 3, [[0.0] * 6] * 3)
    assert evidence.p < 1e-3 and evidence.firm and evidence.ci95[1] < -0.5


def test_days_that_differ_do_not_pass_for_a_repair():
    """Shares drawn for each day (beta-binomial, correlation 0.1 within a day), nothing changed: 5 % and two standard
    errors of 300 pairs; pooled counts claim in one of nine."""
    rng = np.random.default_rng(41)

    def side():
        shares = rng.beta(4.5, 4.5, 3)
        return [list((rng.random(12) < share).astype(float)) for share in shares]

    wrong = np.mean([weigh_tests_of_days(side(), side()).p < 0.05 for _ in range(300)])
    assert wrong < 0.05 + 2 * np.sqrt(0.05 * 0.95 / 300)


def test_a_side_without_a_test_gives_nothing():
    assert weigh_tests_of_days([[]], [[1.0]]) is None
