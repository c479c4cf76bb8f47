"""Which candidates are beyond chance, and the tests behind them against values worked by hand."""

from math import comb

import numpy as np
import pytest

from shiftlog.findings.candidate import FALSE_SHARE, Candidate, choose_findings
from shiftlog.findings.chance import least_of_ranks, more_often, more_than_usual
from shiftlog.model.result import Finding


def candidate(p: float, *, least_p: float = 0.0, **different) -> Candidate:
    finding = Finding(
        what=f"at {p}", evidence=("shift 1", "a test"), look_at=(), also_looks_like=(), next_test="drive on"
    )  # fmt: skip
    return Candidate(**({"rule": "a", "finding": finding, "p": p, "least_p": least_p} | different))


def test_fishers_test_as_the_tea_lady_had_it():
    # Fisher, The Design of Experiments (1935), chapter 2: all four cups of eight right by chance, one in seventy;
    # three right or more, seventeen in seventy.
    assert more_often(4, 4, 0, 4) == pytest.approx((1 / 70, 1 / 70))
    assert more_often(3, 4, 1, 4)[0] == pytest.approx(17 / 70)


def test_a_share_that_is_usual_is_no_surprise():
    # By hand: two of two at a usual share of 1 in 10.
    assert more_than_usual(2, 2, 0.1) == pytest.approx((0.01, 0.01))
    assert more_than_usual(0, 50, 0.1)[0] == pytest.approx(1.0)
    assert more_than_usual(0, 0, 0.1) == pytest.approx((1.0, 1.0))


def test_the_least_p_of_ranks_is_one_order_among_all():
    assert least_of_ranks(5, 5) == pytest.approx(1 / comb(10, 5))


def test_more_comparisons_ask_for_more():
    p = FALSE_SHARE / 2
    assert len(choose_findings([candidate(p)])) == 1
    assert len(choose_findings([candidate(p), *[candidate(0.5) for _ in range(9)]])) == 0


def test_comparisons_that_could_show_nothing_cost_nothing():
    blind = [candidate(1.0, least_p=0.3) for _ in range(30)]
    (found,) = choose_findings([candidate(FALSE_SHARE / 2), *blind])
    assert found.evidence[-1].startswith("a test: p = 0.01")


def test_what_does_not_hold_is_not_found_and_what_says_less_is_hidden():
    assert choose_findings([candidate(1e-9, holds=False)]) == ()
    found = choose_findings([candidate(1e-8, rule="less"), candidate(1e-5, rule="more", hides=("less",))])
    assert [f.what for f in found] == ["at 1e-05"]


def test_chance_alone_passes_as_rarely_as_stated():
    rng = np.random.default_rng(3)
    passed = [bool(choose_findings([candidate(p) for p in rng.uniform(size=12)])) for _ in range(2000)]
    # Three standard deviations of counting above the stated share.
    assert np.mean(passed) <= FALSE_SHARE + 3 * (FALSE_SHARE / 2000) ** 0.5
