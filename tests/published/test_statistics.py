"""Statistics against published worked examples."""

import numpy as np
import pytest
from scipy.stats import bootstrap

from shiftlog.compare.cells import gather_cells
from shiftlog.compare.difference import compare_kind
from shiftlog.compare.effect import find_cliffs_delta, permute_drives
from shiftlog.compare.shares import compare_counts
from shiftlog.measure.share import share_of

# Efron and Tibshirani, An Introduction to the Bootstrap (1993), table 2.1: survival of mice, days.
TREATED = np.array([94, 197, 16, 38, 99, 141, 23], dtype=float)
CONTROL = np.array([52, 104, 146, 10, 51, 30, 40, 27, 46], dtype=float)

# Efron's law schools, n = 15 (LSAT, GPA).
LAW = np.array([
    (576, 3.39), (635, 3.30), (558, 2.81), (578, 3.03), (666, 3.44), (580, 3.07), (555, 3.00), (661, 3.43),
    (651, 3.36), (605, 3.13), (653, 3.12), (575, 2.74), (545, 2.76), (572, 2.88), (594, 2.96),
])  # fmt: skip


def test_mouse_data_by_exact_permutation():
    """Two-sided p over all C(16, 7) = 11,440 arrangements, recomputed by enumeration: 0.2819930."""
    assert permute_drives(CONTROL, TREATED) == pytest.approx(0.2819930, abs=1e-7)


def test_three_drives_a_side_give_no_permutation():
    """20 arrangements: the smallest two-sided p is 0.1."""
    assert permute_drives(np.array([1.0, 2.0, 3.0]), np.array([11.0, 12.0, 13.0])) is None


@pytest.mark.parametrize(
    ("after", "before", "expected"),
    [
        # Public test data of two implementations of Cliff's delta, recomputed.
        ((10, 10, 20, 20, 20, 30, 30, 30, 40, 50), (10, 20, 30, 40, 40, 50), -0.25),
        ((10, 20, 20, 20, 30, 30, 30, 40, 50, 100), (10, 20, 30, 40, 40, 50), -0.0666667),
        # Worked example of the Mann-Whitney test: U = 17 of 5 x 4, so 2U/mn - 1 = 0.70.
        ((19, 22, 16, 29, 24), (20, 11, 17, 12), 0.70),
        # Hollander and Wolfe's example 69f: W = 35 of 10 x 5, so 0.40.
        ((0.80, 0.83, 1.89, 1.04, 1.45, 1.38, 1.91, 1.64, 0.73, 1.46), (1.15, 0.88, 0.90, 0.74, 1.21), 0.40),
    ],
)
def test_cliffs_delta(after, before, expected):
    delta = find_cliffs_delta(np.array(before, dtype=float), np.array(after, dtype=float))
    assert delta == pytest.approx(expected, abs=1e-7)


def test_law_school_bootstrap_of_the_library_the_project_would_use():
    """r = 0.7763745 exact; 90 % percentile 0.522 to 0.948 and BCa 0.429 to 0.927, to 0.01 with 20,000 draws."""
    r = np.corrcoef(LAW.T)[0, 1]
    assert r == pytest.approx(0.7763745, abs=1e-7)

    def correlation(x, y):
        return np.corrcoef(x, y)[0, 1]

    limits = {"percentile": (0.522, 0.948), "BCa": (0.429, 0.927)}
    for method, (low, high) in limits.items():
        found = bootstrap(
            (LAW[:, 0], LAW[:, 1]), correlation, paired=True, vectorized=False, n_resamples=20_000,
            confidence_level=0.9, method=method, rng=np.random.default_rng(1),
        ).confidence_interval  # fmt: skip
        assert (found.low, found.high) == (pytest.approx(low, abs=0.012), pytest.approx(high, abs=0.012))


@pytest.mark.parametrize(
    ("k", "n", "low", "high"),
    # Clopper-Pearson for the counts of Newcombe, Stat. Med. 17 (1998) 857, table I; limits recomputed.
    [(81, 263, 0.2527, 0.3676), (15, 148, 0.0578, 0.1617), (0, 20, 0.0, 0.1684), (1, 29, 0.0009, 0.1776)],
)
def test_clopper_pearson(k, n, low, high):
    share = share_of(k, n)
    assert (share.low, share.high) == (pytest.approx(low, abs=5e-5), pytest.approx(high, abs=5e-5))


# Student (Biometrika 6, 1908): hours of sleep gained with two drugs, ten people.
SLEEP = ((0.7, -1.6, -0.2, -1.2, -0.1, 3.4, 3.7, 0.8, 0.0, 2.0), (1.9, 0.8, 1.1, 0.1, -0.1, 4.4, 5.5, 1.6, 4.6, 3.4))


def test_welch_on_student_s_sleep():
    """t = 1.8608135 on 17.7765 degrees of freedom, p 0.0793941, 95 % −0.2054832 to 3.3654832; recomputed to 1e-7."""
    found = compare_kind(gather_cells([[{"h": [x]} for x in side] for side in SLEEP], ("h",), yes_no=False))
    assert found.difference / found.error == pytest.approx(1.8608135, abs=1e-7)
    assert (found.df, found.p) == (pytest.approx(17.7765, abs=5e-5), pytest.approx(0.0793941, abs=1e-7))
    ends = found.difference - found.reach(0.95), found.difference + found.reach(0.95)
    assert ends == pytest.approx((-0.2054832, 3.3654832), abs=1e-6)


def test_difference_of_shares():
    """Newcombe's pair 56 of 70 against 48 of 80: 0.2, method 10 gives 0.0524 to 0.3339 (recomputed)."""
    found = compare_counts((48, 80), (56, 70))
    assert found.difference == pytest.approx(0.2)
    assert found.ci95 == pytest.approx((0.0524, 0.3339), abs=5e-5)


def test_tea_tasting_by_fisher():
    """Fisher, The Design of Experiments (1935), chapter 2: four cups of four, 1 of 70 on one side, 2 of 70 on both."""
    assert compare_counts((0, 4), (4, 4)).p == pytest.approx(2 / 70)
