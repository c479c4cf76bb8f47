"""The record of a job: what was said, found and done?"""

from collections.abc import Mapping, Sequence

import dash
from dash import ALL, Input, Output, State, ctx, dcc, html, no_update

from dashboard import ids, words
from dashboard.library import Library
from dashboard.parts.drive_list import is_stale
from dashboard.parts.job_form import as_it_was, form_sections, photo_section
from dashboard.parts.notes import empty, error_line
from dashboard.parts.page import question, section
from dashboard.routes import JOBS, Place, Query, link
from shiftlog.errors import ShiftlogError
from shiftlog.model.job import FIELD_OF, JobVersion

QUESTION = "What was said, found and done?"


def layout(place: Place, query: Query, library: Library) -> html.Div:
    """The form, its pages, its history; or an earlier version, to read only."""
    try:
        version = library.jobs.job(place.job, place.version)
    except ShiftlogError as error:
        return lost_job(error)
    drives = [(e.id, _drive_name(e, library)) for e in library.drives() if e.car == version.job.car]
    top = [job_crumbs(version, query, "record"), question(QUESTION, [_head(version)])]
    if place.version is not None:
        now = dcc.Link(
            "The record as it is now", href=link(Place(page="job", job=version.id), query), className="button"
        )
        return html.Div([*top, html.P(now), *as_it_was(version, drives)])
    store = dcc.Store(id=ids.JOB, data={"job": version.id, "version": version.version})
    return html.Div(
        [
            *top, _ways(version, query), store, *form_sections(version, drives, library.cars()), _save(version),
            photo_section(version), _history(library, version, query),
        ]
    )  # fmt: skip


def lost_job(error: ShiftlogError) -> html.Div:
    """What stands where there is no such job or version."""
    back = dcc.Link("All jobs", href=link(JOBS), className="button")
    return html.Div([question("There is no such job"), empty(str(error), back)])


def job_crumbs(version: JobVersion, query: Query, last: str) -> html.Nav:
    """Jobs › job › what of it."""
    keep = Query(speed=query.speed)
    steps = [html.Li(dcc.Link("Jobs", href=link(JOBS, keep)))]
    here = f"job {version.id}, {version.job.car}"
    if last == "record":
        steps.append(html.Li(here, **{"aria-current": "page"}))
    else:
        steps.append(html.Li(dcc.Link(here, href=link(Place(page="job", job=version.id), keep))))
        steps.append(html.Li(last, **{"aria-current": "page"}))
    return html.Nav(html.Ol(steps), className="crumbs", **{"aria-label": "Where you are"})


def _drive_name(entry, library: Library) -> str:
    waits = "to be measured again" if is_stale(library, entry) else "" if entry.measured else "not measured yet"
    told = [entry.name, entry.stage or "", (entry.started or "")[:10], waits]
    return ", ".join(part for part in told if part)


def _head(version: JobVersion) -> str:
    by = f" by {version.by}" if version.by else ""
    changed = "" if version.sealed else " It was changed by something other than shiftlog."
    return f"Version {version.version} of {version.saved[:16].replace('T', ' ')} UTC{by}.{changed}"


def _ways(version: JobVersion, query: Query) -> html.Div:
    keep = Query(speed=query.speed)
    places = (("job_card", "What has to be driven? Road-test card"), ("job_report", "Is it better? Client's page"))
    links = [
        dcc.Link(text, href=link(Place(page=p, job=version.id), keep), className="button quiet") for p, text in places
    ]
    return html.Div(links, className="row steps")


def _save(version: JobVersion) -> html.Div:
    by = html.Label(["Who writes this", dcc.Input(id=ids.JOB_BY, type="text", className="field", value=version.by)])
    button = html.Button("Save as a new version", id=ids.JOB_SAVE, className="button")
    return html.Div([by, button, html.Div(id=ids.JOB_ANSWER)], className="save savejob")


def _history(library: Library, version: JobVersion, query: Query) -> html.Section:
    told = library.jobs.changes(version.id)
    lines = [_version(v, changes, query) for v, changes in told]
    return section("Every version", *lines, aside="A change is another version; nothing that was saved is ever lost.")


def _version(version: JobVersion, changes: Sequence[tuple[str, str, str]], query: Query) -> html.Details:
    to = link(Place(page="job", job=version.id, version=version.version), Query(speed=query.speed))
    head = html.Summary(f"{_head(version)} {words.count(len(changes), 'field')} changed.")
    rows = [html.Li(_change(*change)) for change in changes]
    return html.Details(
        [head, html.Ul(rows, className="plain"), dcc.Link("Read this version", href=to, className="go")]
    )


def _change(label: str, old: str, new: str) -> list:
    was = [html.Span(f" (was: {_short(old)})", className="soft")] if old else []
    return [html.B(f"{label}: "), _short(new) or "emptied", *was]


def _short(text: str) -> str:
    line = " / ".join(text.splitlines())
    return line if len(line) <= 160 else line[:159] + "…"


Typed = str | list[list[str]]
"""A field as it was typed; a table by its rows and cells."""


def typed_fields(fields: Sequence[Mapping], cells: Sequence[Mapping]) -> dict[str, Typed]:
    """What the form holds, by key, as the record reads it. Each is {"id": …, "value": …}."""
    given: dict[str, Typed] = {f["id"]["key"]: _as_text(f.get("value")) for f in fields}
    rows: dict[str, dict[int, dict[int, str]]] = {}
    for cell in cells:
        where = cell["id"]
        text = (cell.get("value") or "").strip()
        rows.setdefault(where["key"], {}).setdefault(where["row"], {})[where["column"]] = text
    for key, table in rows.items():
        lines = [[row[column] for column in sorted(row)] for _, row in sorted(table.items())]
        given[key] = [line for line in lines if any(line)]
    return {key: text for key, text in given.items() if key in FIELD_OF}


def _as_text(value: object) -> str:
    return ", ".join(value) if isinstance(value, list) else str(value or "")


def register(app: dash.Dash, library: Library) -> None:
    """Saving: another version, unless somebody saved one meanwhile."""

    @app.callback(
        Output(ids.JOB_ANSWER, "children"),
        Output(ids.CHANGED, "data", allow_duplicate=True),
        Input(ids.JOB_SAVE, "n_clicks"),
        State({"type": ids.JOB_FIELD, "key": ALL}, "value"),
        State({"type": ids.JOB_CELL, "key": ALL, "row": ALL, "column": ALL}, "value"),
        State(ids.JOB_BY, "value"),
        State(ids.JOB, "data"),
        prevent_initial_call=True,
    )
    def save(clicks: int | None, _fields: list, _cells: list, by: str | None, shown: dict):
        if not clicks:
            return no_update, no_update
        given = typed_fields(*ctx.states_list[:2])
        try:
            saved = library.jobs.set(shown["job"], given, by=by or "", seen=shown["version"])
        except ShiftlogError as error:
            return error_line(str(error)), no_update
        if saved.version == shown["version"]:
            return html.P("Nothing changed.", role="status"), no_update
        return no_update, f"job {saved.id} {saved.version}"
