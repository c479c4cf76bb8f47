"""A short run of the study of clocks (``python -m tests.truth.clock_study`` for the whole of it)."""

import numpy as np
import pytest

from tests.truth.clock_study import SURE, as_text, study


@pytest.fixture(scope="module")
def outcomes():
    return study(30, first_seed=500, minutes=5)


def of(outcomes, *kinds: str):
    return [o for o in outcomes if o.kind in kinds]


def test_motion_sensors_are_matched_within_ten_milliseconds(outcomes) -> None:
    mine = of(outcomes, "imu", "laps")
    assert all(o.error_s is not None for o in mine)
    # Asked in 95 of 100 drives; of ten, one may miss.
    assert sum(abs(o.error_s) > 0.01 for o in mine) <= 1
    assert sum(abs(o.drift_error_ppm) > 10 for o in mine) <= 1


def test_a_bus_is_matched_within_fifty_milliseconds(outcomes) -> None:
    errors = [o.error_s for o in of(outcomes, "bus")]
    assert None not in errors and np.sum(np.abs(errors) > 0.05) <= 1


def test_nothing_is_invented(outcomes) -> None:
    assert not [o for o in of(outcomes, "two drives", "bus of another", "standing") if o.confidence is not None]


def test_no_wrong_match_is_sure(outcomes) -> None:
    assert not [o for o in outcomes if o.wrong and o.confidence > SURE]


def test_the_table_names_every_kind(outcomes) -> None:
    table = as_text(outcomes)
    assert all(kind in table for kind in {o.kind for o in outcomes})
