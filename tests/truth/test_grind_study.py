"""The short form of the grind study: on a gearbox made apart from the synthesiser."""

import numpy as np
import pytest

from tests.truth.grind_study import GrindStudy, as_text, study_all

pytestmark = pytest.mark.truth

DRIVES, RATCHETS = 16, 12
"""Enough of each for the shares that are asked."""


@pytest.fixture(scope="module")
def study() -> GrindStudy:
    whole = study_all(DRIVES, first_seed=91500, minutes=2.5)
    print(as_text(whole))
    return whole


def test_there_is_enough_to_find_and_to_leave_alone(study) -> None:
    assert study.counts["grind, smooth"] >= 40 and study.counts["grind, rough"] >= 40
    assert study.counts["quiet, smooth"] >= 120 and study.counts["quiet, rough"] >= 120


def test_grinds_on_a_smooth_road_are_found(study) -> None:
    """As asked."""
    assert study.share("grind, smooth", "found") >= 0.97, study.misses


def test_grinds_on_a_rough_road_are_found_or_left_open(study) -> None:
    """As asked. Rough enough to drown some of them: those are said to be uncertain."""
    assert study.share("grind, rough", "found") >= 0.90, study.misses
    assert study.counts["grind, rough: denied"] == 0, study.misses


@pytest.mark.parametrize("road", ["smooth", "rough"])
def test_quiet_shifts_are_left_alone(study, road) -> None:
    """As stated: 1 in 100. Holes, rattles, whine and rising engine speed are among them."""
    assert study.share(f"quiet, {road}", "found") <= 0.01, study.misses


@pytest.mark.parametrize("road", ["smooth", "rough"])
def test_teeth_too_fast_to_be_heard_are_never_denied(study, ratchets, road) -> None:
    assert all(one.counts[f"too fast, {road}: denied"] == 0 for one in (study, ratchets)), study.misses


def test_levels_and_durations_are_near_their_truth(study) -> None:
    """Asked: within 3 dB. Windows of 10 ms end on a grid of 5 ms."""
    level, duration = (np.abs(study.errors[key]) for key in ("grind_level_db", "grind_duration_s"))
    assert np.median(level) <= 0.6 and np.percentile(level, 90) <= 2.0
    assert np.median(duration) <= 0.01


def test_intervals_hold_the_truth(study) -> None:
    """Stated for 95 %; a sample of some dozens, of which those of one drive share its errors."""
    assert np.mean(study.held["grind_level_db"]) >= 0.9
    assert np.mean(study.held["grind_duration_s"]) >= 0.9


@pytest.fixture(scope="module")
def ratchets() -> GrindStudy:
    whole = study_all(RATCHETS, first_seed=92500, minutes=2.0, box="ratchet")
    print(as_text(whole))
    return whole


def test_teeth_that_ratchet_are_found_and_joints_and_stones_are_not(ratchets) -> None:
    """As asked: 97 % and 90 % at 1 %."""
    assert ratchets.share("grind, smooth", "found") >= 0.97, ratchets.misses
    assert ratchets.share("grind, rough", "found") >= 0.90, ratchets.misses
    quiet, false = (sum(ratchets.counts[f"quiet, {r}{said}"] for r in ("smooth", "rough")) for said in ("", ": found"))
    assert false <= 0.01 * quiet, ratchets.misses


def test_one_touch_at_standstill_is_no_grind(study, ratchets) -> None:
    """Quiet tries of reverse touch the cone, which rings: none is a grind, and what grinds is found all the same."""
    for one in (study, ratchets):
        assert one.counts["quiet, standing: found"] == 0, one.misses
        assert one.share("grind, standing", "found") >= 0.95, one.misses
