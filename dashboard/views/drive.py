"""One drive: how did the car shift?"""

from dataclasses import replace

import dash
from dash import Input, Output, State, ctx, dcc, html, no_update

from dashboard import answers, ids
from dashboard.figures.frame import CONFIG, say
from dashboard.figures.gate import draw_gate
from dashboard.figures.traces import draw_traces
from dashboard.library import Library
from dashboard.parts.drive_parts import not_measured, rest_sections, shift_section
from dashboard.parts.findings import finding_sections, synchro_sections
from dashboard.parts.gear_grid import gear_grid_section
from dashboard.parts.page import crumbs, question, section
from dashboard.parts.worth import worth_sections
from dashboard.routes import (
    CABLES,
    MARKS,
    NEUTRAL,
    SEATS,
    TESTS,
    WHERE,
    Place,
    Query,
    link,
    read_path,
    read_query,
    write_path,
    write_query,
)
from dashboard.theme import palette
from dashboard.zoom import button_window, dragged_window
from shiftlog.errors import ShiftlogError
from shiftlog.model.gate import GateMap
from shiftlog.model.result import DriveResult

_BUTTONS = {
    ids.WHOLE: "Whole drive",
    ids.ZOOM_IN: "Closer",
    ids.ZOOM_OUT: "Wider",
    ids.EARLIER: "← Earlier",
    ids.LATER: "Later →",
}


def layout(place: Place, query: Query, library: Library) -> html.Div:
    """Answer, gate, shifts, rests, traces, what the log is worth."""
    entry, result = library.entry(place.drive), library.result(place.drive)
    way = crumbs(place, query, drive_name=entry.name)
    store = dcc.Store(id=ids.DRIVE, data={"drive": place.drive})
    if result is None:
        return html.Div([way, question("How did the car shift?"), store, not_measured(library, place.drive)])
    parts = [way, question("How did the car shift?", answers.answer_drive(result)), store]
    shifts = shift_section(result, place, query)
    if result.gate is None:
        parts += [shifts, _no_gate(result.gate_why)]
    else:
        parts.append(html.Div([_gate_section(result.gate), shifts], className="two"))
    parts += [*finding_sections(result, place, query), *synchro_sections(result)]
    grid = gear_grid_section(result.shifts)
    parts += [grid] if grid is not None else []
    parts += _tests(result, place, query)
    parts.append(_trace_section())
    parts += rest_sections(library, place.drive, result, query)
    parts += worth_sections(result, library.car(result.car))
    return html.Div(parts)


def _tests(result: DriveResult, place: Place, query: Query) -> list[html.Section]:
    """The ways to what its tests and findings point to."""
    ways = [(WHERE, "Adjust, replace outside, or open?")]
    if result.rests:
        ways.append((NEUTRAL, "Where does the lever rest?"))
    if result.gate is not None:
        ways.append((SEATS, "Where does the lever lie in its gears?"))
    if result.tests:
        ways.append((TESTS, "What did the guided tests say?"))
    if any(test.kind == "clearance" for test in result.tests):
        ways.append((CABLES, "Can adjusting the cables cure it?"))
    ways.append((MARKS, "Mark a test"))
    buttons = [
        dcc.Link(text, href=link(replace(place, page=page), query), className="button quiet", id=f"to-{page}")
        for page, text in ways
    ]
    return [section("What it points to", html.Div(buttons, className="row"))]


def _no_gate(why: str | None) -> html.Section:
    return section("The gate", html.P(why or "no lever was logged", className="reason"))


def _gate_section(gate: GateMap) -> html.Section:
    said = {"found": "found from the drive", "declared": "as declared", "assumed": "assumed, nothing tells"}
    travel = "absolute, from a ruler" if gate.scale == "absolute" else "relative, fitted to the seats"
    legend = html.P(
        [
            "Rings: seats, as large as their spread. Dots: rests after the lever was let go. ",
            html.Span("◆", className="lookmark"),
            " the same out of the home plane (shaded). Hollow: rests left out.",
        ],
        className="soft",
    )
    note = html.P(
        f"Direction: {said.get(gate.orientation, gate.orientation)} ({gate.evidence}). Travel: {travel}.",
        className="soft",
    )
    graph = dcc.Graph(id=ids.GATE, config=CONFIG, className="gate")
    return section("The gate, as the driver sees it", graph, legend, note)


