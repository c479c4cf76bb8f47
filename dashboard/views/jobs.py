"""The jobs: which car is here, and why?"""

import dash
from dash import Input, Output, State, dcc, html, no_update

from dashboard import ids, words
from dashboard.library import Library
from dashboard.parts.notes import empty, error_line
from dashboard.parts.page import question, section
from dashboard.parts.table import TableRow, table
from dashboard.routes import Place, Query, link, write_path
from shiftlog.errors import ShiftlogError
from shiftlog.model.job import Job, JobVersion

QUESTION = "Which car is here, and why?"
LONGEST = 90


def layout(place: Place, query: Query, library: Library) -> html.Div:
    """The jobs, the newest first, and the beginning of another."""
    versions = library.jobs.all()
    answer = [f"{words.count(len(versions), 'job')} in this workshop, the newest first."] if versions else None
    parts = [question(QUESTION, answer)]
    if versions:
        heads = ["Job", "Car", "Order", "Complaint", "Drives before, after", "Saved"]
        rows = [TableRow(cells=_cells(v, query)) for v in versions]
        parts.append(section("All jobs", table(heads, rows, caption="Open one to fill it in")))
    return html.Div([*parts, _begin(library, query)])


def _cells(version: JobVersion, query: Query) -> list:
    job = version.job
    to = link(Place(page="job", job=version.id), Query(speed=query.speed))
    line = job.complaint.partition("\n")[0]
    told = line if len(line) <= LONGEST else line[: LONGEST - 1] + "…"
    drives = f"{len(job.drives_before)}, {len(job.drives_after)}"
    return [
        dcc.Link(f"Job {version.id}", href=to, className="open"), job.car, job.order or words.NOTHING,
        told or words.NOTHING, drives, version.saved[:10],
    ]  # fmt: skip


def _begin(library: Library, query: Query) -> html.Section:
    cars = library.cars()
    if not cars:
        make = dcc.Link("Make a car's profile", href=link(Place(page="profile"), query), className="button")
        return empty("No car is in the workshop yet", html.P("A job belongs to a car."), make)
    options = [{"label": name, "value": name} for name in cars]
    radio = dcc.RadioItems(id=ids.JOB_NEW_CAR, options=options, value=cars[0], className="sides")
    area = dcc.Textarea(id=ids.JOB_NEW_COMPLAINT, className="field", rows=3, value="")
    return section(
        "Begin a job",
        html.Fieldset([html.Legend("Car"), radio]),
        html.Div(html.Label(["The complaint, in the client's own words", area]), className="longfield"),
        html.Div([html.Button("Begin the job", id=ids.JOB_NEW, className="button")], className="row"),
        html.Div(id=ids.JOB_NEW_ANSWER),
    )


def register(app: dash.Dash, library: Library) -> None:
    """Beginning a job leads to its record."""

    @app.callback(
        Output(ids.URL, "pathname", allow_duplicate=True),
        Output(ids.JOB_NEW_ANSWER, "children"),
        Input(ids.JOB_NEW, "n_clicks"),
        State(ids.JOB_NEW_CAR, "value"),
        State(ids.JOB_NEW_COMPLAINT, "value"),
        prevent_initial_call=True,
    )
    def begin(clicks: int | None, car: str | None, complaint: str | None):
        if not clicks:
            return no_update, no_update
        try:
            begun = library.jobs.new(Job(car=car or ""))
            if (complaint or "").strip():
                begun = library.jobs.set(begun.id, {"complaint": complaint})
        except ShiftlogError as error:
            return no_update, error_line(str(error))
        return write_path(Place(page="job", job=begun.id)), None
