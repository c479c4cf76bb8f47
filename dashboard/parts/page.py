"""What every page has: the bar on top, the way back, the question and its answer."""

from dash import dcc, html

from dashboard import ids, words
from dashboard.routes import (
    COMPARE,
    DRIVES,
    GUIDE,
    IMPORT,
    JOBS,
    KMH,
    MPH,
    NO_VISIT,
    OF_A_DRIVE,
    REPEATS,
    Place,
    Query,
    link,
)


def top_bar(place: Place, query: Query) -> html.Header:
    """Name, pages, units."""
    pages = [
        dcc.Link("Drives", href=link(DRIVES, Query(speed=query.speed)), className="go", id="to-drives"),
        dcc.Link("Before and after", href=link(COMPARE, _sides(query)), className="go", id="to-compare"),
        dcc.Link("Repeat drives", href=link(REPEATS, _repeats(query)), className="go", id="to-repeats"),
        dcc.Link("Guided tests", href=link(GUIDE, Query(speed=query.speed)), className="go", id="to-guide"),
        dcc.Link("Jobs", href=link(JOBS, Query(speed=query.speed)), className="go", id="to-jobs"),
        dcc.Link("Add logs", href=link(IMPORT, Query(speed=query.speed)), className="go", id="to-import"),
        dcc.Link("New car", href=link(Place(page="profile"), Query(speed=query.speed)), className="go", id="to-car"),
    ]
    units = [
        html.Button(KMH, id=ids.UNIT_KMH, className=_pressed(query.speed == KMH), **_aria(query.speed == KMH)),
        html.Button(MPH, id=ids.UNIT_MPH, className=_pressed(query.speed == MPH), **_aria(query.speed == MPH)),
    ]
    return html.Header(
        [
            dcc.Link([html.Span(className="mark"), "shiftlog"], href="/", className="name"),
            html.Nav(pages, **{"aria-label": "Pages"}),
            html.Div(units, className="units", role="group", **{"aria-label": "Unit of speed"}),
        ],
        className="bar",
    )


def _sides(query: Query) -> Query:
    return Query(speed=query.speed, before=query.before, after=query.after)


def _repeats(query: Query) -> Query:
    return Query(speed=query.speed, repeat=query.repeat)


def _pressed(on: bool) -> str:
    return "unit on" if on else "unit"


def _aria(on: bool) -> dict[str, str]:
    return {"aria-pressed": "true" if on else "false"}


def crumbs(place: Place, query: Query, *, drive_name: str | None = None, car_label: str | None = None) -> html.Nav:
    """Car › visit › drive › shift, each a link but the last."""
    keep = Query(speed=query.speed)
    steps = [("Drives", DRIVES)]
    if place.car:
        steps.append((car_label or place.car, Place(page="car", car=place.car)))
    if place.visit:
        name = words.visit(None if place.visit == NO_VISIT else place.visit)
        steps.append((name, Place(page="visit", car=place.car, visit=place.visit)))
    if place.drive:
        steps.append(
            (drive_name or place.drive, Place(page="drive", car=place.car, visit=place.visit, drive=place.drive))
        )
    if place.page in OF_A_DRIVE:
        steps.append((OF_A_DRIVE[place.page], place))
    if place.shift is not None:
        steps.append((f"shift {place.shift}", place))
    return trail(steps, keep)


def trail(steps: list[tuple[str, Place]], query: Query) -> html.Nav:
    """Names and places from the outermost in, each a link but the last."""
    shown = [html.Li(dcc.Link(text, href=link(to, query))) for text, to in steps[:-1]]
    shown.append(html.Li(steps[-1][0], **{"aria-current": "page"}))
    return html.Nav(html.Ol(shown), className="crumbs", **{"aria-label": "Where you are"})


def question(text: str, answer: list | None = None) -> html.Div:
    """The page's question, and the answer under it."""
    lines = [html.P(line, className="answer") for line in answer or []]
    return html.Div([html.H1(text), *lines], className="question")


def section(title: str, *children: object, id: str | None = None, aside: str | None = None) -> html.Section:
    """A part of a page under its own heading."""
    head = [html.H2(title)] + ([html.P(aside, className="aside")] if aside else [])
    extra = {"id": id} if id else {}
    return html.Section([*head, *children], className="card", **extra)
