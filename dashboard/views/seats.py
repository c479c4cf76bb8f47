"""Where the lever lies in its gears: the map of the gate with all that was measured of it."""

from dataclasses import replace

import dash
from dash import Input, Output, State, dcc, html

from dashboard import ids, words
from dashboard.clearances import find_clearances
from dashboard.figures.frame import CONFIG
from dashboard.figures.gate_map import draw_gate_map, frame_map
from dashboard.library import Library
from dashboard.parts.notes import empty
from dashboard.parts.page import crumbs, question, section
from dashboard.parts.seat_tables import seat_table, travel_table
from dashboard.routes import Place, Query, link
from dashboard.theme import palette
from dashboard.visits import drives_of_visit
from shiftlog.errors import ShiftlogError
from shiftlog.model.cables import Clearance
from shiftlog.model.rest import Rest
from shiftlog.model.seats import SeatReport
from shiftlog.neutral.seat_report import report_seats

QUESTION = "Where does the lever lie in its gears?"
SEATS_KEY = (
    ("+", "a gear's place in the lattice"),
    ("●", "where the lever lies when let go; the ellipse holds 19 stays of 20"),
    ("◆", "the same, off its place by more than 1 mm (dotted circle)"),
    ("▲", "under drive"), ("▽", "on the overrun"),
)  # fmt: skip
RESTS_KEY = (
    ("●", "rest in neutral, let go, at home"), ("◆", "let go, elsewhere"), ("□", "held"),
    ("×", "not known whether let go"), ("⋮", "between these lines a straight push finds the home plane (shaded)"),
)  # fmt: skip
STOPS_KEY = (("⊢", "room to the stop"), ("✖", "less room than wanted"))
MOST_PX = 680
"""The map grows no taller than this, so that it is seen whole."""


def layout(place: Place, query: Query, library: Library) -> html.Div:
    """The answer, the map, each seat close up, the table."""
    entry = library.entry(place.drive)
    report = find_report(place.drive, library, whole_visit=query.whole_visit)
    top = crumbs(place, query, drive_name=entry.name if entry else None)
    if isinstance(report, str):
        return html.Div([top, question(QUESTION), empty(report)])
    clearances, rests = find_clearances(place.drive, library), find_rests(place.drive, library)
    picture = section(
        "The gate, in true millimetres, each seat under a lens", _graph(report, place.drive, library, clearances)
    )  # fmt: skip
    keys = [
        ("In gear", SEATS_KEY),
        ("In neutral", RESTS_KEY if rests else ()),
        ("Room", STOPS_KEY if clearances else ()),
    ]
    key = section("What the marks mean", *(_key(name, marks) for name, marks in keys if marks))
    parts = [
        top, dcc.Store(id=ids.SEATS, data={"drive": place.drive, "visit": query.whole_visit}),
        question(QUESTION, [*report.answer, *say_room(clearances)]),
        html.Div([picture, html.Div([key, *travel_table(report)])], className="two map"),
        section("Gear by gear", _together(place, query, report), seat_table(report), *_notes(report)),
    ]  # fmt: skip
    return html.Div(parts)


def _graph(report: SeatReport, drive_id: str, library: Library, clearances: tuple[Clearance, ...]) -> dcc.Graph:
    result = library.result(drive_id)
    aspect = frame_map(result.gate.layout, report, clearances).aspect if result and result.gate else 1.0
    style = {
        "width": "100%",
        "maxWidth": f"{MOST_PX * aspect:.0f}px",
        "aspectRatio": f"{aspect:.4f}",
        "margin": "0 auto",
    }
    return dcc.Graph(id=ids.SEATS_MAP, config=CONFIG, style=style)


def _key(name: str, marks: tuple[tuple[str, str], ...]) -> html.Div:
    """What the marks mean, each with its word."""
    lines = [html.Li([html.B(sign, **{"aria-hidden": "true"}), html.Span(text)]) for sign, text in marks]
    return html.Div([html.H3(name), html.Ul(lines, className="key")])


def _notes(report: SeatReport) -> list[html.P]:
    return [html.P(f"{note[:1].upper()}{note[1:]}.", className="reason") for note in report.notes]


def say_room(clearances: tuple[Clearance, ...]) -> list[str]:
    """Which gears have less room to their stops than is wanted, where that was tried."""
    hard = [c for c in clearances if not c.soft]
    if not hard:
        return []
    short = [f"{c.gear} has {-c.margin_mm:.1f} mm less room to its stop than wanted" for c in hard if c.margin_mm < 0]
    return [f"{words.sentence_list(short)}." if short else "Every gear that was pressed home has the room it wants."]


def _together(place: Place, query: Query, report: SeatReport) -> html.Div:
    """The way from this drive to all of its visit, and back."""
    text = "This drive alone" if query.whole_visit else "All drives of this visit together"
    to = link(place, replace(query, whole_visit=not query.whole_visit))
    drives = max((seat.drives for seat in report.seats), default=1)
    told = html.Span(words.count(drives, "drive"), className="soft")
    return html.Div([told, dcc.Link(text, href=to, className="button quiet", id="seats-drives")], className="row")


def find_report(drive_id: str, library: Library, *, whole_visit: bool = False) -> SeatReport | str:
    """The seats of a drive, or of all drives of its visit on the same scale, or why there are none."""
    own, result = _read(drive_id, library), library.result(drive_id)
    if isinstance(own, str) or result is None or result.gate is None or not whole_visit:
        return own
    others = [_read(one, library) for one in drives_of_visit(library, drive_id) if one != drive_id]
    alike = [one.seats for one in others if isinstance(one, SeatReport) and one.scale == own.scale]
    return report_seats([own.seats, *alike], result.gate)


def _read(drive_id: str, library: Library) -> SeatReport | str:
    if library.result(drive_id) is None:
        return "This drive has not been measured yet."
    try:
        return library.seats(drive_id)
    except ShiftlogError as why:
        return str(why)


def find_rests(drive_id: str, library: Library) -> tuple[Rest, ...]:
    """All rests of the drive."""
    result = library.result(drive_id)
    return () if result is None else result.rests


def register(app: dash.Dash, library: Library) -> None:
    """The picture follows the reader's colours."""

    @app.callback(Output(ids.SEATS_MAP, "figure"), Input(ids.SCHEME, "data"), State(ids.SEATS, "data"))
    def draw(scheme: str | None, choice: dict):
        report = find_report(choice["drive"], library, whole_visit=bool(choice.get("visit")))
        result = library.result(choice["drive"])
        if isinstance(report, str) or result.gate is None:
            return dash.no_update
        clearances = find_clearances(choice["drive"], library)
        return draw_gate_map(result.gate.layout, report, palette(scheme), rests=result.rests, clearances=clearances)
