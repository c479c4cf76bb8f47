"""Bare logs into the workshop: what did you record, and what do the logs hold?"""

import time
from dataclasses import asdict, replace

import dash
from dash import ALL, Input, Output, State, ctx, dcc, html, no_update

from dashboard import ids, words
from dashboard.incoming import Answers, FileAnswers
from dashboard.library import Library
from dashboard.parts.drive_list import drive_place
from dashboard.parts.import_form import IN_FIELDS, about_section, file_sections
from dashboard.parts.notes import ROAD, bullets, caution, empty, error_line
from dashboard.parts.page import question, section
from dashboard.parts.working import working
from dashboard.parts.worth import able_section, recordings_section
from dashboard.planning import Reading
from dashboard.routes import IMPORT, Place, Query, link, write_path
from shiftlog.errors import ShiftlogError, StoreError
from shiftlog.measure.worth import IN_FILE

_DROP = html.P("Or drop them anywhere on this page.", className="soft after")
_CHOOSE = (
    "Logs of one drive: from the lever sensor, a phone, the car's bus or plug, a GPS receiver; a car.toml may be among "
    "them. They are copied as they are and never changed."
)


def layout(place: Place, query: Query, library: Library) -> html.Div:
    """The choice of logs; or those that wait, as they were understood."""
    if place.token is None:
        return _start(query, library)
    try:
        files = library.imports.incoming.files(place.token)
    except StoreError as error:
        go = dcc.Link("Choose logs", href=link(IMPORT, query), className="button")
        return html.Div([question("What did you record?"), empty("Nothing waits here", error_line(str(error)), go)])
    return _waiting(place.token, [file.name for file in files], library, query)


def _start(query: Query, library: Library) -> html.Div:
    path = dcc.Textarea(
        id=ids.IMPORT_PATHS, className="field", rows=2, placeholder="a log, or a folder of logs; one to a line"
    )
    go = html.Button("Look at these", id=ids.IMPORT_PATHS_GO, className="button quiet")
    parts = [
        question("What did you record?", [_CHOOSE]),
        section("Choose the logs", _choose("Choose files"), _refused(), _DROP),
        section(
            "Or name them where they lie on this machine", html.Label("Paths", htmlFor=ids.IMPORT_PATHS), path,
            html.Div([go, html.Div(id=ids.IMPORT_ANSWER)], className="after"),
        ),
    ]  # fmt: skip
    pending = [_pending_line(token, query, library) for token in library.imports.incoming.pending()]
    parts += [section("Begun and not added yet", bullets(pending))] if pending else []
    return html.Div([*parts, caution(ROAD)])


def _choose(text: str) -> html.Div:
    """The button that chooses files, and how far they are."""
    button = html.Button(text, id=ids.IMPORT_CHOOSE, className="button")
    said = html.Span(id=ids.IMPORT_PROGRESS, className="soft", role="status")
    return html.Div([button, said], className="row after")


def _refused() -> html.Div:
    """Where the page script says which files were not taken, and why."""
    return html.Div(id=ids.IMPORT_FAULTS)


def _pending_line(token: str, query: Query, library: Library) -> dcc.Link:
    names = [file.name for file in library.imports.incoming.files(token)]
    text = words.sentence_list(names[:4]) + (f" and {len(names) - 4} more" if len(names) > 4 else "")
    return dcc.Link(text, href=link(Place(page="import", token=token), query), className="open")


