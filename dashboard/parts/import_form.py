"""The fields of the import page: what is known of the drive, and what is asked of each log."""

from collections.abc import Sequence

from dash import dcc, html

from dashboard import ids, words
from dashboard.answer_options import LEAVE_WORD
from dashboard.incoming import Answers, FileAnswers
from dashboard.parts.notes import bullets, error_line, reason
from dashboard.parts.page import section
from dashboard.parts.table import look_mark
from dashboard.planning import LEFT_OUT, UNCLEAR, FileSaid, Reading
from dashboard.routes import Place, Query, link
from shiftlog.ingest.channels import CHANNELS
from shiftlog.ingest.units import KNOWN
from shiftlog.measure.carry import MOUNTING, OFFSET
from shiftlog.model.recording import PLACES

CHANNEL_LIST, UNIT_LIST = "import-channels", "import-units"
_STATES = {UNCLEAR: "a question is open", LEFT_OUT: "left out"}
_WAYS = {"select": ("right", "left"), "engage": ("forward", "rearward")}
_CLOCK_HINT = "one word for logs of one recorder"
_OFFSET_HINT = "seconds; recorder time = drive time + this"
_AXES_HINT = "the sensor axes that point forward, left and up: y,-x,z"
_NO_RESTART, _RESTART = "leave such a log out", "both parts are of this drive"
IN_FIELDS = {OFFSET: "give its clock offset with the log above", MOUNTING: "give its sensor axes with the log above"}
"""What to call declaring what nothing else tells, where the page has a field for it."""


def about_section(answers: Answers, cars: Sequence[str], reading: Reading, query: Query) -> html.Section:
    """Name, stage, driver and car."""
    fields = [
        _field("Name of the drive", ids.about("name"), answers.name, hint="that of the first log"),
        _field("Stage", ids.about("stage"), answers.stage, hint="before, after …"),
        _field("Driver", ids.about("driver"), answers.driver),
    ]
    own = {"label": "the car.toml among the files, if there is one", "value": ""}
    options = [own, *({"label": name, "value": name} for name in cars)]
    chosen = answers.car if answers.car in cars else ""
    car = dcc.RadioItems(id=ids.about("car"), options=options, value=chosen, className="sides")
    now = [f"Read with: {reading.car}."] if reading.car else []
    if reading.without_car:
        make = dcc.Link("make one", href=link(Place(page="profile"), query), className="open")
        now = ["Without a car's profile no gear is known. Choose a car's profile or ", make]
    return section(
        "The drive", html.Div(fields, className="form"), html.Fieldset([html.Legend("Car"), car]),
        html.P(now, className="soft"),
        aside="Drives are compared by their stage. The car's profile gives gate, gears and ratios.",
    )  # fmt: skip


def file_sections(reading: Reading, answers: Answers, names: Sequence[str], refused: html.Div) -> list:
    """Every file with what was understood and the fields that say otherwise; those with open questions first.

    refused : where files stand that were not taken
    """
    uses, read = dict(reading.beside), {file.name for file in reading.files}
    others = [f"{name}: {uses[name]}" if name in uses else name for name in names if name not in read]
    if reading.given is not None:
        note = "A drive.toml is among them: the folder is a drive already, and is taken as it is."
        return [section("The files", bullets(others), refused, aside=note)]
    order = sorted(range(len(reading.files)), key=lambda i: reading.files[i].state != UNCLEAR)
    parts = [_file(reading.files[i], i, answers) for i in order]
    parts = [*parts, *([bullets(others, className="plain soft")] if others else []), refused]
    return [_list(CHANNEL_LIST, [LEAVE_WORD, *CHANNELS]), _list(UNIT_LIST, KNOWN), section("The logs", *parts)]


def _file(file: FileSaid, index: int, answers: Answers) -> html.Article:
    said = answers.files.get(file.name, FileAnswers())
    state = look_mark(_STATES[file.state]) if file.state in _STATES else None
    take_out = html.Button(
        "Take out", id=ids.remove(file.name), className="button quiet", title=f"Take {file.name} out"
    )
    head = html.Div([html.H3(file.name), state, take_out], className="row filehead")
    fault = [error_line(file.why) if file.state == UNCLEAR else reason(file.why)] if file.why else []
    lines = [bullets(list(file.lines))] if file.lines else []
    asked = [at for at, header in enumerate(file.headers) if f"column {header}:" in (file.why or "")]
    answer = [_columns(file, index, said, asked)] if asked else []
    return html.Article([head, *fault, *answer, *lines, _asked(file, index, said, asked)], className="logfile")


