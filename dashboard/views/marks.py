"""What was being done, and when? The marked tests of a drive: listed, added, pasted, taken out."""

from dataclasses import replace

import dash
from dash import ALL, Input, Output, State, ctx, dcc, html, no_update

from dashboard import ids, words
from dashboard.figures.frame import say
from dashboard.figures.marks import draw_marks
from dashboard.library import Library
from dashboard.parts.mark_form import mark_form, mark_list, paste_form, title
from dashboard.parts.notes import empty, error_line
from dashboard.parts.page import crumbs, question
from dashboard.routes import GUIDE, TESTS, Place, Query, link, read_query, write_query
from dashboard.theme import palette
from dashboard.times import read_temperature, read_time, read_waits, write_time
from shiftlog.errors import ShiftlogError
from shiftlog.model.drive import MarkedTest

QUESTION = "What was being done, and when?"
AROUND = 0.25
"""Of the chosen span, on either side of it, when it is looked at closer."""
_WRONG = (ShiftlogError, ValueError)


def layout(place: Place, query: Query, library: Library) -> html.Div:
    """The spans there are, the trace to mark another on, and the paste."""
    top = crumbs(place, query, drive_name=library.entry(place.drive).name)
    try:
        marks, started = library.marks.of(place.drive), library.marks.started(place.drive)
    except ShiftlogError as error:
        return html.Div([top, question(QUESTION), empty("The drive's own file cannot be read", error_line(str(error)))])
    ways = [
        dcc.Link("What the tests say", href=link(replace(place, page=TESTS), query), className="button quiet"),
        dcc.Link("Cards and prompts", href=link(GUIDE, Query(speed=query.speed)), className="button quiet"),
    ]
    return html.Div(
        [
            top,
            question(QUESTION, [_answer(marks)]),
            html.Div(ways, className="row steps"),
            dcc.Store(id=ids.MARKS_TAP),
            dcc.Store(id=ids.MARKS, data={"drive": place.drive, "marks": [_plain(mark) for mark in marks]}),
            mark_list(marks),
            mark_form(),
            paste_form(clock_known=started is not None),
        ]
    )


def _answer(marks: tuple[MarkedTest, ...]) -> str:
    if not marks:
        return "Nothing is marked. A marked test makes every try in it count, and has figures of its own."
    kinds = [title(kind).lower() for kind in dict.fromkeys(mark.kind for mark in marks)]
    return f"{words.count(len(marks), 'span')} marked: {words.sentence_list(kinds)}."


def _plain(mark: MarkedTest) -> list:
    return [mark.kind, mark.start_s, mark.end_s, mark.configuration, mark.waits_s, mark.gearbox_temp_c]


def _mark(plain: list) -> MarkedTest:
    kind, start_s, end_s, configuration, waits_s, temp_c = plain
    return MarkedTest(
        kind=kind, start_s=start_s, end_s=end_s, configuration=configuration, waits_s=tuple(waits_s),
        gearbox_temp_c=temp_c,
    )  # fmt: skip


def chosen_span(selected: dict | None) -> tuple[float, float] | None:
    """The span of time of a drag across the picture, or None."""
    span = ((selected or {}).get("range") or {}).get("x")
    return (min(map(float, span)), max(map(float, span))) if span else None


def tapped_times(at_s: float, start: str | None, end: str | None) -> tuple[object, object, object]:
    """From, to, and the first test's second after a tap: a second one that is later ends what the first began."""
    try:
        ends = not (end or "").strip() and read_time(start, name="from") < at_s
    except ValueError:
        ends = False
    return (no_update, write_time(at_s), no_update) if ends else (write_time(at_s), "", write_time(at_s))


def register(app: dash.Dash, library: Library) -> None:
    """The picture, its drag, and the three ways in which marks change."""
    _register_picture(app, library)
    _register_changes(app, library)
    app.clientside_callback(
        dash.ClientsideFunction("shiftlog", "last_marks"),
        Output(ids.PASTE, "value"),
        Input(ids.PASTE_TAKE, "n_clicks"),
        prevent_initial_call=True,
    )


