"""The client's page of a job: what does the client get?"""

from urllib.parse import urlencode

import dash
from dash import Input, Output, State, dcc, html

from dashboard import ids
from dashboard.desk import report_content
from dashboard.library import Library
from dashboard.parts.notes import CERTIFICATE, caution, empty, error_line
from dashboard.parts.page import question, section
from dashboard.routes import Place, Query, link
from dashboard.views.job import job_crumbs, lost_job
from shiftlog.errors import ShiftlogError
from shiftlog.model.job import JobVersion
from shiftlog.report.answer import answer
from shiftlog.report.counts import say_not_ticked
from shiftlog.report.forbidden import refuse_claims
from shiftlog.report.language import languages, load_language
from shiftlog.report.print_page import NO_BROWSER, find_browser

QUESTION = "What does the client get?"


def layout(place: Place, query: Query, library: Library) -> html.Div:
    """The three sentences, the choices, the page itself, and where to save it."""
    try:
        version = library.jobs.job(place.job)
    except ShiftlogError as error:
        return lost_job(error)
    top = job_crumbs(version, query, "client's page")
    try:
        content = report_content(library, place.job)
        refuse_claims(content)
    except ShiftlogError as error:
        record = dcc.Link("To the record", href=link(Place(page="job", job=place.job), query), className="button")
        return html.Div([top, question(QUESTION), empty("There is no page yet", error_line(str(error)), record)])
    store = dcc.Store(id=ids.JOB, data={"job": version.id, "speed": query.speed})
    return html.Div(
        [
            top, question(QUESTION, list(answer(content, load_language("en")))), store,
            _not_ticked(version, query), _choices(), html.Div(id=ids.REPORT_SHOWN), caution(CERTIFICATE),
        ]
    )  # fmt: skip


def _not_ticked(version: JobVersion, query: Query) -> html.P | None:
    """What the record lacks for the page to answer the complaint, with the way there."""
    said = say_not_ticked(version.job)
    record = dcc.Link("To the record", href=link(Place(page="job", job=version.id), query))
    return html.P([f"{said[0].upper()}{said[1:]}. ", record]) if said else None


def language_choice(name: str) -> html.Fieldset:
    """The language of what is made."""
    options = [{"label": load_language(code).texts["name"], "value": code} for code in languages()]
    radio = dcc.RadioItems(id=name, options=options, value="en", className="sides")
    return html.Fieldset([html.Legend("Language"), radio])


def _choices() -> html.Section:
    plate = dcc.RadioItems(
        id=ids.REPORT_PLATE, options=[{"label": "masked", "value": "masked"}, {"label": "shown", "value": "shown"}],
        value="masked", className="sides",
    )  # fmt: skip
    return section(
        "How it is wanted", language_choice(ids.REPORT_LANGUAGE), html.Fieldset([html.Legend("Plate and VIN"), plate])
    )


def shown(address: str, choices: dict[str, str], title: str) -> list:
    """The page in a frame, and the ways to open, save and print it. address : without its ending"""
    asked = urlencode(choices)
    links = [
        html.A("Open it", href=f"{address}.html?{asked}", target="_blank", className="button"),
        html.A("Save the page", href=f"{address}.html?{asked}&keep=1", className="button quiet"),
    ]
    if find_browser() is not None:
        links.append(html.A("Save as PDF", href=f"{address}.pdf?{asked}&keep=1", className="button quiet"))
    note = [html.P(f"No PDF: {NO_BROWSER}.", className="soft")] if find_browser() is None else []
    frame = html.Iframe(src=f"{address}.html?{asked}", title=title, className="made")
    return [html.Div(links, className="row steps"), *note, frame]


def register(app: dash.Dash, library: Library) -> None:
    """The frame follows the choices."""

    @app.callback(
        Output(ids.REPORT_SHOWN, "children"),
        Input(ids.REPORT_LANGUAGE, "value"),
        Input(ids.REPORT_PLATE, "value"),
        State(ids.JOB, "data"),
    )
    def show_report(language: str, plate: str, job: dict):
        choices = {"language": language, "plate": plate, "speed": job["speed"]}
        return shown(f"/made/job/{job['job']}/report", choices, "The client's page")
