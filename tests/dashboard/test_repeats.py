"""What can this setup show: the choice, the answer, both tables, and what stands there where drives are too few."""

from dataclasses import replace

import numpy as np
import pytest
from dash import dcc

from dashboard import ids
from dashboard.app import page
from dashboard.figures.smallest import draw_smallest
from dashboard.parts.setup_tables import gauge_reasons, repeat_reasons
from dashboard.routes import REPEATS, Query
from dashboard.setups import setup_worth
from dashboard.theme import LIGHT
from dashboard.views.repeats import answer
from shiftlog.errors import ShiftlogError
from shiftlog.model.repeatability import GaugeRow, Repeatability, SetupWorth

from .test_pages import text_of

ROW = Repeatability(
    measure="baulk_time_s", unit="s", drives=4, shifts=40, within_sd=0.01, shift_sd=0.04, smallest_change=0.03,
    a_side=3, df=3, margin=0.02, drives_needed=6,
)  # fmt: skip


def worth_of(*rows: Repeatability) -> SetupWorth:
    return SetupWorth(drives=("a", "b"), repeatability=rows, gauge=())


def test_an_empty_workshop_says_what_to_do(empty_library):
    said = text_of(page(REPEATS, Query(), empty_library))
    assert "The workshop is empty" in said and "/import" in said


def test_drives_that_repeat_nothing_say_so_and_name_what_is_missing(measured_workshop):
    """One drive before and one after: no repeats at all."""
    library, drive_ids = measured_workshop
    said = text_of(page(REPEATS, Query(), library))
    assert "none repeats another of its stage and driver" in said
    assert "a second driver beside" in said and "one more drive" in said
    assert "There is no gauge study of these drives." in said
    assert all(drive_id in said for drive_id in drive_ids.values())


@pytest.mark.parametrize("asked", [("nothing-like-it", "nor-this"), ("nothing-like-it",)])
def test_drives_that_are_none_are_refused_in_a_line_with_the_choice_below(measured_workshop, asked):
    library, _ = measured_workshop
    said = text_of(page(REPEATS, Query(repeat=asked), library))
    assert "cannot be taken together" in said and "no drive of that name is measured" in said
    assert ids.REPEAT_GO in said


def test_one_drive_alone_is_too_few(measured_workshop):
    library, drive_ids = measured_workshop
    with pytest.raises(ShiftlogError, match="two drives or more"):
        setup_worth(library, (drive_ids["before"],))


def test_the_answer_parts_what_is_seen_from_what_is_not():
    small = replace(ROW, measure="return_time_s", smallest_change=0.001, margin=0.05, df=9)
    said = answer(worth_of(ROW, small))
    assert said[0] == "With 3 drives a side, a change that matters can be seen in return time."
    assert said[1] == "It cannot be seen in baulk time: only larger ones can." and len(said) == 2
    few = answer(worth_of(ROW))
    assert "none of the measures" in few[0] and "3 degrees of freedom only" in few[-1]


def test_the_picture_has_a_mark_a_measure_whose_shape_says_what_its_colour_says():
    small = replace(ROW, measure="return_time_s", smallest_change=0.001, margin=0.05)
    none = replace(ROW, measure="shuffle_amplitude_mps2", margin=None)
    figure = draw_smallest((ROW, small, none), LIGHT)
    marks = {trace.name: trace for trace in figure.data}
    assert set(marks) == {"baulk_time_s", "return_time_s"}
    assert marks["baulk_time_s"].x[0] == pytest.approx(np.log10(1.5)) and marks["baulk_time_s"].marker.symbol == "x"
    assert marks["return_time_s"].x[0] < 0 and marks["return_time_s"].marker.symbol == "circle"
    assert draw_smallest((none,), LIGHT).layout.annotations[0].text.startswith("No measure has both")


def test_reasons_are_told_once_for_all_measures_that_share_them():
    flat = [
        replace(ROW, measure=key, smallest_change=None, why="no spread") for key in ("baulk_time_s", "shift_time_s")
    ]
    assert repeat_reasons((ROW, *flat)) == ["Baulk time and Shift time: no spread."]
    rows = [GaugeRow(measure=k, unit="s", setups=(), drivers=(), repeats=0, why="needs two setups")
            for k in ("baulk_time_s", "shift_time_s")]  # fmt: skip
    assert gauge_reasons(tuple(rows)) == ["No study of baulk time and shift time: needs two setups."]


def test_ticks_come_back_as_they_were_chosen(measured_workshop):
    library, drive_ids = measured_workshop
    body = page(REPEATS, Query(repeat=(drive_ids["after"],)), library)
    ticked = [tick for part in walk(body) if isinstance(part, dcc.Checklist) for tick in part.value]
    assert ticked == [drive_ids["after"]]


def walk(part):
    """A component and everything in it."""
    yield part
    inner = getattr(part, "children", None)
    for child in inner if isinstance(inner, list | tuple) else [inner]:
        if child is not None and not isinstance(child, str | int):
            yield from walk(child)
