"""What makes the confidence of shifts from a phone honest for a driver nobody fitted to."""

import numpy as np
import pytest

from shiftlog.detect import phone_judge
from shiftlog.detect.phone_judge import TEMPER, temper
from tests.truth.phone_held_out import AS_IT_IS, fit_temper, judging_by


def claims(rng: np.random.Generator, *, constant: float, slope: float) -> list[tuple[float, bool]]:
    """Claims of which the log odds say ``1/slope`` times too much, less a constant."""
    said = rng.normal(0, 2.0, 20_000)
    true = rng.random(said.size) < 1 / (1 + np.exp(-(constant + slope * said)))
    return list(zip(1 / (1 + np.exp(-said)), true, strict=True))


def test_what_was_claimed_too_boldly_is_told_and_mended() -> None:
    rng = np.random.default_rng(5)
    constant, slope = fit_temper([claims(rng, constant=-0.3, slope=0.5), claims(rng, constant=-0.3, slope=0.5)])
    # 20,000 claims fix both to 0.02 (standard error of a logistic regression), and they are rounded to 0.01.
    assert (constant, slope) == pytest.approx((-0.3, 0.5), abs=0.05)


def test_each_driver_counts_the_same_however_long_he_drove() -> None:
    rng = np.random.default_rng(6)
    bold, shy = claims(rng, constant=-1.0, slope=1.0), claims(rng, constant=1.0, slope=1.0)
    assert fit_temper([bold, shy])[0] == pytest.approx(fit_temper([bold * 5, shy])[0], abs=0.02)


def test_a_tempered_judgement_keeps_its_order_and_claims_less_of_what_it_is_sure_of() -> None:
    raw = np.linspace(0.001, 0.999, 500)
    for by in TEMPER.values():
        held = temper(raw, by)
        assert np.all(np.diff(held) > 0) and np.all((held > 0) & (held < 1))
    # Without speed the coasting level is known less well, and what is claimed there is claimed with more reserve.
    assert np.all(temper(raw, TEMPER["no speed"])[raw > 0.5] < temper(raw, TEMPER["speed"])[raw > 0.5])
    assert np.all(temper(raw, TEMPER["no speed"])[raw > 0.8] < raw[raw > 0.8])


def test_other_curves_are_put_back() -> None:
    own = phone_judge.CURVES, phone_judge.HABITS, phone_judge.KNOTS, phone_judge.TEMPER
    with pytest.raises(ZeroDivisionError), judging_by({}, [0.0] * 8, np.zeros((12, 5)), AS_IT_IS):
        assert np.allclose(temper(np.array([0.3, 0.8]), phone_judge.TEMPER["speed"]), [0.3, 0.8])
        _ = 1 / 0
    assert own == (phone_judge.CURVES, phone_judge.HABITS, phone_judge.KNOTS, phone_judge.TEMPER)
