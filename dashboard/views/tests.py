"""What did the guided tests say? Every marked test of a drive, beside earlier ones of the same car."""

from dataclasses import replace

import dash
from dash import dcc, html

from dashboard import words
from dashboard.library import Library
from dashboard.parts.guided_result import Earlier, result_section
from dashboard.parts.mark_form import title
from dashboard.parts.notes import bullets, empty
from dashboard.parts.page import crumbs, question, section
from dashboard.parts.working import working
from dashboard.routes import CABLES, GUIDE, MARKS, WHERE, Place, Query, link
from shiftlog.guided.cards.shared import BASIS
from shiftlog.guided.set_up import set_up_of
from shiftlog.model.guided import GuidedResult
from shiftlog.model.result import DriveResult

QUESTION = "What did the guided tests say?"
MOST_EARLIER = 3
"""More columns than this no longer stand side by side; the newest stay."""


def layout(place: Place, query: Query, library: Library) -> html.Div:
    """Each test with its answer first; what was marked and has no figures of its own."""
    said = library.work.said().get(place.drive)
    entry, result = library.entry(place.drive), library.result(place.drive)
    top = crumbs(place, query, drive_name=entry.name)
    tick = working({place.drive: said} if said else {}, {place.drive: "This drive"}, title="Being measured", only=True)
    if result is None:
        return html.Div([top, question(QUESTION), tick, _unmeasured(place, query)])
    if not result.guided and not result.tests:
        return html.Div([top, question(QUESTION), tick, _nothing(place, query)])
    parts = [
        result_section(one, earlier_results(library, place.drive, one), query, alone=len(result.guided) == 1)
        for one in result.guided
    ]  # fmt: skip
    return html.Div(
        [top, question(QUESTION, answer(result)), tick, _ways(place, query), *parts, _without(result, place, query)]
    )


def answer(result: DriveResult) -> list[str]:
    """The first sentence of each test, and what all of it rests on."""
    first = [f"{title(one.kind)}: {one.says[0]}" for one in result.guided if one.says]
    return [*first, BASIS]


def earlier_results(library: Library, drive_id: str, one: GuidedResult) -> tuple[Earlier, ...]:
    """The same test, set up alike, of drives of the same car that were added before; the newest last."""
    entries = library.drives()
    here = next(entry for entry in entries if entry.id == drive_id)
    wanted = set_up_of(one.configuration)
    found = []
    for entry in entries[: entries.index(here)]:
        result = library.result(entry.id) if entry.car == here.car and entry.measured else None
        alike = (
            [r for r in result.guided if r.kind == one.kind and set_up_of(r.configuration) == wanted] if result else []
        )
        found += [Earlier(name=f"{entry.name}, {words.visit(entry.stage)}", result=r) for r in alike]
    return tuple(found[-MOST_EARLIER:])


def _unmeasured(place: Place, query: Query) -> html.Section:
    to = dcc.Link("To the drive", href=link(replace(place, page="drive"), query), className="button")
    return empty("This drive is not measured yet", html.P("Its own page says why, or measures it."), to)


def _ways(place: Place, query: Query) -> html.Div:
    ways = ((MARKS, "Marked spans"), (WHERE, "Adjust, replace outside, or open?"))
    links = [
        dcc.Link(text, href=link(replace(place, page=page), query), className="button quiet") for page, text in ways
    ]  # fmt: skip
    return html.Div(links, className="row steps")


def _nothing(place: Place, query: Query) -> html.Section:
    return empty(
        "No test is marked in this drive",
        html.P("Do one by its card or its prompts, then mark when it was."),
        html.Div(
            [
                dcc.Link("Mark a test", href=link(replace(place, page=MARKS), query), className="button"),
                dcc.Link("Cards and prompts", href=link(GUIDE, Query(speed=query.speed)), className="button quiet"),
            ],
            className="row",
        ),
    )


def _without(result: DriveResult, place: Place, query: Query) -> html.Section | None:
    """Marks that have no result here: what becomes of them."""
    measured = {(one.kind, one.start_s) for one in result.guided}
    rest = [test for test in result.tests if (test.kind, test.start_s) not in measured or test.kind == "clearance"]
    if not rest:
        return None
    lines = []
    for test in rest:
        at = f"{title(test.kind)}, {words.clock(test.start_s)} to {words.clock(test.end_s)}: "
        if test.kind == "clearance":
            to = dcc.Link("on the page of the cables", href=link(replace(place, page=CABLES), query))
            lines.append(html.Span([at, "what the cables need stands ", to, "."]))
        else:
            lines.append(at + "marked; this version makes no figures of its own from it.")
    return section("Also marked", bullets(lines))


def register(app: dash.Dash, library: Library) -> None:
    """Nothing on this page moves but the work, which another page's callback follows."""
