"""The scorer itself: it finds what it should, and punishes what it should."""

from dataclasses import replace

from shiftlog.synth.recorder import Sensors
from shiftlog.synth.scenario import make_drive
from tests.truth.score import table
from tests.truth.tally import score

QUIET = Sensors(gearbox_rate_hz=400.0, body_rate_hz=None)


def _truth():
    return make_drive(car="hatch5", seed=8, health="worn", minutes=2.0, sensors=QUIET).truth


def test_truth_scores_full_marks_against_itself():
    truth = _truth()
    tally = score(truth, truth.shifts, truth.rests, name="itself")
    assert tally.misses == []
    assert all(row.reached for row in table(tally) if row.count)


def test_missing_and_invented_shifts_are_told():
    truth = _truth()
    last = truth.shifts[-1]
    late = replace(last, start_s=last.start_s + 30.0, end_s=None)
    tally = score(truth, (*truth.shifts[1:], late), truth.rests, name="poor")
    assert tally.counts["shifts matched"] == len(truth.shifts) - 1
    assert sorted(m.split(":")[0] for m in tally.misses) == ["invented", "missing"]


def test_wrong_gear_name_is_a_miss_even_at_the_right_time():
    truth = _truth()
    wrong = tuple(replace(s, to_gear="R") if s.number == 2 else s for s in truth.shifts)
    tally = score(truth, wrong, truth.rests, name="poor")
    assert tally.counts["from and to right"] == len(truth.shifts) - 1
