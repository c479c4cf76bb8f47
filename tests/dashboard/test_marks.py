"""The page that marks a drive's tests, its picture, and times as people type them."""

import json
import time
from functools import partial

import pytest
from dash import no_update

from dashboard.app import page
from dashboard.figures.marks import draw_marks
from dashboard.parts.drive_list import drive_place
from dashboard.routes import Place, Query
from dashboard.theme import LIGHT
from dashboard.times import read_time, read_waits, write_time
from dashboard.views.marks import chosen_span, tapped_times, typed_mark
from shiftlog.model.drive import MarkedTest
from shiftlog.synth.recorder import Sensors
from shiftlog.synth.scenario import make_drive
from shiftlog.synth.standing_tests import release_from_both_sides


def text_of(component) -> str:
    """Everything a page says."""
    return json.dumps(component.to_plotly_json(), default=lambda thing: thing.to_plotly_json(), ensure_ascii=False)


def place_of(library, drive_id: str, name: str) -> Place:
    here = drive_place(library.entry(drive_id))
    return Place(page=name, car=here.car, visit=here.visit, drive=drive_id)


@pytest.mark.parametrize(
    ("typed", "seconds"),
    [("95.2", 95.2), (" 95,2 s ", 95.2), ("1:35.2", 95.2), ("1:02:03", 3723.0), ("0", 0.0), ("-1.5", -1.5),
     ("−0:01.5", -1.5), ("75:00", 4500.0)],
)  # fmt: skip
def test_times_are_read_as_they_are_typed(typed, seconds):
    assert read_time(typed, name="from") == pytest.approx(seconds, abs=1e-9)


@pytest.mark.parametrize("typed", [None, "", "soon", "1:2:3:4", "1::2", "nan", "inf", "1e3", "1.2.3"])
def test_what_is_no_time_gets_one_line_that_says_how(typed):
    with pytest.raises(ValueError, match="from: .* write seconds") as caught:
        read_time(typed, name="from")
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize(
    ("typed", "waits"),
    [(None, ()), (" ", ()), ("10 5 3 s", (10, 5, 3)), ("10; 5;2,5", (10, 5, 2.5)), ("10, 5, 2.5", (10, 5, 2.5))],
)
def test_waits_are_read_as_they_are_typed(typed, waits):
    assert read_waits(typed) == waits
    with pytest.raises(ValueError, match="waits: “ten” is no number of seconds"):
        read_waits("10 ten 3")


def test_a_written_time_is_read_back():
    assert read_time(write_time(1234.567), name="to") == pytest.approx(1234.567, abs=0.005)


def test_a_drag_gives_its_span_in_order_and_a_press_none():
    assert chosen_span({"range": {"x": [20.0, 12.5], "y2": [0, 1]}}) == (12.5, 20.0)
    assert chosen_span(None) is None and chosen_span({"points": []}) is None


def test_a_tap_begins_a_span_and_a_later_one_ends_it():
    begins, ends = tapped_times(20.0, None, None), tapped_times(31.5, "20.00", "")
    assert begins == ("20.00", "", "20.00") and ends[1] == "31.50" and ends[0] is ends[2] is no_update
    assert tapped_times(12.0, "20.00", "")[0] == "12.00" == tapped_times(12.0, "5", "9")[0]


def test_a_mark_without_its_test_is_asked_for():
    with pytest.raises(ValueError, match="which test: none is chosen"):
        typed_mark(None, "1", "2", None)
    assert typed_mark("spin_down", "1:00", "2:30", None, "10 5").waits_s == (10.0, 5.0)
    assert typed_mark("warm_up", "1:00", "2:30", "hot", None, "82,5 °C").gearbox_temp_c == 82.5
    with pytest.raises(ValueError, match="gearbox: “warm” is no temperature"):
        typed_mark("warm_up", "1:00", "2:30", "hot", None, "warm")
    made = typed_mark("release", "1:00", "1:30", "  ")
    assert (made.kind, made.start_s, made.end_s, made.configuration) == ("release", 60.0, 90.0, None)


def test_the_page_of_an_unmarked_drive_says_so_and_asks_for_the_first_second(measured_workshop):
    library, drive_ids = measured_workshop
    said = text_of(page(place_of(library, drive_ids["before"], "marks"), Query(), library))
    assert "Nothing is marked." in said and "No test is marked in this drive yet." in said
    assert "needed: neither this drive nor its logs give a date" in said and "Logs never change" in said


def test_the_picture_bands_every_mark_in_sight_and_is_dragged_sideways(measured_workshop):
    library, drive_ids = measured_workshop
    window = library.window(drive_ids["before"], (10.0, 60.0))
    spans = [("release", 5.0, 20.0), ("lockout", 50.0, 80.0), ("detent", 61.0, 70.0)]
    marks = [MarkedTest(kind=kind, start_s=start, end_s=end) for kind, start, end in spans]
    figure = draw_marks(window, LIGHT, marks=marks, speed_unit="km/h")
    assert [(shape.x0, shape.x1) for shape in figure.layout.shapes] == [(5.0, 20.0), (50.0, 80.0)]
    names = figure.data[-1]
    assert [text.strip() for text in names.text] == ["Let-goes", "Reverse lock-out"]
    # Names stay within the window: the first from its left edge on, the last up to its right one.
    assert list(names.x) == [10.0, 60.0] and list(names.textposition) == ["middle right", "middle left"]
    assert figure.layout.dragmode == "select" and figure.layout.selectdirection == "h"
    assert {trace.name for trace in figure.data} >= {"select", "engage"}


def wait_until_measured(library) -> None:
    until = time.monotonic() + 120
    while library.work.said():
        assert time.monotonic() < until, "measuring takes too long"
        time.sleep(0.05)


def test_a_changed_mark_measures_the_drive_anew(empty_library, tmp_path):
    test = partial(release_from_both_sides, each=2)
    made = make_drive(car="hatch5", seed=4, minutes=1.0, first=(test,), sensors=Sensors(body_rate_hz=None))
    made.write(tmp_path / "given")
    library = empty_library
    drive_id = library.copy_in(tmp_path / "given")
    library.measure(drive_id)
    (mark,) = library.marks.of(drive_id)
    first = library.result(drive_id)
    assert [(one.kind, one.start_s) for one in first.guided] == [("release", mark.start_s)]
    library.marks.remove(drive_id, mark)
    wait_until_measured(library)
    assert library.work.failed(drive_id) is None
    assert library.result(drive_id).tests == library.result(drive_id).guided == ()
    library.marks.add(drive_id, [mark])
    wait_until_measured(library)
    again = library.result(drive_id)
    # The same span of the same logs says the same, to the letter.
    assert again.guided[0].says == first.guided[0].says and again.tests[0].configuration == mark.configuration
    said = text_of(page(place_of(library, drive_id, "tests"), Query(), library))
    assert json.dumps(first.guided[0].says[0], ensure_ascii=False)[1:-1] in said
