"""The record of a job as a form: one section a group, each field by its kind; and as it was, to read only."""

from collections.abc import Sequence
from itertools import groupby

from dash import dcc, html

from dashboard import ids
from dashboard.parts.page import section
from shiftlog.model.job import COMPLAINT, FIELDS, GROUPS, PHOTO_OF, Field, Job, JobVersion, Photo
from shiftlog.report.cold_words import say_hint, suggest_temperature

SPARE_ROWS = 2
"""Empty rows at the end of each table; saving brings more."""
SHORT = ("text", "number", "shifts", "date")
NOT_SAID = "not said"


def form_sections(version: JobVersion, drives: Sequence[tuple[str, str]], cars: Sequence[str]) -> list[html.Section]:
    """One section a group. drives : (id, name) of the car's drives; cars : names in the workshop"""
    return [_group(group, version.job, drives, cars) for group in GROUPS]


def _group(group: str, job: Job, drives: Sequence[tuple[str, str]], cars: Sequence[str]) -> html.Section:
    """The group's fields in their order; short ones that follow each other stand side by side."""
    parts: list = []
    for is_short, run in groupby((f for f in FIELDS if f.group == group), key=lambda f: f.kind in SHORT):
        fields = list(run)
        if is_short:
            parts += [_cars(job, cars)] if fields[0].key == "car" else []
            parts.append(html.Div([_short(f, job) for f in fields if f.key != "car"], className="form roomy"))
        else:
            parts += [_wide(f, job, drives) for f in fields]
    return section(group, *parts, *(_hint(job) if group == COMPLAINT else []))


def _hint(job: Job) -> list[html.P]:
    """What the client's words suggest of cold and hot, where nobody has chosen yet."""
    hint = None if job.temperature else suggest_temperature(job.complaint)
    return [html.P(say_hint(hint), className="reason")] if hint else []


def _wide(field: Field, job: Job, drives: Sequence[tuple[str, str]]) -> html.Div | html.Fieldset:
    if field.kind == "long":
        return _long(field, job)
    return _table(field, job) if field.kind == "table" else _choice(field, job, drives)


def _cars(job: Job, cars: Sequence[str]) -> html.Fieldset:
    options = [{"label": name, "value": name} for name in dict.fromkeys([*cars, job.car])]
    radio = dcc.RadioItems(id=ids.job_field("car"), options=options, value=job.car, className="sides")
    return html.Fieldset([html.Legend("Car"), radio])


def _label(field: Field) -> str:
    aside = ", ".join(part for part in (field.unit, field.hint) if part)
    return f"{field.label} ({aside})" if aside else field.label


def text_of(field: Field, value: object) -> str:
    """A field's value as it is typed."""
    if value is None:
        return ""
    if isinstance(value, tuple):
        return ", ".join(value)
    return f"{value:.12g}" if isinstance(value, float) else str(value)


def _short(field: Field, job: Job) -> html.Div:
    mode = "decimal" if field.kind == "number" else "text"
    value = text_of(field, getattr(job, field.key))
    typed = dcc.Input(id=ids.job_field(field.key), value=value, type="text", inputMode=mode, className="field")
    return html.Div(html.Label([_label(field), typed]))


def _long(field: Field, job: Job) -> html.Div:
    area = dcc.Textarea(id=ids.job_field(field.key), value=getattr(job, field.key), className="field", rows=3)
    return html.Div(html.Label([_label(field), area]), className="longfield")


def _choice(field: Field, job: Job, drives: Sequence[tuple[str, str]]) -> html.Fieldset:
    value = getattr(job, field.key)
    if field.kind == "choice":
        options = [{"label": NOT_SAID, "value": ""}, *({"label": one, "value": one} for one in field.choices)]
        radio = dcc.RadioItems(id=ids.job_field(field.key), options=options, value=value, className="sides")
        return html.Fieldset([html.Legend(field.label), radio])
    pairs = drives if field.kind == "drives" else [(one, one) for one in field.choices]
    gone = [(one, f"{one}, gone") for one in value if one not in dict(pairs)]
    options = [{"label": name, "value": one} for one, name in [*pairs, *gone]]
    boxes = dcc.Checklist(id=ids.job_field(field.key), options=options, value=list(value), className="sides")
    none = html.P("No drive of this car is in the workshop yet.", className="soft") if not options else None
    return html.Fieldset([html.Legend(field.label), boxes, none])


def _table(field: Field, job: Job) -> html.Div:
    rows = [[text_of(field, getattr(row, name)) for name, _ in field.columns] for row in getattr(job, field.key)]
    rows += [[""] * len(field.columns)] * SPARE_ROWS
    head = html.Thead(html.Tr([html.Th(label, scope="col") for _, label in field.columns]))
    body = [html.Tr([html.Td(_cell(field, i, j, value)) for j, value in enumerate(row)]) for i, row in enumerate(rows)]
    return html.Div(html.Table([html.Caption(field.label), head, html.Tbody(body)], className="typed"))


def _cell(field: Field, row: int, column: int, value: str) -> html.Label:
    name = f"{field.label}, {field.columns[column][1]}, row {row + 1}"
    typed = dcc.Input(id=ids.job_cell(field.key, row, column), value=value, type="text", className="field")
    return html.Label([html.Span(name, className="unseen"), typed])


def photo_section(version: JobVersion) -> html.Section:
    """The photos there are, and the button for another."""
    shown = [
        html.Figure(
            [html.Img(src=f"/made/photo/{p.sha256}.jpg", alt=p.caption or p.of), html.Figcaption(photo_words(p))]
        )
        for p in version.job.photos
    ]
    of = dcc.RadioItems(
        id=ids.JOB_PHOTO_OF, options=[{"label": one, "value": one} for one in PHOTO_OF], value="plug", className="sides"
    )
    caption = dcc.Input(id=ids.JOB_PHOTO_CAPTION, type="text", className="field", value="")
    button = html.Button(
        "Add a photo", id="job-photo-choose", className="button quiet", **{"data-job": str(version.id)}
    )
    return section(
        "Photos",
        html.Div([*shown, html.Div(id="job-photos-new", className="photos")], className="photos"),
        html.Fieldset([html.Legend("The next photo shows"), of]),
        html.Div(html.Label(["What to see in it", caption]), className="longfield"),
        html.Div([button, html.Span(id="job-photo-said", role="status")], className="row"),
        aside="JPEG, PNG, WebP or TIFF, at most 25 MB and 50 MP. It is kept without place, time and maker. "
        "See that no plate is in the picture.",
    )


def photo_words(photo: Photo) -> str:
    """What a photo shows, and what to see in it."""
    return f"{photo.of}: {photo.caption}" if photo.caption else photo.of


def as_it_was(version: JobVersion, drives: Sequence[tuple[str, str]]) -> list[html.Section]:
    """An earlier version, to read only."""
    sections = []
    for group in GROUPS:
        pairs = [(f.label, _read(f, getattr(version.job, f.key), dict(drives))) for f in FIELDS if f.group == group]
        told = [html.Div([html.Dt(label), html.Dd(text)]) for label, text in pairs if text]
        if told:
            sections.append(section(group, html.Dl(told, className="record")))
    return sections


def _read(field: Field, value: object, drives: dict[str, str]) -> str:
    if field.kind == "drives":
        return ", ".join(drives.get(one, f"{one}, gone") for one in value)
    if field.kind == "table":
        return "\n".join(", ".join(text_of(field, getattr(r, name)) for name, _ in field.columns) for r in value)
    text = text_of(field, value)
    return f"{text} {field.unit}".strip() if text else ""
