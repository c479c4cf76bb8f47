"""The road-test card of a job: what has to be driven?"""

import dash
from dash import Input, Output, State, dcc, html

from dashboard import ids
from dashboard.desk import card_plan
from dashboard.library import Library
from dashboard.parts.notes import ROAD, caution, empty, error_line
from dashboard.parts.page import question, section
from dashboard.routes import Place, Query, link
from dashboard.views.job import job_crumbs, lost_job
from dashboard.views.job_report import language_choice, shown
from shiftlog.errors import ShiftlogError
from shiftlog.model.job import SIDES
from shiftlog.report.card_page import state
from shiftlog.report.language import load_language

QUESTION = "What has to be driven?"


def layout(place: Place, query: Query, library: Library) -> html.Div:
    """What is missing in a sentence, the choices, and the card itself."""
    try:
        version = library.jobs.job(place.job)
    except ShiftlogError as error:
        return lost_job(error)
    top = job_crumbs(version, query, "road-test card")
    try:
        plan = card_plan(library, place.job, None)
    except ShiftlogError as error:
        record = dcc.Link("To the record", href=link(Place(page="job", job=place.job), query), className="button")
        return html.Div([top, question(QUESTION), empty("There is no card yet", error_line(str(error)), record)])
    store = dcc.Store(id=ids.JOB, data={"job": version.id, "speed": query.speed})
    sides = dcc.RadioItems(
        id=ids.CARD_SIDE, options=[{"label": side, "value": side} for side in SIDES], value=plan.side,
        className="sides",
    )  # fmt: skip
    choices = section(
        "Which card", html.Fieldset([html.Legend("Drives before or after the work, or at the recheck"), sides]),
        language_choice(ids.CARD_LANGUAGE),
        aside="Made from the complaint in the record, and from the drives that stand there.",
    )  # fmt: skip
    said = [line for line in (state(plan, load_language("en")), plan.cold_hint) if line]
    return html.Div([top, question(QUESTION, said), store, choices, caution(ROAD), html.Div(id=ids.CARD_SHOWN)])


def register(app: dash.Dash, library: Library) -> None:
    """The frame follows the choices."""

    @app.callback(
        Output(ids.CARD_SHOWN, "children"),
        Input(ids.CARD_SIDE, "value"),
        Input(ids.CARD_LANGUAGE, "value"),
        State(ids.JOB, "data"),
    )
    def show_card(side: str, language: str, job: dict):
        choices = {"side": side, "language": language, "speed": job["speed"]}
        return shown(f"/made/job/{job['job']}/card", choices, "The road-test card")
