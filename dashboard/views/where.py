"""Adjust, replace outside, or open? What was measured, laid beside the rules of the trade."""

import dash
from dash import dcc, html

from dashboard.library import Library
from dashboard.parts.notes import caution, empty
from dashboard.parts.page import crumbs, question, section
from dashboard.parts.table import TableRow, table
from dashboard.routes import Place, Query, link
from dashboard.visits import read_case
from shiftlog.findings.signs import CAUTION, find_signs
from shiftlog.model.sign import AGAINST, FOR, PLACES, UNKNOWN, Sign

QUESTION = "Adjust, replace outside, or open?"
HEADS = {FOR: "What speaks for it", AGAINST: "Measured, and does not", UNKNOWN: "Not known yet"}


def layout(place: Place, query: Query, library: Library) -> html.Div:
    """The rules that speak for something first, each with its evidence, what looks alike, and the next test."""
    entry, result = library.entry(place.drive), library.result(place.drive)
    top = crumbs(place, query, drive_name=entry.name if entry else None)
    if result is None:
        return html.Div([top, question(QUESTION), empty("This drive has not been measured yet.")])
    signs = find_signs(read_case(library, place.drive, result))
    parts = [_part(state, [sign for sign in signs if sign.state == state], query) for state in HEADS]
    return html.Div([top, question(QUESTION, answer(signs)), caution(CAUTION), *parts], id="rules")


def answer(signs: tuple[Sign, ...]) -> list[str]:
    """What speaks for which of the three, of how many rules that could be held against this visit."""
    held = [sign for sign in signs if sign.state != UNKNOWN]
    speaking = {to: sum(s.state == FOR and s.points_to == to for s in held) for to in PLACES}
    said = [f"{n} {'speaks' if n == 1 else 'speak'} for {PLACES[to]}" for to, n in speaking.items() if n]
    none = f"None of {len(held)} rules speaks for any of the three." if held else "No rule could be held yet."
    first = f"Of {len(held)} rules {', '.join(said)}." if said else none
    waiting = len(signs) - len(held)
    return [first, f"{waiting} more could not be held against this visit: see what they lack."] if waiting else [first]


def _part(state: str, signs: list[Sign], query: Query) -> html.Section | None:
    if not signs:
        return None
    heads = ["Points to", "Rule", "What is missing" if state == UNKNOWN else "Evidence", "Would look alike",
             "Cheapest next test"]  # fmt: skip
    body = table(heads, [_row(sign, query) for sign in signs], caption="Rules of common practice")
    return section(HEADS[state], body)


def _row(sign: Sign, query: Query) -> TableRow:
    evidence = _to_card(sign, query) if sign.undone else sign.evidence
    return TableRow(cells=[PLACES[sign.points_to], sign.rule, evidence, sign.also_looks_like, sign.next_test])


def _to_card(sign: Sign, query: Query) -> html.Span:
    """What was not done, with the way to its card and prompts."""
    card = Place(page="guide", kind=sign.undone)
    return html.Span([f"{sign.evidence}: ", dcc.Link("how to do it", href=link(card, Query(speed=query.speed)))])


def register(app: dash.Dash, library: Library) -> None:
    """Nothing on this page moves."""
