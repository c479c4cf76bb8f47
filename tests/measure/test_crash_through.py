"""Crash-throughs shift by shift, and the shares of a drive, from shifts whose figures are given."""

import pytest

from shiftlog.measure.crash_through import CRASHES, GRINDS, KEY, add_shares, measure_crash_through
from shiftlog.model.reading import measured, unmeasured
from shiftlog.model.result import Summary
from shiftlog.model.shift import Shift


def shift(number: int = 1, *, grind=True, stand_s=0.0, hand_mmps=300.0, **different) -> Shift:
    given = {"grind": grind, "baulk_time_s": stand_s, "approach_speed_mmps": hand_mmps}
    readings = {k: unmeasured(k, f"no {k}") if v is None else measured(k, v) for k, v in given.items()}
    plain = {"from_gear": "2", "to_gear": "3", "standing": False, "outcome": "clean", "seen_by": "lever"}
    made = Shift(number=number, start_s=1.0, end_s=1.4, readings=readings, **(plain | different))
    return Shift(**{**made.__dict__, "readings": {**readings, KEY: measure_crash_through(made)}})


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({}, True),
        ({"grind": False}, False),
        ({"stand_s": 0.09}, False),
        ({"grind": None}, "no grind"),
        ({"stand_s": None}, "no baulk_time_s"),
        ({"hand_mmps": 60.0}, "the hand was slow"),
    ],
)
def test_a_quick_shift_that_ground_and_did_not_stand_crashed_through(given, said):
    reading = measure_crash_through(shift(**given))
    assert reading.value is said if isinstance(said, bool) else said in reading.why


def test_shares_of_a_drive_count_shifts_under_way_that_can_be_told():
    shifts = [shift(k) for k in range(3)] + [shift(k, stand_s=0.09) for k in range(3, 5)] + [shift(5, grind=None)]
    shifts += [shift(6, grind=False, hand_mmps=60.0), shift(7, standing=True), shift(8, seen_by="acceleration")]
    summary = add_shares(Summary(), shifts)
    assert (summary.grinds.k, summary.grinds.n) == (5, 6)
    assert (summary.crash_throughs.k, summary.crash_throughs.n) == (3, 5)
    # Clopper-Pearson limits of 3 of 5, 95 %: 0.1466 and 0.9473 (tables of the exact binomial interval, from memory).
    assert (summary.crash_throughs.low, summary.crash_throughs.high) == pytest.approx((0.1466, 0.9473), abs=2e-4)
    assert not summary.unmeasured


def test_where_there_is_none_the_reason_is_said():
    summary = add_shares(Summary(unmeasured={"wrong_plane": "kept"}), [shift(grind=None)])
    assert summary.grinds is summary.crash_throughs is None
    assert summary.unmeasured == {"wrong_plane": "kept", GRINDS: "no grind", CRASHES: "no grind"}
    assert "no shift under way" in add_shares(Summary(), []).unmeasured[GRINDS]
