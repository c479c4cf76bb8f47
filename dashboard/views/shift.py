"""One shift: what happened in it?"""

import dash
from dash import Input, Output, State, dcc, html

from dashboard import answers, ids, words
from dashboard.figures.frame import CONFIG, say
from dashboard.figures.gate import draw_gate
from dashboard.figures.phases import draw_shift
from dashboard.library import Library
from dashboard.parts.page import crumbs, question, section
from dashboard.parts.table import TableRow, table
from dashboard.routes import Place, Query, link, read_query
from dashboard.theme import palette
from shiftlog.errors import ShiftlogError
from shiftlog.measure.catalogue import MEASURES
from shiftlog.model.shift import Shift

BEFORE_S, AFTER_S = 0.6, 0.8
"""What is shown before and after a shift: enough to see the lever at rest in both gears."""
LONGEST_S = 4.0
_SHADES = "Grey: from start to end, or the drive gap. Warm, marked stood: the lever stood on its way in."


def layout(place: Place, query: Query, library: Library) -> html.Div:
    """Answer, signals with phases, every figure with its error or its reason."""
    entry, result = library.entry(place.drive), library.result(place.drive)
    shift = find_shift(result, place.shift)
    store = dcc.Store(id=ids.SHIFT, data={"drive": place.drive, "shift": place.shift})
    signals = dcc.Graph(id=ids.SHIFT_TRACES, config=CONFIG, className="traces")
    parts = [
        crumbs(place, query, drive_name=entry.name),
        question("What happened in this shift?", answers.answer_shift(shift, query.speed)),
        store,
        _steps(place, query, result.shifts),
        section("The signals around it", signals, aside=_SHADES),
    ]
    figures = _readings_section(shift, query)
    if result.gate is not None and shift.seen_by == "lever":
        graph = dcc.Graph(id=ids.SHIFT_GATE, config=CONFIG, className="gate")
        parts.append(html.Div([section("Its way through the gate", graph), figures], className="two"))
    else:
        parts.append(figures)
    return html.Div(parts)


def find_shift(result, number: int | None) -> Shift | None:
    """The shift of that number, or None."""
    return None if result is None else next((s for s in result.shifts if s.number == number), None)


def shift_window(shift: Shift) -> tuple[float, float]:
    """What of the drive is shown around a shift; a change that has no end gets a stretch of its own."""
    ends = [t for t in (shift.start_s, shift.end_s, *(shift.gap or ())) if t is not None]
    start_s, end_s = min(ends), max(ends)
    if shift.seen_by != "lever":
        return start_s - 1.5, max(end_s, start_s + 0.5) + 1.5
    if shift.end_s is None:
        return start_s - BEFORE_S, start_s + LONGEST_S
    return start_s - BEFORE_S, end_s + AFTER_S


def _steps(place: Place, query: Query, shifts: tuple[Shift, ...]) -> html.Div:
    numbers = [s.number for s in shifts]
    here = numbers.index(place.shift)
    last = numbers[here - 1] if here > 0 else None
    after = numbers[here + 1] if here + 1 < len(numbers) else None
    steps = [
        _step(place, query, last, "← Previous shift", ids.PREVIOUS),
        html.Span(f"{here + 1} of {len(numbers)}", className="soft"),
        _step(place, query, after, "Next shift →", ids.NEXT),
        html.Span("or the arrow keys", className="soft keys"),
    ]
    return html.Div(steps, className="row steps")


def _step(place: Place, query: Query, number: int | None, text: str, name: str) -> object:
    if number is None:
        return html.Span(text, className="button quiet off", **{"aria-disabled": "true"})
    to = Place(page="shift", car=place.car, visit=place.visit, drive=place.drive, shift=number)
    return dcc.Link(text, id=name, href=link(to, Query(speed=query.speed)), className="button quiet")


def _readings_section(shift: Shift, query: Query) -> html.Section:
    rows = [_reading_row(key, shift, query) for key in MEASURES if key in shift.readings]
    had = [row for row in rows if not row.muted]
    missing = [row for row in rows if row.muted]
    facts = [TableRow(cells=[name, text, ""]) for name, text in _facts(shift)]
    heads = ["Figure", "Value", "How sure"]
    parts = [table(heads, facts + had, caption="Figures of this shift")]
    if missing:
        why = table(
            ["Figure", "Why it is missing"],
            [TableRow(cells=[r.cells[0], r.cells[2]]) for r in missing],
            caption="What could not be measured",
        )
        parts.append(
            html.Details(
                [html.Summary(f"{words.count(len(missing), 'figure')} could not be measured"), why], open=not had
            )
        )
    return section("The figures", *parts)


def _facts(shift: Shift) -> list[tuple[str, str]]:
    facts = [("From and to", words.change(shift)), ("Begins at", words.clock(shift.start_s))]
    facts += [("Sure that it is a shift", words.sure(shift))] if shift.confidence is not None else []
    facts += [("Outcome", words.outcome(shift))] if shift.outcome else []
    facts += [("Pushes", str(shift.attempts))] if shift.attempts is not None else []
    facts += [("Paused in neutral", "yes")] if shift.paused else []
    facts += [("Double-declutched", "yes")] if shift.double_declutched else []
    facts += [("Standing", "yes")] if shift.standing else []
    return facts


def _reading_row(key: str, shift: Shift, query: Query) -> TableRow:
    reading = shift.readings[key]
    name = html.Span(words.label(key), title=MEASURES[key].definition)
    if reading.value is None:
        return TableRow(cells=[name, words.NOTHING, reading.why], muted=True)
    return TableRow(cells=[name, words.value(key, reading.value, query.speed), words.margin_of(reading, query.speed)])


def register(app: dash.Dash, library: Library) -> None:
    """The signals around the shift, and its way through the gate."""

    @app.callback(
        Output(ids.SHIFT_TRACES, "figure"),
        Input(ids.SHIFT, "data"),
        Input(ids.SCHEME, "data"),
        State(ids.URL, "search"),
    )
    def show_signals(choice: dict, scheme: str | None, search: str):
        colours, query = palette(scheme), read_query(search)
        shift = find_shift(library.result(choice["drive"]), choice["shift"])
        try:
            window = library.window(choice["drive"], query.window_s or shift_window(shift))
        except ShiftlogError as error:
            return say(colours, str(error))
        return draw_shift(window, shift, colours, speed_unit=query.speed)

    @app.callback(Output(ids.SHIFT_GATE, "figure"), Input(ids.SHIFT, "data"), Input(ids.SCHEME, "data"))
    def show_way(choice: dict, scheme: str | None):
        result = library.result(choice["drive"])
        try:
            path = library.path(choice["drive"], shift_window(find_shift(result, choice["shift"])))
        except ShiftlogError:
            path = None
        return draw_gate(result.gate.layout, palette(scheme), seats=result.gate.seats, path=path, height_px=400)
