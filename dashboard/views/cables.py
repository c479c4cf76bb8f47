"""The cables: can adjusting cure it, and what would each turn do?"""

from collections.abc import Sequence
from dataclasses import replace

import dash
from dash import Input, Output, State, dcc, html

from dashboard import ids
from dashboard.clearances import find_clearances
from dashboard.figures.clearances import draw_clearances
from dashboard.figures.frame import CONFIG
from dashboard.follow_ups import follow, next_test
from dashboard.library import Library
from dashboard.parts.cable_sliders import cable_sliders, counted_in
from dashboard.parts.clearance_table import clearance_table
from dashboard.parts.follow_up import follow_up_section, followed_parts
from dashboard.parts.notes import empty
from dashboard.parts.page import crumbs, question, section
from dashboard.parts.table import TableRow, look_mark, table
from dashboard.routes import MARKS, Place, Query, link
from dashboard.theme import palette
from shiftlog.cables.checks import say_caution
from shiftlog.cables.say_stops import name_stop, say_margin
from shiftlog.cables.words import say_across, say_not_pressed
from shiftlog.model.cables import CableAdvice, Clearance, Turned

VERDICTS = {"adjust": "Yes: adjust", "leave": "Leave it alone", "not_by_adjustment": "No, not by adjusting"}
TURN_HEADS = ["Turn of", "Smallest margin, mm", "In", "Reached"]
PERHAPS, AT_END = "Perhaps: adjust, and test again", "Not as far as the adjuster goes"


def layout(place: Place, query: Query, library: Library) -> html.Div:
    """The answer, both adjusters to turn, and what every gear would have."""
    entry, advice = library.entry(place.drive), library.cables(place.drive)
    top = crumbs(place, query, drive_name=entry.name if entry else None)
    if isinstance(advice, str):
        return html.Div(
            [
                top, question("Can adjusting the cables cure it?"), _no_advice(advice, place, query),
                *_found(find_clearances(place.drive, library)),
            ]
        )  # fmt: skip
    said = [
        advice.why,
        *([not_pressed] if (not_pressed := say_not_pressed(advice)) else []),
        *(f"{gear}: its stop gives with force and is not the gate's." for gear in advice.not_a_gate_stop),
    ]
    return html.Div(
        [
            top,
            dcc.Store(id=ids.CABLES, data={"drive": place.drive}),
            question(f"Can adjusting the cables cure it? {answer(advice)}.", said),
            section(
                "Turn the adjusters", *cable_sliders(advice),
                dcc.Graph(id=ids.CABLES_PICTURE, config=CONFIG), html.P(id=ids.CABLES_SAID, role="status"),
                aside=_aside(advice),
            ),
            *_found(advice.clearances),
            _turns(advice),
            _steps(advice),
            _follow_up(place, query, advice, library),
            html.P(say_caution(listed=bool(advice.steps)), className="caution"),
        ]
    )  # fmt: skip


def _no_advice(why: str, place: Place, query: Query) -> html.Section:
    """What it takes, and the ways there."""
    ways = (
        (Place(page="guide", kind="clearance"), "How the test is done"),
        (replace(place, page=MARKS), "Mark a test"),
    )
    links = [dcc.Link(text, href=link(to, Query(speed=query.speed)), className="button") for to, text in ways]
    return empty("No answer yet", html.P(why), html.Div(links, className="row"))


def _aside(advice: CableAdvice) -> str:
    scale = "" if advice.scale == "absolute" else " Travel is relative to the seats: a ruler once makes it absolute."
    wanted = " What is wanted is assumed: give clearance_mm in car.toml." if advice.wanted_from == "assumed" else ""
    across = say_across(advice)
    names = ("engage", "select")[: 2 if advice.knows_across else 1]
    unknown = [f"the {name} cable" for name, known in zip(names, advice.range_known, strict=False) if not known]
    ends = f" How far the adjuster of {' and '.join(unknown)} goes is not in car.toml." if unknown else ""
    said = f"Begins at the best setting. Positive is forward, or to the right.{ends}{scale}{wanted}"
    return f"{said} {across}" if across else said


