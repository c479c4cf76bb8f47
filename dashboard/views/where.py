"""Adjust, replace outside, or open? What was measured, laid beside the rules of the trade."""

import dash
from dash import html

from dashboard.library import Library
from dashboard.parts.notes import caution, empty
from dashboard.parts.page import crumbs, question, section
from dashboard.parts.table import TableRow, look_mark, table
from dashboard.routes import Place, Query
from dashboard.visits import read_case
from shiftlog.findings.signs import CAUTION, find_signs
from shiftlog.model.sign import FOR, PLACES, UNKNOWN, Sign

QUESTION = "Adjust, replace outside, or open?"
STATES = {"for": "speaks for it", "against": "does not", "not known": "not known"}


def layout(place: Place, query: Query, library: Library) -> html.Div:
    """The rules that speak for something first, each with its evidence, what looks alike, and the next test."""
    entry, result = library.entry(place.drive), library.result(place.drive)
    top = crumbs(place, query, drive_name=entry.name if entry else None)
    if result is None:
        return html.Div([top, question(QUESTION), empty("This drive has not been measured yet.")])
    signs = find_signs(read_case(library, place.drive, result))
    heads = ["Points to", "Rule", "This visit", "Evidence", "Would look alike", "Cheapest next test"]
    body = table(heads, [_row(sign) for sign in signs], caption="Rules of common practice")
    return html.Div(
        [top, question(QUESTION, answer(signs)), section("Rule by rule", caution(CAUTION), body, id="rules")]
    )


def answer(signs: tuple[Sign, ...]) -> list[str]:
    """What speaks for which of the three, in two sentences."""
    speaking = {to: sum(s.state == FOR and s.points_to == to for s in signs) for to in PLACES}
    unknown = sum(s.state == UNKNOWN for s in signs)
    said = [f"{n} {'speaks' if n == 1 else 'speak'} for {PLACES[to]}" for to, n in speaking.items() if n]
    first = f"Of {len(signs)} rows {', '.join(said)}." if said else "No rule speaks for any of the three."
    return [first, f"{unknown} could not be held against this visit: see what they lack."] if unknown else [first]


def _row(sign: Sign) -> TableRow:
    state = STATES[sign.state]
    cells = [
        PLACES[sign.points_to], sign.rule, look_mark(state) if sign.state == FOR else state, sign.evidence,
        sign.also_looks_like, sign.next_test,
    ]  # fmt: skip
    return TableRow(cells=cells)


def register(app: dash.Dash, library: Library) -> None:
    """Nothing on this page moves."""
