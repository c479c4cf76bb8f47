"""The map of the gate: everything in it by form as well as by colour, nothing outside it, and the page round it."""

import json
from dataclasses import replace
from types import SimpleNamespace

import pytest

from dashboard.figures.gate_map import REST_STYLES, draw_gate_map, frame_map, lens_words, sort_rests
from dashboard.parts.seat_tables import missing_lines, travel_table
from dashboard.routes import Place, Query
from dashboard.theme import DARK, LIGHT
from dashboard.views import seats as page
from shiftlog.model.cables import Clearance
from shiftlog.model.reading import measured, unmeasured
from shiftlog.model.seats import SeatFigures, SeatReport, Travel

WHY = "in 5 the car was only driven with the hand off the lever: let it overrun in it for two seconds as well"


def make_seat(gear: str, layout, *, off=(0.1, 0.2), moved: float | None = 0.6, **more) -> SeatFigures:
    """A seat off its place by so much, moved by torque along its slot."""
    x, y = layout.position_mm(gear)
    at = (x + off[0], y + off[1])
    told = moved is not None
    plain = {
        "gear": gear, "plane": layout.planes[layout.plane_of(gear)].name, "way": 1 if y > 0 else -1, "stays": 6,
        "drives": 1, "in_gear_s": 31.0, "select_mm": measured("select_mm", at[0], uncertainty=0.1),
        "engage_mm": measured("engage_mm", at[1], uncertainty=0.1), "hand_only": False,
        "spread": ((0.04, 0.01), (0.01, 0.09)), "off_select_mm": measured("off_select_mm", off[0], uncertainty=0.2),
        "off_engage_mm": measured("off_engage_mm", off[1], uncertainty=0.2),
        "torque_engage_mm": measured("torque_engage_mm", moved, uncertainty=0.1) if told
        else unmeasured("torque_engage_mm", WHY.replace("5", gear)),
        "torque_select_mm": measured("torque_select_mm", 0.0, uncertainty=0.1), "torque_by": "vehicle speed",
        "torque_span_mps2": 2.0, "at_drive": (at[0], at[1] + moved / 2) if told else None,
        "at_overrun": (at[0], at[1] - moved / 2) if told else None,
        "depth_mm": unmeasured("depth_mm", "no ruler"), "hand_share": measured("hand_share", 0.2),
    }  # fmt: skip
    return SeatFigures(**(plain | more))


@pytest.fixture
def report(layout) -> SeatReport:
    """3 lies short; 5 was never on the overrun; R was never used."""
    seats = (
        make_seat("1", layout), make_seat("2", layout), make_seat("3", layout, off=(0.0, -1.9)),
        make_seat("4", layout), make_seat("5", layout, moved=None),
    )  # fmt: skip
    missing = Travel(
        plane=None, wanted_mm=30.0, travel_mm=unmeasured("travel_mm", "no ruler"), short_mm=unmeasured("s", "no ruler")
    )
    return SeatReport(seats=seats, travel=(missing,), scale="relative", answer=("3 lies 1.9 mm short of its place.",))


def traces_of(figure, name: str) -> list:
    return [trace for trace in figure.data if trace.name == name]


@pytest.mark.parametrize("colours", [LIGHT, DARK], ids=["light", "dark"])
def test_a_seat_off_its_place_differs_in_shape_colour_and_words(layout, report, colours) -> None:
    figure = draw_gate_map(layout, report, colours)
    marks = traces_of(figure, "seats")
    odd = [m for m in marks if m.marker.symbol == "diamond"]
    assert len(marks) == 2 * len(report.seats) and len(odd) == 2 and {m.marker.color for m in odd} == {colours.look}
    assert odd[0].y[0] == pytest.approx(15 - 1.9)
    said = [a.text for a in figure.layout.annotations]
    assert "<b>1.9 short</b>" in said and "not seen" in said and {f"<b>{g}</b>" for g in layout.gears} <= set(said)


def test_slots_and_places_are_true_to_scale(layout, report) -> None:
    figure = draw_gate_map(layout, report, LIGHT)
    cross = traces_of(figure, "places")[0]
    assert list(zip(cross.x, cross.y, strict=True)) == [layout.position_mm(g) for g in layout.gears]
    assert figure.layout.yaxis.scaleanchor == "x" and figure.layout.yaxis.scaleratio == 1


def test_a_lens_shows_drive_and_overrun_enlarged_about_the_place(layout, report) -> None:
    figure, frame = draw_gate_map(layout, report, LIGHT), frame_map(layout, report)
    moves = traces_of(figure, "overrun to drive")
    assert len(moves) == 4 and tuple(moves[0].marker.symbol) == ("triangle-down-open", "triangle-up")
    times = frame.side / 2 / frame.shows_mm
    assert times > 2 and moves[0].y[1] - moves[0].y[0] == pytest.approx(0.6 * times)
    centre = frame.lenses["1"]
    assert moves[0].x[0] == pytest.approx(centre[0] + 0.1 * times)


