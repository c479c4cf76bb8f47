"""Gauge study against AIAG, Measurement Systems Analysis, 4th edition: ten parts, three appraisers, three trials.

Data in ``aiag_msa_grr.csv``. Printed sigmas are rounded to five digits and the difference of the appraisers' means to
.4446 (unrounded .4447); sigmas are held to 5e-6 against values recomputed from the data, the print to its last digit.
"""

import csv

import numpy as np
import pytest

from shiftlog.compare.gauge import find_unsteady, study_ranges, study_variance, sum_squares


@pytest.fixture(scope="module")
def values(reference_tables) -> np.ndarray:
    """(parts, appraisers, trials)."""
    with (reference_tables / "aiag_msa_grr.csv").open(encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    given = {(r["appraiser"], r["trial"]): [float(r[f"part{n}"]) for n in range(1, 11)] for r in rows}
    return np.array([[given[a, str(t)] for t in (1, 2, 3)] for a in "ABC"]).transpose(2, 0, 1)


def test_average_and_range(values):
    study = study_ranges(values)
    found = study.repeat, study.driver, study.gauge, study.setup, study.total
    assert found == pytest.approx((0.201857, 0.229667, 0.305766, 1.104596, 1.146135), abs=5e-6)
    assert found == pytest.approx((0.20188, 0.22963, 0.30575, 1.10456, 1.14610), abs=5e-5)  # as printed
    assert (study.gauge_percent, int(study.categories)) == (pytest.approx(26.68, abs=0.005), 5)


def test_sums_of_squares(values):
    squares = sum_squares(values)
    found = squares.setup, squares.driver, squares.interaction, squares.repeat
    assert found == pytest.approx((88.3619, 3.1673, 0.3590, 2.7589), abs=1e-4)
    assert squares.df == (9, 2, 18, 60)
    assert squares.p_interaction == pytest.approx(0.974, abs=5e-4)


def test_analysis_of_variance(values):
    study = study_variance(values)
    found = study.repeat, study.driver, study.gauge, study.setup
    assert found == pytest.approx((0.199933, 0.226838, 0.302373, 1.042327), abs=5e-6)
    assert study.interaction == 0.0
    assert study.gauge_percent == pytest.approx(27.86, abs=0.005)
    assert study.categories == pytest.approx(4.86, abs=0.005)
    contribution = [100 * s**2 / study.total**2 for s in (*found[:3], found[3])]
    assert contribution == pytest.approx((3.4, 4.4, 7.8, 92.2), abs=0.05)


def test_the_range_chart_points_at_appraiser_b_part_four(values):
    assert find_unsteady(values) == [(3, 1)]
