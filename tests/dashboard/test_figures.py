"""Pictures from model objects: what is drawn, where, and that nothing is lost."""

import numpy as np
import pytest

from dashboard.figures.distribution import draw_distribution
from dashboard.figures.gate import draw_gate
from dashboard.figures.phases import draw_shift, shift_instants
from dashboard.figures.slots import gate_slots
from dashboard.figures.thumbnail import data_url, draw_thumbnail
from dashboard.figures.traces import MOST_BANDS, draw_traces
from dashboard.routes import KMH, MPH
from dashboard.signals import Line, Window, cut_window
from dashboard.theme import DARK, LIGHT
from shiftlog.model.car import GateLayout, Plane
from shiftlog.model.gate import Seat
from shiftlog.model.shift import Rejected


@pytest.fixture
def window() -> Window:
    time_s = np.linspace(0.0, 100.0, 5001)
    spans = ((0.0, 100.0),)
    lines = (
        Line(key="engage", label="Lever, engage", unit="mm", time_s=time_s, values=15 * np.sin(time_s), spans=spans),
        Line(key="speed", label="Vehicle speed", unit="m/s", time_s=time_s, values=0.2 * time_s, spans=spans),
    )
    return cut_window(lines, None, points=400)


def trace_named(figure, name):
    return next(trace for trace in figure.data if trace.name == name)


def test_the_gate_lies_as_the_driver_sees_it(layout):
    marks = {gear: (x, y) for gear, x, y in gate_slots(layout).marks}
    assert marks["1"][0] < marks["3"][0] < marks["5"][0]
    assert marks["1"][1] > 0 > marks["2"][1]
    assert marks["1"][0] == marks["2"][0] == -25.0


def test_the_home_plane_is_shaded_and_only_where_there_is_one(layout):
    slots = gate_slots(layout)
    assert slots.home is not None and slots.home.left < 0 < slots.home.right
    assert gate_slots(GateLayout(planes=layout.planes, home=None)).home is None


def test_a_plane_of_one_gear_ends_in_neutral():
    slots = gate_slots(GateLayout(planes=(Plane(forward="R"), Plane(forward="1", rear="2"))))
    reverse = slots.channels[1]
    assert reverse.rear == -reverse.right + reverse.left + 4.0 or reverse.rear > -5.0
    assert [gear for gear, _, _ in slots.marks] == ["R", "1", "2"]


def test_rings_are_as_large_as_the_spread(layout):
    seats = (Seat(gear="3", select_mm=1.0, engage_mm=15.0, spread_mm=0.9, stays=3, off_mm=(0.0, 0.0)),)
    figure = draw_gate(layout, LIGHT, seats=seats)
    ring = next(shape for shape in figure.layout.shapes if shape.type == "circle")
    assert (ring.x1 - ring.x0) / 2 == pytest.approx(0.9) and (ring.y0 + ring.y1) / 2 == pytest.approx(15.0)


def test_rests_differ_in_shape_and_none_is_lost(layout, make_rest, wrong_rest):
    rests = (make_rest(), wrong_rest, make_rest(released=None), make_rest(released=False), make_rest(in_bend=True))
    figure = draw_gate(layout, LIGHT, rests=rests)
    traces = [trace_named(figure, name) for name in ("rests", "rests elsewhere", "rests left out")]
    assert [len(trace.x) for trace in traces] == [1, 1, 3]
    assert len({trace.marker.symbol for trace in traces}) == 3


def test_one_millimetre_is_as_long_across_as_along(layout):
    assert draw_gate(layout, LIGHT).layout.yaxis.scaleanchor == "x"


def test_a_path_beyond_the_gate_widens_the_picture(layout):
    path = np.array([[0.0, 0.0], [70.0, 0.0]])
    assert draw_gate(layout, LIGHT, path=path).layout.xaxis.range[1] >= 70.0


def test_thumbnails_follow_the_scheme_and_need_no_other_file(layout, make_rest, wrong_rest):
    svg = draw_thumbnail(layout, (make_rest(), wrong_rest))
    assert "prefers-color-scheme: dark" in svg and 'class="rest"' in svg and 'class="look"' in svg
    assert data_url(svg).startswith("data:image/svg+xml,%3Csvg")


def test_names_from_a_profile_cannot_break_the_thumbnail():
    svg = draw_thumbnail(GateLayout(planes=(Plane(forward="<b>", rear="2"),)))
    assert "<b>" not in svg and "&lt;b&gt;" in svg


def test_every_shift_is_marked_odd_ones_by_shape(window, make_shift):
    shifts = (make_shift(number=7), make_shift(number=8, start_s=60.0, end_s=61.0, outcome="missed"))
    gone = (Rejected(start_s=20.0, end_s=20.4, kind="shift", why="a hand on the lever"),)
    figure = draw_traces(window, LIGHT, shifts=shifts, rejected=gone, speed_unit=KMH)
    marks = trace_named(figure, "shifts")
    assert list(marks.customdata) == [7, 8]
    assert list(marks.marker.symbol) == ["circle", "diamond"]
    assert "a hand on the lever" in trace_named(figure, "left out").hovertext[0]


