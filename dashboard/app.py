"""The app: one page frame, one page after another in it, callbacks registered on this app alone."""

from dataclasses import replace

import dash
from dash import Input, Output, State, dcc, html, no_update

from dashboard import ids, theme
from dashboard.library import Library
from dashboard.made import register_made
from dashboard.parts.notes import empty
from dashboard.parts.page import crumbs, question, top_bar
from dashboard.prompted import register_prompted
from dashboard.routes import KMH, MPH, NO_VISIT, Place, Query, page_key, read_path, read_query, write_query
from dashboard.uploads import register_uploads
from dashboard.views import (
    cables,
    compare,
    drive,
    drives,
    guide,
    imports,
    job,
    job_card,
    job_report,
    jobs,
    marks,
    neutral,
    profile,
    repeats,
    seats,
    shift,
    tests,
    where,
)

VIEWS = {
    "drives": drives,
    "car": drives,
    "visit": drives,
    "drive": drive,
    "shift": shift,
    "neutral": neutral,
    "cables": cables,
    "where": where,
    "seats": seats,
    "compare": compare,
    "repeats": repeats,
    "profile": profile,
    "import": imports,
    "guide": guide,
    "marks": marks,
    "tests": tests,
    "jobs": jobs,
    "job": job,
    "job_card": job_card,
    "job_report": job_report,
}
"""Each page's view; several pages may share one."""

_INDEX = """<!DOCTYPE html>
<html lang="en-GB">
<head>
{%metas%}
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="color-scheme" content="light dark">
<title>{%title%}</title>
<link rel="icon" href="data:image/svg+xml,MARK">
<style>VARIABLES</style>
{%css%}
</head>
<body>
{%app_entry%}
<footer>{%config%}{%scripts%}{%renderer%}</footer>
</body>
</html>
"""
_MARK = (
    "%3Csvg xmlns='http://www.w3.org/2000/svg' viewBox='0 0 24 24'%3E%3Crect width='24' height='24' rx='5'"
    " fill='%231a1e22'/%3E%3Cpath d='M6 5v14M12 5v14M18 5v7M6 12h12' stroke='%23fff' stroke-width='2.4'"
    " fill='none'/%3E%3C/svg%3E"
)


def make_app(library: Library) -> dash.Dash:
    """The dashboard over a workshop. Everything it needs comes from this machine."""
    app = dash.Dash(
        "dashboard",
        title="shiftlog",
        update_title=None,
        serve_locally=True,
        suppress_callback_exceptions=True,
        index_string=_INDEX.replace("MARK", _MARK).replace("VARIABLES", theme.css_variables()),
        add_log_handler=False,
    )
    app.layout = _frame()
    _register_pages(app, library)
    _register_scheme(app)
    _register_units(app)
    for view in dict.fromkeys(VIEWS.values()):
        view.register(app, library)
    register_uploads(app, library.imports.incoming)
    register_prompted(app, library)
    register_made(app, library)
    return app


def _frame() -> html.Div:
    return html.Div(
        [
            dcc.Location(id=ids.URL, refresh="callback-nav"),
            dcc.Store(id=ids.SCHEME),
            dcc.Store(id=ids.SHOWN),
            dcc.Store(id=ids.CHANGED),
            dcc.Store(id=ids.UNIT_KEPT, storage_type="local"),
            html.Div(id=ids.PAGE),
        ]
    )


def page(place: Place, query: Query, library: Library) -> html.Div:
    """The bar and the page of a place, or what stands there instead."""
    lost = lost_page(place, library)
    body = lost if lost is not None else VIEWS[place.page].layout(place, query, library)
    return html.Div([top_bar(place, query), html.Main(body)])


def lost_page(place: Place, library: Library) -> html.Div | None:
    """What stands where a URL leads nowhere, or None where it leads somewhere."""
    if place.page == "lost":
        return _lost("There is no such page", "The address leads nowhere.")
    if place.page == "guide" and place.kind is not None and guide.find_cards(place.kind) is None:
        return _lost("There is no such test", "The guided tests are listed under their own heading.")
    if place.drive is None:
        return None
    entry = library.entry(place.drive)
    if entry is None or (entry.car, entry.stage or NO_VISIT) != (place.car, place.visit):
        return _lost("There is no such drive", f"The workshop holds no drive {place.drive} at this address.")
    if place.page == "shift" and shift.find_shift(library.result(place.drive), place.shift) is None:
        up = Place(page="drive", car=place.car, visit=place.visit, drive=place.drive)
        return html.Div(
            [
                crumbs(up, Query(), drive_name=entry.name),
                _lost("There is no such shift", f"This drive has no shift {place.shift}."),
            ]
        )
    return None


def _lost(title: str, text: str) -> html.Div:
    return html.Div([question(title), empty(text, dcc.Link("All drives", href="/", className="button"))])


def _register_pages(app: dash.Dash, library: Library) -> None:
    @app.callback(
        Output(ids.PAGE, "children"),
        Output(ids.SHOWN, "data"),
        Input(ids.URL, "pathname"),
        Input(ids.URL, "search"),
        Input(ids.CHANGED, "data"),
        State(ids.SHOWN, "data"),
    )
    def show_page(pathname: str, search: str, changed: str | None, shown: str | None):
        key = f"{page_key(pathname, search)}|{changed}"
        if key == shown:
            return no_update, no_update
        return page(read_path(pathname), read_query(search), library), key


def _register_scheme(app: dash.Dash) -> None:
    """The reader's light or dark scheme, followed as it changes."""
    app.clientside_callback(
        dash.ClientsideFunction("shiftlog", "scheme"), Output(ids.SCHEME, "data"), Input(ids.PAGE, "id")
    )


def _register_units(app: dash.Dash) -> None:
    for name, unit in ((ids.UNIT_KMH, KMH), (ids.UNIT_MPH, MPH)):
        _register_unit(app, name, unit)
    app.clientside_callback(
        dash.ClientsideFunction("shiftlog", "kept_unit"),
        Output(ids.URL, "search", allow_duplicate=True),
        Input(ids.UNIT_KEPT, "modified_timestamp"),
        State(ids.UNIT_KEPT, "data"),
        State(ids.URL, "search"),
        prevent_initial_call="initial_duplicate",
    )


def _register_unit(app: dash.Dash, name: str, unit: str) -> None:
    @app.callback(
        Output(ids.URL, "search", allow_duplicate=True),
        Output(ids.UNIT_KEPT, "data", allow_duplicate=True),
        Input(name, "n_clicks"),
        State(ids.URL, "search"),
        prevent_initial_call=True,
    )
    def choose_unit(clicks: int | None, search: str):
        if not clicks:
            return no_update, no_update
        return write_query(replace(read_query(search), speed=unit)), unit
