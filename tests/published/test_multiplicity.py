"""Benjamini and Hochberg, J. R. Statist. Soc. B 57 (1995), the fifteen p-values of their example; ``bh1995.csv``.

Adjusted values recomputed with a library to six digits after the point; counts as printed.
"""

import csv

import numpy as np
import pytest

from shiftlog.compare.multiplicity import adjust_benjamini_hochberg, adjust_holm, gate_rows

P = (.0001, .0004, .0019, .0095, .0201, .0278, .0298, .0344, .0459, .3240, .4262, .5719, .6528, .7590, 1.0)  # fmt: skip


def test_holm_rejects_three_and_benjamini_hochberg_four():
    assert np.sum(np.array(P) <= 0.05) == 9
    assert np.sum(adjust_holm(P) <= 0.05) == 3
    assert np.sum(adjust_benjamini_hochberg(P) <= 0.05) == 4


def test_adjusted_values(reference_tables):
    with (reference_tables / "bh1995.csv").open(encoding="utf-8") as file:
        rows = [{k: float(v) for k, v in row.items()} for row in csv.DictReader(file)]
    assert [row["p"] for row in rows] == list(P)
    assert adjust_holm(P) == pytest.approx([row["holm"] for row in rows], abs=1e-6)
    assert adjust_benjamini_hochberg(P) == pytest.approx([row["bh"] for row in rows], abs=1e-6)


def test_order_does_not_matter():
    shuffled = np.random.default_rng(1).permutation(len(P))
    for adjust in (adjust_holm, adjust_benjamini_hochberg):
        assert adjust(np.array(P)[shuffled]) == pytest.approx(adjust(P)[shuffled])


def test_kinds_stand_behind_their_headline():
    p = {("a", "all"): 0.01, ("a", "1-2"): 0.001, ("a", "2-3"): 0.2, ("b", "all"): 0.9, ("b", "1-2"): 0.0001}
    gated = gate_rows(p, headline="all")
    assert gated["a", "all"] == pytest.approx(0.02)
    assert gated["a", "1-2"] == pytest.approx(0.02)
    assert gated["a", "2-3"] == pytest.approx(0.2)
    assert gated["b", "1-2"] == pytest.approx(0.9)