def _asked(file: FileSaid, index: int, said: FileAnswers, asked: Sequence[int]) -> html.Details:
    """What else may be said of a file; open where something is asked that no one column answers."""
    places = [{"label": words.PLACES[p], "value": p} for p in PLACES]
    place = dcc.RadioItems(
        id=ids.about_file("place", index), options=places, value=said.place or file.place, className="sides"
    )
    clock = _field("Clock", ids.about_file("clock", index), said.clock, hint=_CLOCK_HINT)
    offset = _field("Clock offset", ids.about_file("offset", index), said.offset, hint=_OFFSET_HINT)
    fields = [clock, offset]
    if file.moves or said.mounting:
        fields.append(_field("Sensor axes", ids.about_file("mounting", index), said.mounting, hint=_AXES_HINT))
    parts = [html.Fieldset([html.Legend("Where the recorder sat"), place]), html.Div(fields, className="form wide")]
    parts += [_restart(index, said)] if file.restarted or said.restart else []
    parts += _grows(index, said) if file.lever else []
    others = [at for at in range(len(file.headers)) if at not in asked]
    parts += [_columns(file, index, said, others)] if others else []
    answer = (file.state == UNCLEAR and not asked) or (file.state == LEFT_OUT and file.restarted)
    return html.Details(
        [html.Summary("Answer here" if answer else "Say otherwise"), *parts],
        open=answer,
    )


def _restart(index: int, said: FileAnswers) -> html.Fieldset:
    options = [{"label": _NO_RESTART, "value": ""}, {"label": _RESTART, "value": "yes"}]
    choice = dcc.RadioItems(id=ids.about_file("restart", index), options=options, value=said.restart, className="sides")
    return html.Fieldset([html.Legend("Its clock starts anew on the way"), choice])


def _grows(index: int, said: FileAnswers) -> list:
    given = {"select": said.select_grows, "engage": said.engage_grows}
    return [
        html.Fieldset(
            [
                html.Legend(f"The numbers of {axis} grow to the"),
                dcc.RadioItems(
                    id=ids.about_file(f"{axis}_grows", index), value=given[axis], className="sides",
                    options=[{"label": w, "value": w} for w in ways] + [{"label": "not known", "value": ""}],
                ),
            ]
        )
        for axis, ways in _WAYS.items()
    ]  # fmt: skip


def _columns(file: FileSaid, index: int, said: FileAnswers, which: Sequence[int]) -> html.Div:
    """A line for each of some columns: what it holds, and its unit."""
    rows = []
    for at in which:
        header = file.headers[at]
        channel, unit = said.columns.get(header, ("", ""))
        rows.append(
            html.Div(
                [
                    html.Span(header, className="header"),
                    _choice(ids.about_column("channel", index, at), channel, CHANNEL_LIST, f"{header} holds"),
                    _choice(ids.about_column("unit", index, at), unit, UNIT_LIST, f"unit of {header}"),
                ],
                className="column",
            )
        )
    head = html.Div([html.Span("Column"), html.Span("holds"), html.Span("in")], className="column soft")
    return html.Div([head, *rows], className="columns")


def _choice(name: dict, value: str, choices: str, label: str) -> html.Label:
    field = dcc.Input(
        id=name, value=value, type="text", list=choices, className="field", placeholder="as understood",
        debounce=True, autoComplete="off",
    )  # fmt: skip
    return html.Label([html.Span(label, className="unseen"), field])


def _field(label: str, name: object, value: str, *, hint: str = "") -> html.Div:
    field = dcc.Input(id=name, value=value, type="text", className="field", placeholder=hint, debounce=True)
    return html.Div([html.Label([label, field])])


def _list(name: str, values: Sequence[str]) -> html.Datalist:
    return html.Datalist([html.Option(value=value) for value in values], id=name)
