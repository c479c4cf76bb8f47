"""What would settle an unclear row, against what then does."""

import numpy as np
import pytest

from shiftlog.compare.estimate import Estimate
from shiftlog.compare.power import MOST_DRIVES, find_need
from shiftlog.compare.words import say_need


def estimate(difference, *, days, noise, drives=3):
    spread = days**2 + noise**2
    return Estimate(
        before=1.0, after=1.0 + difference, difference=difference, variance=2 * spread / drives, df=2 * drives - 2,
        drive_variance=spread, noise_variance=noise**2, rests_on="drives",
    )  # fmt: skip


def test_more_drives_help_where_days_differ_and_more_shifts_do_not():
    need = find_need(estimate(-0.1, days=0.1, noise=0.01), (3, 3), margin=0.02, alpha=0.05)
    assert need.times_shifts is None and 10 <= need.more_drives <= 18
    assert "more shifts in each drive would not" in say_need(need)


def test_more_shifts_help_where_days_are_alike():
    need = find_need(estimate(-0.1, days=0.01, noise=0.06), (3, 3), margin=0.02, alpha=0.05)
    assert need.times_shifts in (2, 3, 4) and need.more_drives >= 1
    assert "times as many shifts in each drive" in say_need(need)


def test_what_no_number_of_drives_settles_is_said():
    need = find_need(estimate(-0.001, days=1.0, noise=0.1), (3, 3), margin=None, alpha=0.05)
    assert (need.more_drives, need.times_shifts) == (None, None)
    assert str(MOST_DRIVES) in say_need(need)


@pytest.mark.parametrize("difference", [-0.12, -0.2])
def test_that_many_drives_find_it_in_four_cases_of_five(difference):
    """Simulated with Student's t on drive figures; 2,000 pages, so 0.8 to within 0.03."""
    asked = estimate(difference, days=0.1, noise=0.05)
    n = 3 + find_need(asked, (3, 3), margin=0.02, alpha=0.05).more_drives
    rng, sd = np.random.default_rng(n), np.sqrt(asked.drive_variance)
    sides = rng.normal(0, sd, (2, 2000, n)) + np.array([0, difference])[:, None, None]
    t = (sides[1].mean(axis=1) - sides[0].mean(axis=1)) / np.sqrt(sides.var(axis=2, ddof=1).sum(axis=0) / n)
    found = np.mean(t < -estimate_t(2 * n - 2))
    assert 0.77 <= found <= 0.93


def estimate_t(df):
    return float(np.quantile(np.random.default_rng(0).standard_t(df, 400_000), 0.975))
