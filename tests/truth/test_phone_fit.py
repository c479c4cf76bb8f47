"""The curves of the judgement on candidates from a phone alone tell what was put in."""

import numpy as np
import pytest

from shiftlog.detect.phone_features import FEATURES
from shiftlog.detect.phone_weights import KNOTS, WEIGHTS
from tests.truth.phone_fit import fit_curves


def test_a_curve_follows_what_a_figure_tells_and_stays_level_where_it_tells_nothing() -> None:
    rng = np.random.default_rng(1)
    figures = rng.uniform(0, 4, (20_000, 2))
    told = np.interp(figures[:, 0], (0, 2, 4), (-2.0, 2.0, -2.0))
    labels = (rng.random(20_000) < 1 / (1 + np.exp(-told))).astype(float)
    knots = np.tile(np.arange(5.0), (2, 1))
    constant, heights = fit_curves(figures, labels, np.ones(20_000), knots)
    # 4,000 candidates between two knots fix a height to about 0.1 (logistic regression); heights are less their mean.
    assert heights[0] == pytest.approx(np.array([-2.0, 0.0, 2.0, 0.0, -2.0]) + 0.4, abs=0.3)
    assert heights[1] == pytest.approx(np.zeros(5), abs=0.3)
    assert constant == pytest.approx(-0.4, abs=0.2)


def test_what_stands_holds_a_curve_for_each_figure_and_kind() -> None:
    assert len(KNOTS) == len(FEATURES) and WEIGHTS.keys() == {"gap", "bump", "rise", "fall"}
    assert all(np.all(np.diff(knots) > 0) for knots in KNOTS)
    for constant, heights in WEIGHTS.values():
        assert constant < 0
        assert np.shape(heights) == np.shape(KNOTS)


def test_under_drive_the_curves_agree_with_what_an_open_clutch_does() -> None:
    heights = dict(zip(FEATURES, WEIGHTS["gap"][1], strict=True))
    assert np.argmax(heights["coast stay"]) == 4
    assert np.argmax(heights["above coasting"]) == 2
    assert heights["swing at take-up"][-1] > heights["swing at take-up"][0]
    assert heights["length"][-1] == min(heights["length"])
