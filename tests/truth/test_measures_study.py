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
    assert median_error(study, "knock_peak_mps2 relative") <= 0.08


def test_shuffle_is_near_its_truth(study) -> None:
    """Asked: 0.2 Hz and 0.03 over hundreds of swings; half as much again for a sample of eight short drives."""
    assert study.counts["shuffle_hz given"] >= 0.4 * study.counts["shuffle_hz true"]
    assert median_error(study, "shuffle_hz") <= 0.3
    assert median_error(study, "shuffle_damping") <= 0.045


def test_dose_is_near_its_truth(study) -> None:
    assert study.counts["vdv_mps175 given"] >= 0.9 * study.counts["vdv_mps175 true"]
    assert median_error(study, "vdv_mps175 relative") <= 0.03


def test_grinds_are_found_and_quiet_shifts_are_left_alone(study) -> None:
    """Asked: 97 % and 90 % at 1 %; of a dozen grinds and a hundred quiet shifts, 75 % and 3 %."""
    count = study.counts
    true, quiet = (sum(count[f"{kind}, {road}"] for road in ("smooth", "holed")) for kind in ("grind", "no grind"))
    found, false = (
        sum(count[f"{kind}, {road}: found"] for road in ("smooth", "holed")) for kind in ("grind", "no grind")
    )
    assert found >= 0.75 * true, study.misses
    assert false <= 0.03 * quiet, study.misses
    assert median_error(study, "grind_level_db") <= 3.0


def test_intervals_hold_the_truth(study) -> None:
    """Stated for 95 %; over all figures together 88 to 99.5 %, as one sensor's errors are shared by all its shifts."""
    every = [held for some in study.held.values() for held in some]
    assert len(every) >= 300
    assert 0.88 <= np.mean(every) <= 0.995
