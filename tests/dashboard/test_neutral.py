"""The page of the lever in neutral: groups, the nearest misses, and the table that follows the speed."""

from dataclasses import replace

import pytest

from dashboard.figures.rests import draw_rests
from dashboard.resting import read_neutral
from dashboard.routes import KMH, MPH, Place, Query, read_query, write_query
from dashboard.theme import LIGHT
from dashboard.views.neutral import layout as neutral_page
from dashboard.views.neutral import reach_table
from shiftlog.model.neutral import Reach
from shiftlog.neutral.report import report_neutral

from .test_pages import text_of


def test_the_picture_tells_let_go_from_held_by_shape_and_points_the_way_it_ran(make_rest, wrong_rest, layout):
    rests = [make_rest(), wrong_rest, make_rest(released=None, came_from=None), make_rest(came_from="left")]
    figure = draw_rests([("Standing", rests)], layout, LIGHT)
    assert list(figure.data[0].marker.symbol) == ["triangle-left", "triangle-left", "circle-open", "triangle-right"]
    assert list(figure.data[0].marker.color) == [LIGHT.after, LIGHT.look, LIGHT.after, LIGHT.after]


def test_the_table_marks_what_lies_above_the_redline_at_that_speed(make_result, car, wrong_rest):
    report = report_neutral([make_result(rests=(wrong_rest,))], car)
    slow, fast = text_of(reach_table(report, 5.0, KMH)), text_of(reach_table(report, 40.0, KMH))
    assert "above the redline" not in slow and "above the redline" in fast
    assert "31 mph" in text_of(reach_table(report, 14.0, MPH)).replace("\u00a0", " ")
    assert isinstance(report.reach[0], Reach)


def test_the_table_says_that_the_drives_own_ratios_count(make_result, car, wrong_rest):
    result = make_result(rests=(wrong_rest,))
    driven = {gear: 1.12 * car.rpm_per_mps(gear) for gear in car.ratios}
    off = replace(result, summary=replace(result.summary, learnt_rpm_per_mps=driven))
    assert "1 +12 %" in text_of(reach_table(report_neutral([off], car), 5.0, KMH)).replace("\u00a0", " ")


def test_the_page_of_a_drive_and_of_its_visit(measured_workshop):
    library, drive_ids = measured_workshop
    entry = library.entry(drive_ids["before"])
    place = Place(page="neutral", car=entry.car, visit=entry.stage, drive=entry.id)
    alone = text_of(neutral_page(place, Query(), library))
    assert "All drives of this visit together" in alone and "The nearest misses" in alone
    whole = read_neutral(library, entry.id, whole_visit=True)
    assert whole.drives == (library.result(entry.id).head.id,)


def test_the_whole_visit_stands_in_the_url():
    assert read_query(write_query(Query(whole_visit=True))).whole_visit
    assert not read_query("").whole_visit


@pytest.mark.parametrize("scheme", [KMH, MPH])
def test_the_worst_moment_is_said_in_the_reader_s_unit(measured_workshop, scheme):
    library, drive_ids = measured_workshop
    entry = library.entry(drive_ids["before"])
    place = Place(page="neutral", car=entry.car, visit=entry.stage, drive=entry.id)
    said = text_of(neutral_page(place, Query(speed=scheme), library))
    assert f"Vehicle speed, {scheme}" in said
