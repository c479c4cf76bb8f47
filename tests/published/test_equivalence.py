"""Two one-sided tests: a published negative example, Lakens 2017, and statsmodels."""

import numpy as np
import pytest

from shiftlog.compare.equivalence import try_equivalence
from shiftlog.compare.estimate import Estimate

# A public test of another statistics library; recomputed: bound 1 gives p = 0.965097 on 10 degrees of freedom.
A, B = np.array([4, 7, 8, 6, 3, 2.0]), np.array([6, 8, 7, 10, 11, 9.0])


def pooled(before, after) -> Estimate:
    """Student's t with one variance for both."""
    df = before.size + after.size - 2
    variance = ((before.size - 1) * before.var(ddof=1) + (after.size - 1) * after.var(ddof=1)) / df
    return estimate(before.mean(), after.mean(), variance * (1 / before.size + 1 / after.size), df)


def estimate(before, after, variance, df) -> Estimate:
    return Estimate(
        before=before, after=after, difference=after - before, variance=variance, df=df, drive_variance=1.0,
        noise_variance=0.0, rests_on="drives",
    )  # fmt: skip


def test_published_negative_example():
    assert try_equivalence(pooled(A, B), 1.0).p == pytest.approx(0.965097, abs=1e-6)


def test_lakens_2017():
    """4.55 and 4.87, sd 1.05 and 1.11, 15 each, ±0.48 sd: t 0.5034 and −2.1257, df 27.914 (from memory)."""
    parts = np.array([1.05**2, 1.11**2]) / 15
    df = parts.sum() ** 2 / (parts**2 / 14).sum()
    assert df == pytest.approx(27.914, abs=5e-4)
    found = estimate(4.87, 4.55, parts.sum(), df)
    margin = 0.48 * np.sqrt((1.05**2 + 1.11**2) / 2)
    assert (found.difference + margin) / found.error == pytest.approx(0.5034, abs=5e-4)
    assert (found.difference - margin) / found.error == pytest.approx(-2.1257, abs=5e-4)
    assert try_equivalence(found, margin).p == pytest.approx(0.3093, abs=5e-4)


@pytest.mark.parametrize("seed", range(4))
def test_statsmodels_gives_the_same(seed):
    ttost_ind = pytest.importorskip("statsmodels.stats.weightstats").ttost_ind
    rng = np.random.default_rng(seed)
    before, after = rng.normal(5, 1, 7), rng.normal(5.1, 1, 9)
    p, (t_low, p_low, _), (t_high, p_high, _) = ttost_ind(after, before, -0.9, 0.9)
    found = try_equivalence(pooled(before, after), 0.9)
    assert (found.p, found.lower, found.upper) == pytest.approx((p, p_low, p_high), rel=1e-9)


def test_the_answer_at_five_per_cent_is_that_of_the_ninety_per_cent_interval():
    rng = np.random.default_rng(9)
    for _ in range(200):
        found = pooled(rng.normal(0, 1, 5), rng.normal(0.3, 1, 4))
        reach = found.reach(0.90)
        inside = abs(found.difference) + reach < 1.5
        assert inside == (try_equivalence(found, 1.5).p < 0.05)
