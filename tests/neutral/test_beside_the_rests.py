"""What stands beside the rests: the hysteresis of a release test, and stays on the way to another gear."""

from dataclasses import replace

import pytest

from shiftlog.model.guided import Figure, GuidedResult
from shiftlog.model.reading import measured
from shiftlog.model.shift import Shift
from shiftlog.neutral.report import report_neutral


def release(start_s: float, end_s: float) -> GuidedResult:
    apart = Figure(key="hysteresis_mm", label="hysteresis", unit="mm", value=2.4)
    return GuidedResult(
        kind="release", start_s=start_s, end_s=end_s, configuration=None, figures=(apart,), says=("said",)
    )  # fmt: skip


def test_two_hystereses_say_what_each_is_of(make_rest, make_result, car):
    rests = [make_rest(2.0, came_from="right"), make_rest(0.0, came_from="left")]
    rests += [make_rest(4.0, came_from="right", start_s=60.0, end_s=62.0)]
    result = replace(make_result(*rests), guided=(release(5.0, 20.0),))
    said = " ".join(report_neutral([result], car).says)
    assert "told of all rests of a group; over the release test's own let-goes alone it is +2.4 mm" in said
    alone = replace(make_result(*rests[:2]), guided=(release(5.0, 20.0),))
    assert "own let-goes" not in " ".join(report_neutral([alone], car).says)


@pytest.mark.parametrize(("took", "stays"), [(1.4, 1), (0.6, 0)])
def test_a_long_stay_on_the_way_to_another_gear_is_told_and_no_rest(make_rest, make_result, car, took, stays):
    shift = Shift(
        number=1, from_gear="2", to_gear="3", start_s=30.0, end_s=32.0, paused=True, seen_by="lever", outcome="clean",
        readings={"neutral_time_s": measured("neutral_time_s", took)},
    )  # fmt: skip
    report = report_neutral([replace(make_result(make_rest(0.0)), shifts=(shift,))], car)
    assert report.stays_on_the_way == stays and sum(len(g.rests) for g in report.groups) == 1
    assert ("stood in neutral for a second or more" in " ".join(report.says)) == bool(stays)