def answer(advice: CableAdvice) -> str:
    """The headline; what rests on a lever that lay on its stop is no plain yes."""
    if advice.stopped_by_range:
        return AT_END
    return PERHAPS if advice.verdict == "adjust" and advice.doubtful else VERDICTS[advice.verdict]


def _found(clearances: Sequence[Clearance]) -> list[html.Section]:
    """What was measured, and what is only bounded."""
    return [section("What the test found", *clearance_table(clearances))] if clearances else []


def _turns(advice: CableAdvice) -> html.Section | None:
    """What one turn further does, where a turn is known."""
    if not advice.turn_table:
        return None
    rows = [_turned(turned) for turned in advice.turn_table]
    body = table(TURN_HEADS, rows, caption="From the best setting", numbers=(1,))
    return section("One turn more, or less", body)


def _turned(turned: Turned) -> TableRow:
    engage, select = turned.setting.engage_turns, turned.setting.select_turns
    change = f"engage {engage:+.0f}" if engage else f"select {select or 0.0:+.0f}"
    within = "yes" if turned.within else html.Td(look_mark("no: beyond the adjuster's end"))
    return TableRow(cells=[change, f"{turned.smallest_mm:+.1f}", name_stop(turned.tightest), within])


def _steps(advice: CableAdvice) -> html.Section | None:
    if not advice.steps:
        return None
    return section("What to do", html.Ol([html.Li(step) for step in advice.steps]))


def _follow_up(place: Place, query: Query, advice: CableAdvice, library: Library) -> html.Section | None:
    """Where a later drive of the car was tested again."""
    later, car = next_test(place.drive, library), library.drive_car(place.drive)
    return None if later is None or car is None else follow_up_section(advice, later, car, query)


def say_setting(advice: CableAdvice, setting: tuple[float, float]) -> str:
    """The tightest gear, or side in a gear, at a setting, in words."""
    stop = advice.tightest(*setting)
    least = "at most " if stop.at_most else ""
    return (
        f"Engage {setting[0]:+.1f} mm, select {setting[1]:+.1f} mm at the lever: {name_stop(stop)} is the tightest, "
        f"with {least}{stop.left_over(*setting):.1f} mm, {say_margin(stop.margin(*setting), at_most=stop.at_most)}."
    )


def register(app: dash.Dash, library: Library) -> None:
    """The picture follows the sliders, the follow-up what was turned."""
    _register_follow_up(app, library)

    @app.callback(
        Output(ids.CABLES_PICTURE, "figure"),
        Output(ids.CABLES_SAID, "children"),
        Input(ids.cable("engage"), "value"),
        Input(ids.cable("select"), "value"),
        Input(ids.SCHEME, "data"),
        State(ids.CABLES, "data"),
    )
    def turn(engage: float, select: float, scheme: str | None, choice: dict):
        advice = library.cables(choice["drive"])
        if isinstance(advice, str):
            return dash.no_update, advice
        pitches = counted_in(advice)
        setting = (engage or 0.0) * pitches[0], (select or 0.0) * pitches[1]
        return draw_clearances(advice, setting, palette(scheme)), say_setting(advice, setting)


def _register_follow_up(app: dash.Dash, library: Library) -> None:
    @app.callback(
        Output(ids.FOLLOWED, "children"),
        Input(ids.followed("engage"), "value"),
        Input(ids.followed("select"), "value"),
        State(ids.CABLES, "data"),
    )
    def follow_it(engage: float | None, select: float | None, choice: dict):
        later = next_test(choice["drive"], library)
        if later is None:
            return dash.no_update
        return followed_parts(follow(choice["drive"], later.id, (engage, select), library))