def test_a_refusal_at_standstill_is_no_fault(window, make_shift):
    shifts = (make_shift(outcome="missed", standing=True),)
    figure = draw_traces(window, LIGHT, shifts=shifts, rejected=(), speed_unit=KMH)
    assert list(trace_named(figure, "shifts").marker.symbol) == ["circle"]


def test_only_what_the_window_shows_is_marked(window, make_shift):
    lines = window.lines
    narrow = cut_window(lines, (50.0, 70.0), points=400)
    shifts = (make_shift(number=1), make_shift(number=2, start_s=60.0, end_s=61.0))
    figure = draw_traces(narrow, LIGHT, shifts=shifts, rejected=(), speed_unit=KMH)
    assert list(trace_named(figure, "shifts").customdata) == [2]
    assert list(figure.layout.xaxis.range) == [50.0, 70.0]


def test_speeds_are_drawn_in_the_unit_asked_for(window):
    kmh = draw_traces(window, LIGHT, shifts=(), rejected=(), speed_unit=KMH)
    mph = draw_traces(window, LIGHT, shifts=(), rejected=(), speed_unit=MPH)
    assert trace_named(kmh, "speed").y.max() == pytest.approx(72.0, rel=1e-3)
    assert trace_named(mph, "speed").y.max() == pytest.approx(44.74, rel=1e-3)
    assert any(note.text == "Vehicle speed, mph" for note in mph.layout.annotations)


def test_very_many_shifts_are_marks_without_bands(window, make_shift):
    shifts = tuple(make_shift(number=n, start_s=n * 0.5, end_s=n * 0.5 + 0.2) for n in range(1, MOST_BANDS + 2))
    figure = draw_traces(window, LIGHT, shifts=shifts, rejected=(), speed_unit=KMH)
    assert len(trace_named(figure, "shifts").x) == MOST_BANDS + 1
    assert len(figure.layout.shapes) == 0


def test_noise_does_not_fill_a_row():
    time_s = np.linspace(0.0, 1.0, 50)
    still = Line(
        key="engage", label="e", unit="mm", time_s=time_s, values=0.01 * np.sin(90 * time_s), spans=((0.0, 1.0),)
    )
    figure = draw_traces(cut_window((still,), None, points=100), LIGHT, shifts=(), rejected=(), speed_unit=KMH)
    low, high = figure.layout.yaxis2.range
    assert high - low >= 10.0


def test_the_phases_of_a_shift_stand_in_order_with_their_names(window, make_shift):
    shift = make_shift()
    assert shift_instants(shift) == [(41.42, "start"), (41.47, "out"), (41.75, "in"), (41.80, "end")]
    figure = draw_shift(cut_window(window.lines, (40.0, 43.0), points=400), shift, LIGHT, speed_unit=KMH)
    spans = [(shape.x0, shape.x1) for shape in figure.layout.shapes if shape.type == "rect"]
    assert spans == [(41.42, 41.80), (41.68, 41.74)]
    assert {"start", "out", "in", "end", "stood"} <= {note.text for note in figure.layout.annotations}


def test_a_drive_gap_is_named_as_such(window, gap_shift):
    assert [name for _, name in shift_instants(gap_shift)] == ["gap begins", "gap ends"]
    figure = draw_shift(window, gap_shift, LIGHT, speed_unit=KMH)
    assert not {"start", "end"} & {note.text for note in figure.layout.annotations}


@pytest.mark.parametrize("colours", [LIGHT, DARK], ids=["light", "dark"])
def test_before_and_after_differ_in_colour_and_shape_and_keep_every_value(make_row, colours):
    figure = draw_distribution(make_row(), colours, speed_unit=KMH)
    before, after = trace_named(figure, "before"), trace_named(figure, "after")
    assert (before.marker.color, after.marker.color) == ("#E69F00", "#0072B2")
    assert before.marker.symbol != after.marker.symbol
    assert sorted(before.x) == [0.42, 0.43, 0.44, 0.45, 0.46] and len(after.x) == 4
    assert list(before.hovertext) == ["cold-1"] * 5


def test_two_values_get_no_box(make_row):
    figure = draw_distribution(make_row(values_after={"warm-2": (0.3, 0.4)}), LIGHT, speed_unit=KMH)
    assert sum(trace.type == "box" for trace in figure.data) == 1


def test_an_empty_side_is_drawn_as_empty(make_row):
    row = make_row(values_after={}, after=None, n_after=0, difference=None, verdict="too_few")
    assert len(trace_named(draw_distribution(row, LIGHT, speed_unit=KMH), "after").x) == 0


def test_a_share_is_drawn_as_tries_from_no_to_yes_even_where_none_came(make_row):
    none = {"values_before": {"b": (0.0,) * 6}, "values_after": {"a": (0.0,) * 6}, "before": 0.0, "after": 0.0}
    figure = draw_distribution(make_row(measure="refused_share", unit="", **none), LIGHT, speed_unit=KMH)
    assert figure.layout.xaxis.range[0] > -0.5 and figure.layout.xaxis.range[1] > 1
    assert figure.layout.xaxis.ticktext == ("no", "yes") and all(trace.type != "box" for trace in figure.data)
