"""The chain as a whole: what one room learns reaches the next."""

from dataclasses import replace

import pytest

from shiftlog.pipeline import measure_drive
from shiftlog.synth.scenario import make_drive


@pytest.fixture(scope="module")
def drive():
    return make_drive(car="hatch5", seed=11, health="healthy", minutes=2).as_drive()


def would_over_rev(result):
    return {s.number: s.value("over_rev") for s in result.shifts}


def test_over_rev_goes_by_what_was_driven_where_the_profile_does_not_fit(drive):
    """A tyre 10 % too small in the profile would ask 10 % more engine speed; the drive itself tells better."""
    wrong = replace(drive, car=replace(drive.car, rolling_radius_m=0.9 * drive.car.rolling_radius_m))
    right, mended = measure_drive(drive), measure_drive(wrong)
    assert any("off the profile in all gears" in note for note in mended.notes)
    assert not any("off the profile" in note for note in right.notes)
    assert would_over_rev(mended) == would_over_rev(right)
    pairs = [
        (m.value("rev_mismatch_rpm"), r.value("rev_mismatch_rpm"))
        for m, r in zip(mended.shifts, right.shifts, strict=True)
    ]
    apart = [abs(a - b) for a, b in pairs if a is not None and b is not None]
    assert apart and max(apart) < 120


def test_the_same_drive_measures_the_same_twice(drive):
    first, second = measure_drive(drive), measure_drive(drive)
    for a, b in zip(first.shifts, second.shifts, strict=True):
        assert (a.start_s, a.end_s, a.outcome) == (b.start_s, b.end_s, b.outcome)
        assert {k: r.value for k, r in a.readings.items()} == {k: r.value for k, r in b.readings.items()}
