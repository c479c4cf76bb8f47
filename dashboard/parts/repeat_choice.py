"""The choice of repeat drives: by car, and within it by stage and driver."""

from dash import dcc, html

from dashboard import ids, words
from dashboard.library import DriveEntry
from dashboard.parts.page import section
from dashboard.routes import REPEATS, Query, link
from dashboard.setups import UNNAMED, by_cell

_WHAT = (
    "Drives of one stage and driver count as repeats: nothing on the car was changed between them. Leave out those "
    "between which something was."
)


def repeat_choice(cars: dict[str, list[DriveEntry]], car: str, chosen: tuple[str, ...], query: Query) -> html.Section:
    """Every measured drive of a car to tick, gathered as a study takes them; other cars by a link."""
    groups = [
        _group(number, cell, some, chosen) for number, (cell, some) in enumerate(by_cell(cars[car]).items())
    ]  # fmt: skip
    button = html.Button("What do these show?", id=ids.REPEAT_GO, className="button")
    return section(
        "Drives with nothing changed", _cars(cars, car, query), html.Div(groups, className="can"),
        html.Div([button, html.Div(id=ids.REPEAT_ANSWER)], className="row"), aside=_WHAT,
    )  # fmt: skip


def _cars(cars: dict[str, list[DriveEntry]], car: str, query: Query) -> html.Nav | None:
    if len(cars) < 2:
        return None
    tabs = []
    for name, entries in cars.items():
        to = link(REPEATS, Query(speed=query.speed, repeat=tuple(entry.id for entry in entries)))
        on = {"aria-current": "true", "className": "on"} if name == car else {}
        tabs.append(html.Span(dcc.Link(name, href=to, className="go"), **on))
    return html.Nav(tabs, className="tabs", **{"aria-label": "Cars"})


def _group(number: int, cell: tuple[str, str], entries: list[DriveEntry], chosen: tuple[str, ...]) -> html.Fieldset:
    stage, driver = cell
    who = "driver not named" if driver == UNNAMED else f"driver {driver}"
    name = f"{words.visit(None if stage == UNNAMED else stage)}, {who}"
    ticks = dcc.Checklist(
        id=ids.repeat_group(number), className="ticks", value=[e.id for e in entries if e.id in chosen],
        options=[{"label": entry.name, "value": entry.id} for entry in entries],
    )  # fmt: skip
    return html.Fieldset([html.Legend([html.B(name), f" · {words.count(len(entries), 'drive')}"]), ticks])