def _register_picture(app: dash.Dash, library: Library) -> None:
    @app.callback(
        Output(ids.MARKS_PICTURE, "figure"),
        Input(ids.MARKS, "data"),
        Input(ids.URL, "search"),
        Input(ids.SCHEME, "data"),
    )
    def show(choice: dict, search: str, scheme: str | None):
        query, colours = read_query(search), palette(scheme)
        try:
            window = library.window(choice["drive"], query.window_s)
        except ShiftlogError as error:
            return say(colours, str(error))
        return draw_marks(
            window, colours, marks=[_mark(plain) for plain in choice["marks"]], speed_unit=query.speed
        )  # fmt: skip

    @app.callback(
        Output(ids.MARK_START, "value"),
        Output(ids.MARK_END, "value"),
        Output(ids.PASTE_FIRST, "value"),
        Input(ids.MARKS_PICTURE, "selectedData"),
        Input(ids.MARKS_TAP, "data"),
        State(ids.MARK_START, "value"),
        State(ids.MARK_END, "value"),
        prevent_initial_call=True,
    )
    def take_times(selected: dict | None, tapped: dict | None, start: str | None, end: str | None):
        if ctx.triggered_id == ids.MARKS_TAP and tapped:
            return tapped_times(tapped["at_s"], start, end)
        span = chosen_span(selected)
        return (no_update,) * 3 if span is None else (write_time(span[0]), write_time(span[1]), write_time(span[0]))

    @app.callback(
        Output(ids.URL, "search", allow_duplicate=True),
        Output(ids.MARK_ANSWER, "children", allow_duplicate=True),
        Input(ids.MARKS_CLOSER, "n_clicks"),
        Input(ids.MARKS_WHOLE, "n_clicks"),
        State(ids.MARK_START, "value"),
        State(ids.MARK_END, "value"),
        State(ids.URL, "search"),
        prevent_initial_call=True,
    )
    def look(closer: int | None, whole: int | None, start: str | None, end: str | None, search: str):
        if not (closer or whole):
            return no_update, no_update
        if ctx.triggered_id == ids.MARKS_WHOLE:
            return write_query(replace(read_query(search), window_s=None)), None
        try:
            span = read_time(start, name="from"), read_time(end, name="to")
        except ValueError as error:
            return no_update, error_line(str(error))
        room = AROUND * (span[1] - span[0])
        return write_query(replace(read_query(search), window_s=(span[0] - room, span[1] + room))), None


def _register_changes(app: dash.Dash, library: Library) -> None:
    @app.callback(
        Output(ids.MARK_ANSWER, "children"),
        Output(ids.CHANGED, "data", allow_duplicate=True),
        Input(ids.MARK_ADD, "n_clicks"),
        State(ids.MARKS, "data"),
        State(ids.MARK_KIND, "value"),
        State(ids.MARK_START, "value"),
        State(ids.MARK_END, "value"),
        State(ids.MARK_CONFIGURATION, "value"),
        State(ids.MARK_WAITS, "value"),
        State(ids.MARK_TEMPERATURE, "value"),
        prevent_initial_call=True,
    )
    def add(clicks: int | None, choice: dict, kind: str | None, start: str, *rest: str | None):
        if not clicks:
            return no_update, no_update
        try:
            library.marks.add(choice["drive"], [typed_mark(kind, start, *rest)])
        except _WRONG as error:
            return error_line(str(error)), no_update
        return None, f"marked {choice['drive']} {clicks} {start}"

    @app.callback(
        Output(ids.PASTE_ANSWER, "children"),
        Output(ids.CHANGED, "data", allow_duplicate=True),
        Input(ids.PASTE_ADD, "n_clicks"),
        State(ids.MARKS, "data"),
        State(ids.PASTE, "value"),
        State(ids.PASTE_FIRST, "value"),
        prevent_initial_call=True,
    )
    def paste(clicks: int | None, choice: dict, text: str | None, first: str | None):
        if not clicks:
            return no_update, no_update
        try:
            first_at_s = read_time(first, name="the first test") if (first or "").strip() else None
            library.marks.paste(choice["drive"], text or "", first_at_s=first_at_s)
        except _WRONG as error:
            return error_line(str(error)), no_update
        return None, f"pasted {choice['drive']} {clicks} {len(choice['marks'])}"

    @app.callback(
        Output(ids.REMOVE_ANSWER, "children"),
        Output(ids.CHANGED, "data", allow_duplicate=True),
        Input(ids.remove_mark(ALL), "n_clicks"),
        State(ids.MARKS, "data"),
        prevent_initial_call=True,
    )
    def remove(_clicks: list, choice: dict):
        if not ctx.triggered or not ctx.triggered[0]["value"]:
            return no_update, no_update
        gone = choice["marks"][ctx.triggered_id["number"]]
        try:
            library.marks.remove(choice["drive"], _mark(gone))
        except ShiftlogError as error:
            return error_line(str(error)), no_update
        return None, f"taken out {choice['drive']} {gone}"


def typed_mark(
    kind: str | None, start: str | None, end: str | None, configuration: str | None, waits: str | None = None,
    temperature: str | None = None,
) -> MarkedTest:  # fmt: skip
    """A mark from the form's fields. ValueError, in one line, where a field is missing or makes no sense."""
    if not kind:
        raise ValueError("which test: none is chosen; choose one")
    return MarkedTest(
        kind=kind, start_s=read_time(start, name="from"), end_s=read_time(end, name="to"),
        configuration=(configuration or "").strip() or None, waits_s=read_waits(waits),
        gearbox_temp_c=read_temperature(temperature),
    )  # fmt: skip
