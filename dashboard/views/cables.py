"""The cables: can adjusting cure it, and what would each turn do?"""

import dash
from dash import Input, Output, State, dcc, html

from dashboard import ids
from dashboard.figures.clearances import draw_clearances
from dashboard.figures.frame import CONFIG
from dashboard.follow_ups import follow, next_test
from dashboard.library import Library
from dashboard.parts.follow_up import follow_up_section, followed_parts
from dashboard.parts.notes import empty
from dashboard.parts.page import crumbs, question, section
from dashboard.routes import Place, Query
from dashboard.theme import palette
from shiftlog.cables.words import NOT_ACROSS
from shiftlog.model.cables import CableAdvice

CAUTION = (
    "Common practice and no diagnosis. Work under a car is for trained people. After any change: every gear in and out "
    "at standstill, neutral free, the lock-out of reverse, and only then the road."
)
FURTHEST_MM, STEP_MM, STEP_TURNS = 5.0, 0.1, 0.25
VERDICTS = {"adjust": "Yes: adjust", "leave": "Leave it alone", "not_by_adjustment": "No, not by adjusting"}


def layout(place: Place, query: Query, library: Library) -> html.Div:
    """The answer, both adjusters to turn, and what every gear would have."""
    entry, advice = library.entry(place.drive), library.cables(place.drive)
    top = crumbs(place, query, drive_name=entry.name if entry else None)
    if isinstance(advice, str):
        return html.Div([top, question("Can adjusting the cables cure it?"), empty(advice)])
    said = [
        advice.why,
        *(f"{gear}: its stop gives with force and is not the gate's." for gear in advice.not_a_gate_stop),
    ]
    return html.Div(
        [
            top,
            dcc.Store(id=ids.CABLES, data={"drive": place.drive}),
            question(f"Can adjusting the cables cure it? {VERDICTS[advice.verdict]}.", said),
            section("Turn the adjusters", *_sliders(advice), dcc.Graph(id=ids.CABLES_PICTURE, config=CONFIG),
                    html.P(id=ids.CABLES_SAID, role="status"), aside=_aside(advice)),
            _steps(advice),
            _follow_up(place, query, advice, library),
            html.P(CAUTION, className="caution"),
        ]
    )  # fmt: skip


def _aside(advice: CableAdvice) -> str:
    scale = "" if advice.scale == "absolute" else " Travel is relative to the seats: a ruler once makes it absolute."
    wanted = " What is wanted is assumed: give clearance_mm in car.toml." if advice.wanted_from == "assumed" else ""
    across = "" if advice.knows_across else f" {NOT_ACROSS[0].upper()}{NOT_ACROSS[1:]}."
    return f"Begins at the best setting. Positive is forward, or to the right.{scale}{wanted}{across}"


def _sliders(advice: CableAdvice) -> list[html.Div]:
    pairs = (
        ("engage", advice.setting.engage_mm, advice.setting.engage_turns),
        ("select", advice.setting.select_mm, advice.setting.select_turns),
    )
    return [_slider(name, mm, turns) for name, mm, turns in pairs]


def _slider(name: str, mm: float, turns: float | None) -> html.Div:
    unit, value, step = ("mm", mm, STEP_MM) if turns is None else ("turns", turns, STEP_TURNS)
    marks = {k: f"{k:+d}" if k else "0" for k in range(-int(FURTHEST_MM), int(FURTHEST_MM) + 1)}
    slider = dcc.Slider(
        id=ids.cable(name), min=-FURTHEST_MM, max=FURTHEST_MM, step=step, value=round(value, 2), marks=marks,
    )  # fmt: skip
    return html.Div([html.Label(f"{name} cable, {unit}"), slider], className="slider")


def _steps(advice: CableAdvice) -> html.Section | None:
    if not advice.steps:
        return None
    return section("What to do", html.Ol([html.Li(step) for step in advice.steps]))


def _follow_up(place: Place, query: Query, advice: CableAdvice, library: Library) -> html.Section | None:
    """Where a later drive of the car was tested again."""
    later, car = next_test(place.drive, library), library.drive_car(place.drive)
    return None if later is None or car is None else follow_up_section(advice, later, car, query)


def say_setting(advice: CableAdvice, setting: tuple[float, float]) -> str:
    """The tightest gear at a setting, in words."""
    then, wanted = advice.after(*setting), {c.gear: c.wanted_mm for c in advice.clearances}
    gear = min(then, key=lambda g: then[g] - wanted[g])
    margin = then[gear] - wanted[gear]
    less = "more" if margin >= 0 else "less"
    return (
        f"Engage {setting[0]:+.1f} mm, select {setting[1]:+.1f} mm at the lever: {gear} is the tightest, with "
        f"{then[gear]:.1f} mm, {abs(margin):.1f} mm {less} than wanted."
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
        pitches = library.cable_pitches(choice["drive"])
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
