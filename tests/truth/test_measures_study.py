"""The short form of the measures study: clunk, shuffle, dose and grind near their truth, intervals that hold it."""

import numpy as np
import pytest

from tests.truth.measures_study import Study, as_text, cases, study_all

pytestmark = pytest.mark.truth

DRIVES = 8
MINUTES = 2.0


@pytest.fixture(scope="module")
def study() -> Study:
    whole = study_all(list(cases(DRIVES, first_seed=700, minutes=MINUTES)))
    print(as_text(whole))
    return whole


def median_error(study: Study, key: str) -> float:
    errors = study.errors.get(key, [])
    assert len(errors) >= 5, f"{key}: {len(errors)} cases"
    return float(np.median(np.abs(errors)))


def test_drives_hold_what_is_to_be_measured(study) -> None:
    """So that no figure below is good for want of cases."""
    assert study.counts["drives"] == DRIVES and study.counts["shifts"] > 100
    for key in ("shuffle_hz", "vdv_mps175", "jerk_p2p_mps3", "knock_peak_mps2"):
        assert study.counts[f"{key} true"] >= 40
    assert study.counts["grind_level_db true"] >= 5


def test_knock_is_near_its_truth(study) -> None:
    """Asked: 8 %; over many drives 2.4 % is reached."""
    assert median_error(study, "knock_peak_mps2 relative") <= 0.035


def test_shuffle_is_near_its_truth(study) -> None:
    """Asked: 0.2 Hz and 0.03; 0.04 Hz and 0.009 are reached over hundreds of swings, of which some 70 are here."""
    assert study.counts["shuffle_hz given"] >= 0.65 * study.counts["shuffle_hz true"]
    assert median_error(study, "shuffle_hz") <= 0.08
    assert median_error(study, "shuffle_damping") <= 0.015


def test_dose_is_near_its_truth(study) -> None:
    assert study.counts["vdv_mps175 given"] >= 0.99 * study.counts["vdv_mps175 true"]
    assert median_error(study, "vdv_mps175 relative") <= 0.015


def test_grinds_are_found_and_quiet_shifts_are_left_alone(study) -> None:
    """Asked: 97 % and 90 % at 1 %; of so few grinds none may be missed, and of 140 quiet shifts one taken for one."""
    count = study.counts
    true, quiet = (sum(count[f"{kind}, {road}"] for road in ("smooth", "holed")) for kind in ("grind", "no grind"))
    found, false = (
        sum(count[f"{kind}, {road}: found"] for road in ("smooth", "holed")) for kind in ("grind", "no grind")
    )
    assert found >= 0.97 * true, study.misses
    assert false <= 0.01 * quiet, study.misses
    assert median_error(study, "grind_level_db") <= 0.5


def test_intervals_hold_the_truth(study) -> None:
    """Stated for 95 %; over all figures together 92 to 98 %, as asked over many drives."""
    every = [held for some in study.held.values() for held in some]
    assert len(every) >= 1000
    assert 0.92 <= np.mean(every) <= 0.98
