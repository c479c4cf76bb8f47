"""Means and standard deviations against certified values of NIST StRD univariate sets.

Michelso: data in ``nist_michelso.csv``; NumAcc3 and NumAcc4 are made by their rule. Certified to 15 figures; the
two-pass sum that a comparison uses loses some of them where figures stand far from zero, as NIST intends: 1e-9 is asked
of NumAcc3 and 1e-8 of NumAcc4, for which a one-pass sum gives nothing at all.
"""

import csv

import numpy as np
import pytest

from shiftlog.compare.cells import gather_cells


def fit(values) -> tuple[float, float]:
    """Mean and standard deviation by the table a comparison rests on."""
    cells = gather_cells([[{"x": values}]], ("x",), yes_no=True)
    return float(cells.figures[0, 0]), float(np.sqrt(cells.noise))


def test_michelso(reference_tables):
    with (reference_tables / "nist_michelso.csv").open(encoding="utf-8") as file:
        values = np.array([float(row["y"]) for row in csv.DictReader(file)])
    mean, sd = fit(values)
    assert mean == pytest.approx(299.8524, rel=1e-14)
    assert sd == pytest.approx(0.0790105478190518, rel=1e-11)
    off = values - mean
    assert (off[1:] @ off[:-1]) / (off @ off) == pytest.approx(0.535199668621283, rel=1e-10)


@pytest.mark.parametrize(("base", "accuracy"), [(1_000_000.0, 1e-9), (10_000_000.0, 1e-8)])
def test_numbers_far_from_zero(base, accuracy):
    """NumAcc3 and NumAcc4: base + 0.2, then 0.1 and 0.3 five hundred times; standard deviation 0.1 exactly."""
    values = np.r_[base + 0.2, np.tile([base + 0.1, base + 0.3], 500)]
    mean, sd = fit(values)
    assert mean == pytest.approx(base + 0.2, rel=1e-14)
    assert sd == pytest.approx(0.1, rel=accuracy)
