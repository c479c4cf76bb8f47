"""The drives: all of them, those of a car, or those of a visit."""

import time
from dataclasses import replace

import dash
from dash import ALL, Input, Output, State, ctx, dcc, html, no_update

from dashboard import ids, words
from dashboard.library import Library
from dashboard.parts.drive_list import drive_cards, is_stale
from dashboard.parts.notes import CERTIFICATE, ROAD, caution, command, empty, error_line
from dashboard.parts.page import crumbs, question, section
from dashboard.parts.working import work_lines, working
from dashboard.routes import COMPARE, IMPORT, NO_VISIT, Place, Query, link, read_query, write_path, write_query
from shiftlog.errors import ShiftlogError


def layout(place: Place, query: Query, library: Library) -> html.Div:
    """The list, the choice of what to compare, and the field for another drive."""
    said = library.work.said()
    entries = [entry for entry in library.drives() if _belongs(entry, place)]
    parts = [crumbs(place, query)] if place.car else []
    stale = sum(is_stale(library, entry) for entry in entries)
    parts.append(question(_heading(place), [_answer(entries, stale)] if entries else None))
    if place.page == "car":
        profile = link(Place(page="profile", car=place.car), Query(speed=query.speed))
        parts.append(dcc.Link("Profile of this car", href=profile, className="button quiet"))
    if entries:
        parts.append(html.Div(drive_cards(library, entries, query), className="list"))
        parts.append(_compare_bar())
    else:
        parts.append(_nothing(place))
    parts += [
        working(said, {entry.id: entry.name for entry in entries}),
        _add_section(first=not entries),
        caution(CERTIFICATE),
    ]
    return html.Div(parts)


def _belongs(entry, place: Place) -> bool:
    same_car = place.car is None or entry.car == place.car
    return same_car and (place.visit is None or (entry.stage or NO_VISIT) == place.visit)


def _heading(place: Place) -> str:
    if place.page == "drives":
        return "Which drive do you want to look at?"
    of_car = f"Which drives of {place.car} are there?"
    return of_car if place.page == "car" else f"Which drives belong to this visit of {place.car}?"


def _answer(entries: list, stale: int) -> str:
    """How many drives there are, and how many wait to be measured; stale : those that have to be measured again."""
    cars = len({entry.car for entry in entries})
    waiting = sum(not entry.measured for entry in entries)
    text = f"{words.count(len(entries), 'drive')} of {words.count(cars, 'car')}"
    told = [f"{waiting} of them not measured yet"] if waiting else []
    told += [f"{stale} of them to be measured again, as another version wrote what was measured"] if stale else []
    return f"{text}, {' and '.join(told) or 'all measured'}."


def _nothing(place: Place) -> html.Section:
    if place.car:
        return empty("No drive of this kind is in the workshop", dcc.Link("All drives", href="/", className="button"))
    return empty(
        "The workshop is empty",
        html.P("Add the logs of a drive as the recorders wrote them:"),
        dcc.Link("Add logs", href=link(IMPORT), className="button"),
        html.P("Or give a drive folder below, or build one on the command line:"),
        command("shiftlog add lever.csv gearbox.csv --car car.toml"),
        html.P("To look round first, with drives that are made up:"),
        command("shiftlog demo"),
    )


def _compare_bar() -> html.Div:
    button = html.Button("Is it better? Compare", id=ids.COMPARE, className="button")
    return html.Div([button, html.Div(id=ids.COMPARE_ANSWER)], className="compare")


def _add_section(*, first: bool) -> html.Section:
    field = dcc.Input(
        id=ids.FOLDER, type="text", placeholder="folder with drive.toml and its logs", className="field", debounce=True
    )
    return section(
        "Add a drive",
        html.P(dcc.Link("Add logs as the recorders wrote them", href=link(IMPORT), className="button")),
        html.Label("Folder on this machine", htmlFor=ids.FOLDER),
        html.Div([field, html.Button("Add a drive folder", id=ids.ADD_FOLDER, className="button")], className="row"),
        html.Div(id=ids.ADD_ANSWER),
        caution(ROAD),
        aside="The logs are copied into the workshop as they are, then measured." if first else None,
    )


def register(app: dash.Dash, library: Library) -> None:
    """Adding a folder, following the work, and going to the comparison."""
    _register_adding(app, library)
    _register_work(app, library)
    _register_comparing(app)


def _register_adding(app: dash.Dash, library: Library) -> None:
    @app.callback(
        Output(ids.ADD_ANSWER, "children"),
        Output(ids.CHANGED, "data", allow_duplicate=True),
        Input(ids.ADD_FOLDER, "n_clicks"),
        State(ids.FOLDER, "value"),
        prevent_initial_call=True,
    )
    def add_folder(clicks: int | None, folder: str | None):
        if not clicks:
            return no_update, no_update
        try:
            drive_id = library.add(folder or "")
        except ShiftlogError as error:
            return error_line(str(error)), no_update
        return no_update, f"added {drive_id} {clicks}"


def _register_work(app: dash.Dash, library: Library) -> None:
    @app.callback(
        Output(ids.WORK, "children"),
        Output(ids.WORK_SHOWN, "data"),
        Output(ids.CHANGED, "data"),
        Input(ids.WORK_TICK, "n_intervals"),
        State(ids.WORK_SHOWN, "data"),
        prevent_initial_call=True,
    )
    def follow_work(_ticks: int, shown: dict):
        said = library.work.said()
        ended = [key for key in shown["keys"] if key not in said]
        if ended:
            return no_update, no_update, f"ended {ended[0]} {time.monotonic()}"
        if not said:
            return no_update, no_update, no_update
        names = shown["names"] if shown["only"] else {entry.id: entry.name for entry in library.drives()}
        shown |= {"names": names, "keys": [key for key in said if key in names or not shown["only"]]}
        return work_lines(said, shown), shown, no_update


def _register_comparing(app: dash.Dash) -> None:
    @app.callback(
        Output(ids.URL, "pathname", allow_duplicate=True),
        Output(ids.URL, "search", allow_duplicate=True),
        Output(ids.COMPARE_ANSWER, "children"),
        Input(ids.COMPARE, "n_clicks"),
        State({"type": ids.SIDE, "drive": ALL}, "value"),
        State(ids.URL, "search"),
        prevent_initial_call=True,
    )
    def go_compare(clicks: int | None, values: list[str], search: str):
        if not clicks:
            return no_update, no_update, no_update
        drives = [state["id"]["drive"] for state in ctx.states_list[0]]
        sides = {
            side: tuple(d for d, v in zip(drives, values, strict=True) if v == side) for side in ("before", "after")
        }
        if not all(sides.values()):
            return no_update, no_update, error_line("Choose at least one drive as before and one as after.")
        query = replace(read_query(search), window_s=None, measure=None, **sides)
        return write_path(COMPARE), write_query(query), no_update