def test_lenses_never_overlap_and_hold_what_they_show(layout, report) -> None:
    room = (Clearance(gear="3", way=1, clearance_mm=3.0, sd_mm=0.1, u_mm=0.1, presses=3, wanted_mm=1.0),)
    frame = frame_map(layout, report, room)
    assert frame.side < layout.plane_pitch_mm and frame.shows_mm >= 3.0 + 0.4
    for (ax, ay), (bx, by) in ((a, b) for a in frame.lenses.values() for b in frame.lenses.values() if a != b):
        assert max(abs(ax - bx), abs(ay - by)) >= frame.side
    assert all(abs(y) + frame.side / 2 < frame.around.forward for _, y in frame.lenses.values())


def test_rests_of_every_kind_have_a_form_of_their_own(layout, report, make_rest) -> None:
    rests = [
        make_rest(), make_rest(plane="1-2", select_mm=-25.0), make_rest(released=False), make_rest(released=None),
        make_rest(in_bend=True),
    ]  # fmt: skip
    assert [len(some) for some in sort_rests(rests, layout).values()] == [1] * 5
    figure = draw_gate_map(layout, report, LIGHT, rests=rests)
    symbols = {name: traces_of(figure, name)[0].marker.symbol for name in REST_STYLES}
    assert len(set(symbols.values())) == 5
    assert traces_of(figure, "let go, elsewhere")[0].marker.color == LIGHT.look


def test_home_catches_half_a_pitch_to_either_side(layout, report) -> None:
    ends = traces_of(draw_gate_map(layout, report, LIGHT), "home ends")
    assert [trace.x[0] for trace in ends] == [-12.5, 12.5] and "finds 3 or 4" in ends[0].hovertext
    homeless = replace(layout, home=None)
    assert not traces_of(draw_gate_map(homeless, report, LIGHT), "home ends")
    edge = replace(layout, home="1-2")
    assert len(traces_of(draw_gate_map(edge, report, LIGHT), "home ends")) == 1


def test_too_little_room_is_crossed_and_said(layout, report) -> None:
    rooms = tuple(
        Clearance(gear=g, way=w, clearance_mm=mm, sd_mm=0.1, u_mm=0.1, presses=3, wanted_mm=1.0)
        for g, w, mm in (("1", 1, 0.4), ("2", -1, 2.0))
    )
    figure = draw_gate_map(layout, report, LIGHT, clearances=rooms)
    crosses = [trace for trace in traces_of(figure, "stops") if trace.marker.opacity == 1.0]
    assert len(crosses) == 1 and "<b>1</b>: 0.4 mm" in crosses[0].hovertext
    assert page.say_room(rooms) == ["1 has 0.6 mm less room to its stop than wanted."]
    assert page.say_room(rooms[1:]) == ["Every gear that was pressed home has the room it wants."]


def test_lenses_say_why_they_are_empty(layout) -> None:
    gone = unmeasured("select_mm", "x"), unmeasured("engage_mm", "x")
    held = make_seat("3", layout, select_mm=gone[0], engage_mm=gone[1], hand_only=True)
    assert lens_words(held) == ["hand on it"] and lens_words(replace(held, hand_only=False)) == ["too short"]


def test_one_reason_is_told_once_with_all_its_gears(layout, report) -> None:
    two = replace(report, seats=(*report.seats[:3], make_seat("4", layout, moved=None), report.seats[4]))
    assert missing_lines(two) == [f"{WHY.replace('in 5', 'In 4 and 5', 1)}."]
    assert travel_table(report) == []


def test_the_page_answers_and_draws(measured_workshop) -> None:
    library, drive_ids = measured_workshop
    drive_id = next(iter(drive_ids.values()))
    entry = library.entry(drive_id)
    place = Place(page="seats", car=entry.car, visit=entry.stage, drive=drive_id)
    text = json.dumps(page.layout(place, Query(), library).to_plotly_json(), default=lambda o: o.to_plotly_json())
    assert page.QUESTION in text and "Gear by gear" in text
    report = page.find_report(drive_id, library)
    assert isinstance(report, SeatReport) and report.seats and report.answer[0] in text


def test_drives_of_a_visit_are_taken_together_where_asked(layout, make_result, report) -> None:
    """Those on another scale stay out."""
    other = replace(report, scale="absolute")

    kept = {"a": report, "b": report, "c": other}

    class Shelf:
        kept = {"a": report, "b": report, "c": other}

        def drives(self):
            return tuple(self.entry(name) for name in kept)

        def entry(self, drive_id: str):
            return SimpleNamespace(id=drive_id, car="x", stage="before")

        def result(self, drive_id: str):
            return make_result()

        def seats(self, drive_id: str):
            return kept[drive_id]

    assert page.find_report("a", Shelf()) is report
    pooled = page.find_report("a", Shelf(), whole_visit=True)
    assert [(s.gear, s.drives, s.stays) for s in pooled.seats] == [(s.gear, 2, 12) for s in report.seats]
