"""Ratios a drive is judged by."""

from dataclasses import replace

import pytest

from shiftlog.measure.gearing import choose_ratios
from shiftlog.model.car import Car

RATIOS = {"1": 3.5, "2": 2.0, "3": 1.4, "R": 3.2}
CAR = Car(name="x", gate=None, ratios=RATIOS, final_drive=dict.fromkeys(RATIOS, 4.0), rolling_radius_m=0.331)
TRUE = replace(CAR, rolling_radius_m=0.301)


def test_a_wrong_tyre_counts_for_the_gears_that_were_not_driven_too():
    learnt = {gear: TRUE.rpm_per_mps(gear) for gear in ("2", "3")}
    chosen = choose_ratios(CAR, learnt)
    assert all(chosen[gear] == pytest.approx(TRUE.rpm_per_mps(gear)) for gear in ("1", "2", "3", "R"))


def test_one_wrong_ratio_says_nothing_of_the_others():
    learnt = {"2": CAR.rpm_per_mps("2"), "3": 1.2 * CAR.rpm_per_mps("3")}
    chosen = choose_ratios(CAR, learnt)
    assert chosen["1"] == pytest.approx(CAR.rpm_per_mps("1")) and chosen["3"] == pytest.approx(learnt["3"])
    assert choose_ratios(CAR, {"3": learnt["3"]})["1"] == pytest.approx(CAR.rpm_per_mps("1"))


def test_a_tyre_within_wear_leaves_the_profile_as_it_is():
    learnt = {gear: 1.03 * CAR.rpm_per_mps(gear) for gear in ("2", "3")}
    assert choose_ratios(CAR, learnt) == {gear: pytest.approx(CAR.rpm_per_mps(gear)) for gear in CAR.ratios}
