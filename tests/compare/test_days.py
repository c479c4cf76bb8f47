"""Sides the wrong way round, and a single day a side, are said."""

from dataclasses import replace

import pytest

from shiftlog.compare.drives import compare_drives


@pytest.fixture
def dated(result, shift):
    def make(name, days, stage=None):
        drives = [result(f"{name}{k}", [shift(j) for j in range(4)]) for k in range(len(days))]
        starts = [day and f"{day}T09:0{k}:00+01:00" for k, day in enumerate(days)]
        return [replace(d, head=replace(d.head, started=at, stage=stage)) for d, at in zip(drives, starts, strict=True)]

    return make


MONDAY, TUESDAY, FRIDAY = "2026-10-05", "2026-10-06", "2026-10-09"


def keys(before, after):
    return {caveat.key for caveat in compare_drives(before, after).caveats}


def test_stages_and_days_the_wrong_way_round_are_said(dated):
    days, later = [MONDAY, TUESDAY], [FRIDAY, TUESDAY]
    assert keys(dated("b", days, "after"), dated("a", later, "before")) == {"caveat.swapped_stages"}
    assert keys(dated("b", [FRIDAY, FRIDAY]), dated("a", days)) == {"caveat.swapped_days"}


@pytest.mark.parametrize(
    ("before", "after"),
    [
        ([MONDAY, TUESDAY], [TUESDAY, FRIDAY]),
        ([MONDAY, MONDAY], [MONDAY, MONDAY]),
        ([FRIDAY, None], [MONDAY, MONDAY]),
        ([MONDAY], [FRIDAY]),
    ],
)
def test_days_that_are_as_they_should_be_or_not_known_need_no_word(dated, before, after):
    assert keys(dated("b", before, "before"), dated("a", after, "after")) == set()


def test_a_single_day_a_side_is_said(dated):
    assert keys(dated("b", [MONDAY] * 3), dated("a", [FRIDAY] * 3)) == {"caveat.one_day"}
