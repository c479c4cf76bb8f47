"""Drives as cards, by car and visit, each with its gate and the choice of before or after."""

from itertools import groupby

from dash import dcc, html

from dashboard import ids, words
from dashboard.figures.thumbnail import data_url, draw_thumbnail
from dashboard.library import DriveEntry, Library
from dashboard.routes import NO_VISIT, Place, Query, link
from shiftlog.model.result import DriveResult

SIDES = ("before", "after")


def drive_cards(library: Library, entries: list[DriveEntry], query: Query) -> list:
    """Cars in the order of their first drive, their visits in the order of theirs."""
    shown = []
    for car, of_car in _grouped(entries, lambda entry: entry.car):
        shown.append(html.H2(dcc.Link(car, href=link(Place(page="car", car=car), _keep(query))), className="car"))
        for stage, of_visit in _grouped(of_car, lambda entry: entry.stage or NO_VISIT):
            place = Place(page="visit", car=car, visit=stage)
            name = words.visit(None if stage == NO_VISIT else stage)
            title = html.H3(
                [dcc.Link(name, href=link(place, _keep(query))), f" · {words.count(len(of_visit), 'drive')}"]
            )
            cards = [_card(library, entry, query) for entry in of_visit]
            shown.append(html.Div([title, html.Div(cards, className="cards")], className="visit"))
    return shown


def _grouped(entries: list[DriveEntry], key) -> list[tuple[str, list[DriveEntry]]]:
    order = list(dict.fromkeys(key(entry) for entry in entries))
    ranked = sorted(entries, key=lambda entry: order.index(key(entry)))
    return [(name, list(some)) for name, some in groupby(ranked, key=key)]


def _keep(query: Query) -> Query:
    return Query(speed=query.speed)


def drive_place(entry: DriveEntry) -> Place:
    """Where a drive's page lies."""
    return Place(page="drive", car=entry.car, visit=entry.stage or NO_VISIT, drive=entry.id)


def is_stale(library: Library, entry: DriveEntry) -> bool:
    """Whether a drive was measured, but has to be again: another version wrote what nobody can read now."""
    return entry.measured and library.result(entry.id) is None


def _card(library: Library, entry: DriveEntry, query: Query) -> html.Article:
    result = library.result(entry.id) if entry.measured else None
    href = link(drive_place(entry), _keep(query))
    about = " · ".join(part for part in (_when(entry), f"driver {entry.driver}" if entry.driver else None) if part)
    return html.Article(
        [
            dcc.Link(_picture(result), href=href, className="picture", title=f"Open {entry.name}"),
            html.Div(
                [
                    dcc.Link(entry.name, href=href, className="title"),
                    html.P(about or "no date given", className="soft"),
                    html.P(_facts(library, entry, result)),
                ]
            ),
            _side_choice(entry, query) if result is not None else None,
        ],
        className="drive",
    )


def _picture(result: DriveResult | None) -> object:
    if result is None or result.gate is None:
        return html.Div("no gate", className="nogate")
    rests = tuple(r for r in result.rests if r.released and not r.in_bend)
    return html.Img(src=data_url(draw_thumbnail(result.gate.layout, rests)), alt="gate with the lever's rests")


def _when(entry: DriveEntry) -> str | None:
    return entry.started.replace("T", " ")[:16] if entry.started else None


def _facts(library: Library, entry: DriveEntry, result: DriveResult | None) -> str:
    if result is None:
        waits = "to be measured again" if is_stale(library, entry) else "not measured yet"
        return library.work.said().get(entry.id) or library.work.failed(entry.id) or waits
    by_lever = sum(s.seen_by == "lever" for s in result.shifts)
    in_drive = len(result.shifts) - by_lever
    parts = [words.count(by_lever, "shift")] if by_lever or not in_drive else []
    parts += [f"{words.count(in_drive, 'change')} of gear, no lever sensor"] if in_drive else []
    share = result.summary.wrong_plane
    if share is not None and share.n:
        parts.append(f"{share.k} of {share.n} rests out of the home plane")
    return ", ".join(parts)


def _side_choice(entry: DriveEntry, query: Query) -> html.Fieldset:
    chosen = _side(entry, query)
    options = [{"label": "neither", "value": ""}] + [{"label": side, "value": side} for side in SIDES]
    radio = dcc.RadioItems(options=options, value=chosen, id=ids.side(entry.id), inline=True, className="sides")
    return html.Fieldset([html.Legend("Compare as", className="soft"), radio])


def _side(entry: DriveEntry, query: Query) -> str:
    if query.before or query.after:
        return "before" if entry.id in query.before else "after" if entry.id in query.after else ""
    return entry.stage if entry.stage in SIDES else ""