def _trace_section() -> html.Section:
    buttons = [html.Button(text, id=name, className="button quiet") for name, text in _BUTTONS.items()]
    graph = dcc.Graph(id=ids.TRACES, config=CONFIG, className="traces")
    aside = "Drag across to look closer, press a mark on top to open its shift. Every peak is kept, however far out."
    return section("The raw traces", html.Div(buttons, className="row"), graph, aside=aside, id="trace-section")


def register(app: dash.Dash, library: Library) -> None:
    """Two pictures, the zoom, the way to a shift, and measuring."""
    _register_pictures(app, library)
    _register_zoom(app, library)

    @app.callback(
        Output(ids.URL, "pathname", allow_duplicate=True),
        Input(ids.TRACES, "clickData"),
        State(ids.URL, "pathname"),
        prevent_initial_call=True,
    )
    def open_shift(clicked: dict | None, pathname: str):
        number = clicked["points"][0].get("customdata") if clicked else None
        return (
            no_update if number is None else write_path(replace(read_path(pathname), page="shift", shift=int(number)))
        )

    @app.callback(
        Output(ids.CHANGED, "data", allow_duplicate=True),
        Input(ids.MEASURE_DRIVE, "n_clicks"),
        State(ids.DRIVE, "data"),
        prevent_initial_call=True,
    )
    def begin_measuring(clicks: int | None, choice: dict):
        if not clicks:
            return no_update
        library.begin_measuring(choice["drive"])
        return f"measuring {choice['drive']} {clicks}"


def _register_pictures(app: dash.Dash, library: Library) -> None:
    @app.callback(
        Output(ids.TRACES, "figure"), Input(ids.DRIVE, "data"), Input(ids.URL, "search"), Input(ids.SCHEME, "data")
    )
    def show_traces(choice: dict, search: str, scheme: str | None):
        query, colours = read_query(search), palette(scheme)
        result = library.result(choice["drive"])
        try:
            window = library.window(choice["drive"], query.window_s)
        except ShiftlogError as error:
            return say(colours, str(error))
        if not window.lines:
            return say(colours, "This drive holds no signal that could be drawn.")
        return draw_traces(window, colours, shifts=result.shifts, rejected=result.rejected, speed_unit=query.speed)

    @app.callback(Output(ids.GATE, "figure"), Input(ids.DRIVE, "data"), Input(ids.SCHEME, "data"))
    def show_gate(choice: dict, scheme: str | None):
        result, colours = library.result(choice["drive"]), palette(scheme)
        try:
            path = library.path(choice["drive"])
        except ShiftlogError:
            path = None
        gate = result.gate
        return draw_gate(gate.layout, colours, seats=gate.seats, path=path, rests=result.rests)


def _register_zoom(app: dash.Dash, library: Library) -> None:
    """Buttons and picture each have a callback of their own.

    A picture reports its own resizing as well; in one callback that report would supersede a press still under way.
    """

    @app.callback(
        Output(ids.URL, "search", allow_duplicate=True),
        *(Input(name, "n_clicks") for name in _BUTTONS),
        State(ids.URL, "search"),
        State(ids.DRIVE, "data"),
        prevent_initial_call=True,
    )
    def press(*clicks_and_states):
        search, choice = clicks_and_states[-2:]
        if not ctx.triggered or not ctx.triggered[0]["value"]:
            return no_update
        query = read_query(search)
        whole_s = library.window(choice["drive"], query.window_s).whole_s
        window_s = button_window(ctx.triggered_id, query.window_s or whole_s, whole_s)
        return write_query(replace(query, window_s=window_s))

    @app.callback(
        Output(ids.URL, "search", allow_duplicate=True),
        Input(ids.TRACES, "relayoutData"),
        State(ids.URL, "search"),
        prevent_initial_call=True,
    )
    def drag(dragged: dict | None, search: str):
        window_s, moved = dragged_window(dragged)
        return write_query(replace(read_query(search), window_s=window_s)) if moved else no_update
