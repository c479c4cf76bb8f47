"""Shares k of n against published intervals, and what none of n allows."""

import pytest
from scipy.stats import binomtest

from shiftlog.measure.share import share_of

# Counts of Newcombe, Statistics in Medicine 17 (1998) 857, table I. Wilson (method 3) as printed there for the first
# four, the rest recomputed; Clopper-Pearson (method 5) recomputed. To the four figures printed.
TABLE = (
    (81, 263, 0.2553, 0.3662, 0.2527, 0.3676), (15, 148, 0.0624, 0.1605, 0.0578, 0.1617),
    (0, 20, 0.0, 0.1611, 0.0, 0.1684), (1, 29, 0.0061, 0.1718, 0.0009, 0.1776),
    (0, 10, 0.0, 0.2775, 0.0, 0.3085), (1, 10, 0.0179, 0.4042, 0.0025, 0.445),
    (7, 10, 0.3968, 0.8922, 0.3475, 0.9333), (10, 10, 0.7225, 1.0, 0.6915, 1.0),
)  # fmt: skip


@pytest.mark.parametrize(("k", "n", "_low", "_high", "low", "high"), TABLE)
def test_clopper_pearson(k, n, _low, _high, low, high):
    share = share_of(k, n)
    assert (share.low, share.high) == (pytest.approx(low, abs=5e-5), pytest.approx(high, abs=5e-5))


@pytest.mark.parametrize(("k", "n", "low", "high", "_low", "_high"), TABLE)
def test_wilson_lies_within_it(k, n, low, high, _low, _high):
    """The printed Wilson limits, and that the exact interval, which never covers less than it says, holds them."""
    wilson = binomtest(k, n).proportion_ci(0.95, method="wilson")
    assert (wilson.low, wilson.high) == (pytest.approx(low, abs=5e-5), pytest.approx(high, abs=5e-5))
    share = share_of(k, n)
    assert share.low <= wilson.low + 1e-9 and share.high >= wilson.high - 1e-9
