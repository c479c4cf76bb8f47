"""Repeat drives: what can this setup show?"""

import dash
from dash import ALL, Input, Output, State, dcc, html, no_update

from dashboard import ids, words
from dashboard.figures.frame import CONFIG
from dashboard.figures.smallest import draw_smallest
from dashboard.library import Library
from dashboard.parts.notes import bullets, empty, error_line
from dashboard.parts.page import question, section
from dashboard.parts.repeat_choice import repeat_choice
from dashboard.parts.setup_tables import (
    gauge_details,
    gauge_ranks,
    gauge_reasons,
    gauge_table,
    repeat_reasons,
    repeat_table,
)
from dashboard.routes import DRIVES, IMPORT, Place, Query, link, read_query, write_query
from dashboard.setups import first_choice, measured_by_car, setup_worth
from dashboard.theme import palette
from shiftlog.errors import ShiftlogError
from shiftlog.model.repeatability import Repeatability, SetupWorth

QUESTION = "What can this setup show?"
_READING = (
    "Within-setup standard deviation: how much one drive's figure over all kinds of shift differs from the next, with "
    "nothing changed. Smallest change: what {a_side} drives a side like these can show in 95 %. A mark: larger than "
    "the change that matters."
)
_GAUGE = (
    "Setups are the stages of the car, drivers the appraisers, drives the trials. Tolerance: the change that matters, "
    "either way; six standard deviations over its width. AIAG, Measurement Systems Analysis, 4th edition."
)


def layout(place: Place, query: Query, library: Library) -> html.Div:
    """The choice, then the answer, the picture, and both tables."""
    cars = measured_by_car(library)
    if not cars:
        return html.Div([question(QUESTION), _nothing(library, query)])
    chosen = query.repeat or first_choice(cars)
    car = next((name for name, some in cars.items() if chosen[0] in {entry.id for entry in some}), next(iter(cars)))
    choice = repeat_choice(cars, car, chosen, query)
    try:
        worth = setup_worth(library, chosen)
    except ShiftlogError as error:
        return html.Div([question(QUESTION), _refused(error), choice])
    return html.Div(
        [
            question(QUESTION, answer(worth)),
            dcc.Store(id=ids.REPEATS, data=list(chosen)),
            choice,
            _picture(),
            _repeatability(worth),
            _gauge(worth),
        ]
    )


def _nothing(library: Library, query: Query) -> html.Section:
    text = "Drive the same round twice or more with nothing changed, and name the stage and the driver of each drive."
    waits = len(library.drives())
    to, name = (DRIVES, "See the drives") if waits else (IMPORT, "Add logs")
    title = "No drive is measured yet" if waits else "The workshop is empty"
    return empty(title, html.P(text), dcc.Link(name, href=link(to, Query(speed=query.speed)), className="button"))


def _refused(error: ShiftlogError) -> html.Section:
    text = "Tick other drives below. Two of one stage and driver are the least; six or more tell it well."
    return empty("These drives cannot be taken together", error_line(str(error)), html.P(text))


def answer(worth: SetupWorth) -> list[str]:
    """What a change that matters is seen in, what not, and what no study is there for."""
    known = [row for row in worth.repeatability if row.smallest_change is not None]
    if not known:
        return [
            f"Not known from {words.count(len(worth.drives), 'drive')}: none repeats another of its stage and driver."
        ]
    df = max(row.df for row in known)
    seen, unseen = (_names([r for r in known if r.margin and (r.smallest_change <= r.margin) == side])
                    for side in (True, False))  # fmt: skip
    said = [
        f"With {known[0].a_side} drives a side, a change that matters can be seen in {seen or 'none of the measures'}."
    ]
    said += [f"It cannot be seen in {unseen}: only larger ones can."] if unseen else []
    if df < 4:
        said.append(
            f"This rests on {words.count(df, 'degree')} of freedom only; more repeat drives make it better known."
        )
    return said


def _names(rows: list[Repeatability]) -> str:
    return words.sentence_list([words.label(row.measure).lower() for row in rows])


def _picture() -> html.Section:
    return section(
        "Smallest change against what matters", dcc.Graph(id=ids.REPEAT_PICTURE, config=CONFIG),
        aside="Left of the rule a change that matters is seen (dot); right of it, it is not (cross).",
    )  # fmt: skip


def _repeatability(worth: SetupWorth) -> html.Section:
    rows = worth.repeatability
    if not rows:
        return section("Repeatability", html.P("These drives hold no figure that a comparison takes."))
    whys = [html.P(why, className="soft") for why in repeat_reasons(rows)]
    return section("Repeatability", repeat_table(rows), *whys, aside=_READING.format(a_side=rows[0].a_side))


def _gauge(worth: SetupWorth) -> html.Section:
    studied = [row for row in worth.gauge if row.anova is not None]
    missing = [html.P("What is missing for a full study:"), bullets([f"{one}." for one in worth.missing])]
    whys = [html.P(why, className="soft") for why in gauge_reasons(worth.gauge)] if studied else []
    none = html.P("There is no gauge study of these drives.", className="verdict")
    ranks = [html.P(said) for said in gauge_ranks(studied)]
    body = [*ranks, gauge_table(studied), *map(gauge_details, studied)] if studied else [none]
    return section("Gauge study", *body, *whys, *(missing if worth.missing else []), aside=_GAUGE)


def register(app: dash.Dash, library: Library) -> None:
    """Taking what is ticked into the URL; the picture in the reader's colours."""

    @app.callback(
        Output(ids.URL, "search", allow_duplicate=True),
        Output(ids.REPEAT_ANSWER, "children"),
        Input(ids.REPEAT_GO, "n_clicks"),
        State({"type": ids.REPEAT_GROUP, "number": ALL}, "value"),
        State(ids.URL, "search"),
        prevent_initial_call=True,
    )
    def take_ticked(clicks: int | None, ticked: list[list[str]], search: str):
        if not clicks:
            return no_update, no_update
        chosen = tuple(drive for some in ticked for drive in some or ())
        if len(chosen) < 2:
            return no_update, error_line("Tick two drives or more.")
        return write_query(Query(speed=read_query(search).speed, repeat=chosen)), no_update

    @app.callback(
        Output(ids.REPEAT_PICTURE, "figure"), Input(ids.REPEATS, "data"), Input(ids.SCHEME, "data")
    )  # fmt: skip
    def show_smallest(chosen: list[str], scheme: str | None):
        return draw_smallest(setup_worth(library, tuple(chosen)).repeatability, palette(scheme))
