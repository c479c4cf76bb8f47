"""One shift: what happened in it?"""

from collections.abc import Callable
from typing import TypeVar

import dash
from dash import Input, Output, State, dcc, html

from dashboard import answers, ids, words
from dashboard.figures.frame import CONFIG, say
from dashboard.figures.gate import draw_gate
from dashboard.figures.phases import draw_shift
from dashboard.figures.shock import draw_shock
from dashboard.figures.spectrogram import draw_spectrogram, track_words
from dashboard.figures.swing import draw_swing
from dashboard.library import Library
from dashboard.parts.page import crumbs, question, section
from dashboard.parts.shift_figures import facts_section, figures_section
from dashboard.parts.shift_pictures import picture_sections
from dashboard.routes import Place, Query, link, read_query
from dashboard.theme import palette
from shiftlog.errors import ShiftlogError
from shiftlog.model.shift import Shift

Picture = TypeVar("Picture")
BEFORE_S, AFTER_S = 0.6, 0.8
"""What is shown before and after a shift: enough to see the lever at rest in both gears."""
LONGEST_S = 4.0
_SHADES = "Grey: from start to end, or the drive gap. Warm, marked stood: the lever stood on its way in."


def layout(place: Place, query: Query, library: Library) -> html.Div:
    """Answer, signals with phases, close-up pictures, every figure with its error or its reason."""
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
    facts = facts_section(_facts(shift))
    if result.gate is not None and shift.seen_by == "lever":
        graph = dcc.Graph(id=ids.SHIFT_GATE, config=CONFIG, className="gate")
        parts.append(html.Div([section("Its way through the gate", graph), facts], className="two"))
    else:
        parts.append(facts)
    return html.Div([*parts, *picture_sections(shift), figures_section(shift, query)])


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


def _facts(shift: Shift) -> list[tuple[str, str]]:
    facts = [("From and to", words.change(shift)), ("Begins at", words.clock(shift.start_s))]
    facts += [("Sure that it is a shift", words.sure(shift))] if shift.confidence is not None else []
    facts += [("Outcome", words.outcome(shift))] if shift.outcome else []
    facts += [("Pushes", str(shift.attempts))] if shift.attempts is not None else []
    facts += [("Paused in neutral", "yes")] if shift.paused else []
    facts += [("Double-declutched", "yes")] if shift.double_declutched else []
    facts += [("Standing", "yes")] if shift.standing else []
    return facts


def register(app: dash.Dash, library: Library) -> None:
    """The signals around the shift, its way through the gate, and the close-up pictures."""
    _register_close_ups(app, library)

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


def _register_close_ups(app: dash.Dash, library: Library) -> None:
    """Each picture in a callback of its own: what is quick to draw does not wait for what is slow."""

    @app.callback(
        Output(ids.SHIFT_SOUND, "figure"),
        Output(ids.SOUND_WORDS, "children"),
        Input(ids.SHIFT, "data"),
        Input(ids.SCHEME, "data"),
    )
    def show_sound(choice: dict, scheme: str | None):
        colours, heard = palette(scheme), _close_up(library, library.spectrogram, choice)
        if isinstance(heard, str):
            return say(colours, heard), None
        return draw_spectrogram(heard, _chosen(library, choice), colours), track_words(heard)

    @app.callback(Output(ids.SHIFT_SHOCK, "figure"), Input(ids.SHIFT, "data"), Input(ids.SCHEME, "data"))
    def show_shock(choice: dict, scheme: str | None):
        colours, shock = palette(scheme), _close_up(library, library.shock, choice)
        return say(colours, shock) if isinstance(shock, str) else draw_shock(shock, colours)

    @app.callback(Output(ids.SHIFT_SWING, "figure"), Input(ids.SHIFT, "data"), Input(ids.SCHEME, "data"))
    def show_swing(choice: dict, scheme: str | None):
        colours, swing = palette(scheme), _close_up(library, library.swing, choice)
        return say(colours, swing) if isinstance(swing, str) else draw_swing(swing, colours)


def _chosen(library: Library, choice: dict) -> Shift | None:
    return find_shift(library.result(choice["drive"]), choice["shift"])


def _close_up(library: Library, read: Callable[[str, Shift], Picture | str], choice: dict) -> Picture | str:
    """What a picture is drawn from, or one line that says why there is none."""
    shift = _chosen(library, choice)
    if shift is None:
        return "There is no such shift any more; open the drive again."
    try:
        return read(choice["drive"], shift)
    except ShiftlogError as error:
        return str(error)