def _waiting(token: str, names: list[str], library: Library, query: Query) -> html.Div:
    # Taken first: reading that ends while the page is built is then still seen to end.
    said = library.work.said()
    reading, failed = library.imports.reading(token), library.work.failed(token)
    if reading is None and failed is None and token not in said and names:
        library.imports.begin(token)
        said = library.work.said()
    waiting = {key: text for key, text in said.items() if key == token}
    parts = [question("What do these logs hold?", _answer(reading, names)), dcc.Store(id=ids.IMPORT, data=token)]
    parts += [working(waiting, {token: words.count(len(names), "file")}, title="Being read", only=True)]
    parts += [error_line(failed)] if failed else []
    if reading is None:
        parts.append(section("The files", bullets(names), _refused()))
        return html.Div([*parts, _last_row("nothing is read yet")])
    answers = library.imports.incoming.answers(token)
    parts += [error_line(reading.fault)] if reading.fault else []
    parts += file_sections(reading, answers, names, _refused())
    if reading.plan is not None or reading.given is None:
        parts.append(about_section(answers, library.cars(), reading, query))
    if reading.reports:
        declare = IN_FIELDS if reading.given is None else IN_FILE
        able = able_section(reading.can, reading.cannot, declare=declare)
        parts += [able, recordings_section(reading.reports)]
    parts += [section("Notes", bullets(list(reading.notes)))] if reading.notes else []
    return html.Div([*parts, _last_row(_why_not_ready(reading))])


def _answer(reading: Reading | None, names: list[str]) -> list[str]:
    if reading is None:
        return [f"{words.count(len(names), 'file')} to be read."]
    unclear = sum(file.state == "unclear" for file in reading.files)
    if unclear:
        return [f"{words.count(unclear, 'log')} can be read in more than one way: answer below, then read again."]
    if not reading.reports:
        return ["Nothing in them can be used yet."]
    families = words.sentence_list([able.name for able in reading.can])
    begin = f"{words.count(len(reading.reports), 'recording')} of {reading.car}"
    return [f"{begin}. They can measure: {families}." if families else f"{begin}. Nothing can be measured from them."]


def _why_not_ready(reading: Reading) -> str | None:
    """Why these logs cannot be added yet, or None."""
    if reading.ready:
        return None
    if any(file.state == "unclear" for file in reading.files):
        return "a question above is open"
    return "nothing above can be used yet"


def _last_row(why_not: str | None) -> html.Div:
    add = html.Button("Add to the workshop", id=ids.IMPORT_ADD, className="button", disabled=why_not is not None)
    why = [html.Span(f"Not yet: {why_not}.", className="soft")] if why_not else []
    read = html.Button("Read again", id=ids.IMPORT_READ, className="button quiet")
    clear = html.Button("Throw away", id=ids.IMPORT_CLEAR, className="button quiet")
    row = html.Div([add, *why, read, clear], className="row")
    return html.Div([row, html.Div(id=ids.IMPORT_ANSWER), _choose("Choose more files")], className="card")


def register(app: dash.Dash, library: Library) -> None:
    """Paths, answers, adding, and throwing away."""
    _register_paths(app, library)
    _register_reading(app, library)
    _register_adding(app, library)


def _register_paths(app: dash.Dash, library: Library) -> None:
    @app.callback(
        Output(ids.URL, "pathname", allow_duplicate=True),
        Output(ids.IMPORT_ANSWER, "children", allow_duplicate=True),
        Input(ids.IMPORT_PATHS_GO, "n_clicks"),
        State(ids.IMPORT_PATHS, "value"),
        prevent_initial_call=True,
    )
    def look_at_paths(clicks: int | None, text: str | None):
        if not clicks:
            return no_update, no_update
        try:
            token = library.imports.incoming.refer(text or "")
        except ShiftlogError as error:
            return no_update, error_line(str(error))
        return write_path(Place(page="import", token=token)), no_update


_ABOUT = (
    State(ids.IMPORT, "data"),
    State({"type": ids.IMPORT_ABOUT, "what": ALL}, "value"),
    State({"type": ids.IMPORT_FILE, "what": ALL, "file": ALL}, "value"),
    State({"type": ids.IMPORT_COLUMN, "what": ALL, "file": ALL, "column": ALL}, "value"),
)


def _register_reading(app: dash.Dash, library: Library) -> None:
    @app.callback(
        Output(ids.CHANGED, "data", allow_duplicate=True),
        Output(ids.IMPORT_ANSWER, "children", allow_duplicate=True),
        Input(ids.IMPORT_READ, "n_clicks"),
        Input({"type": ids.IMPORT_REMOVE, "file": ALL}, "n_clicks"),
        *_ABOUT,
        prevent_initial_call=True,
    )
    def read_again(_clicks, _removed, token, *_fields):
        if not ctx.triggered or not ctx.triggered[0]["value"]:
            return no_update, no_update
        try:
            _keep(library, token)
            if isinstance(ctx.triggered_id, dict):
                library.imports.incoming.remove(token, ctx.triggered_id["file"])
            library.imports.begin(token)
        except ShiftlogError as error:
            return no_update, error_line(str(error))
        return f"reading {token} {time.monotonic()}", no_update


def _register_adding(app: dash.Dash, library: Library) -> None:
    @app.callback(
        Output(ids.URL, "pathname", allow_duplicate=True),
        Output(ids.IMPORT_ANSWER, "children", allow_duplicate=True),
        Output(ids.CHANGED, "data", allow_duplicate=True),
        Input(ids.IMPORT_ADD, "n_clicks"),
        *_ABOUT,
        prevent_initial_call=True,
    )
    def add(clicks, token, *_fields):
        if not clicks:
            return no_update, no_update, no_update
        try:
            before = library.imports.incoming.answers(token)
            if _keep(library, token).files != before.files:
                library.imports.begin(token)
                return no_update, no_update, f"reading {token} {time.monotonic()}"
            drive_id = library.add_incoming(token)
        except ShiftlogError as error:
            return no_update, error_line(str(error)), no_update
        return write_path(drive_place(library.entry(drive_id))), no_update, f"added {drive_id}"

    @app.callback(
        Output(ids.URL, "pathname", allow_duplicate=True),
        Input(ids.IMPORT_CLEAR, "n_clicks"),
        State(ids.IMPORT, "data"),
        prevent_initial_call=True,
    )
    def throw_away(clicks: int | None, token: str):
        if not clicks:
            return no_update
        library.imports.clear(token)
        return write_path(IMPORT)


def _keep(library: Library, token: str) -> Answers:
    """What the fields hold, kept; a page without fields changes nothing."""
    incoming = library.imports.incoming
    before, reading = incoming.answers(token), library.imports.reading(token)
    about, files, columns = ctx.states_list[1:]
    if reading is None or not about:
        return before
    said = {field["id"]["what"]: (field.get("value") or "").strip() for field in about}
    answers = replace(before, **said, files=_file_answers(reading, files, columns, before))
    incoming.keep(token, answers)
    return answers


def _file_answers(reading: Reading, files: list, columns: list, before: Answers) -> dict[str, FileAnswers]:
    """The fields' values by file. A place that stands as it was guessed is no answer."""
    said: dict[str, dict] = {}
    for field in files:
        file, what = reading.files[field["id"]["file"]], field["id"]["what"]
        value = (field.get("value") or "").strip()
        stated = before.files.get(file.name, FileAnswers())
        if what != "place" or value != file.place or stated.place:
            said.setdefault(file.name, {})[what] = value
    pairs: dict[tuple[str, str], dict[str, str]] = {}
    for field in columns:
        file = reading.files[field["id"]["file"]]
        key = (file.name, file.headers[field["id"]["column"]])
        pairs.setdefault(key, {})[field["id"]["what"]] = (field.get("value") or "").strip()
    for (name, header), pair in pairs.items():
        if any(pair.values()):
            said.setdefault(name, {}).setdefault("columns", {})[header] = (pair["channel"], pair["unit"])
    answers = before.files | {name: FileAnswers(**values) for name, values in said.items()}
    return {name: given for name, given in answers.items() if asdict(given) != asdict(FileAnswers())}
