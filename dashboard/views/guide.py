"""The guided tests: what each answers; the card of one with its prompts."""

import dash
from dash import dcc, html

from dashboard.library import Library
from dashboard.parts.guide_card import card_article
from dashboard.parts.page import question, section, trail
from dashboard.parts.prompts import prompts
from dashboard.routes import GUIDE, Place, Query, link
from shiftlog.guided.cards.known import CARDS, SEQUENCES, Sequence
from shiftlog.guided.cards.shared import BASIS
from shiftlog.guided.cards.text import minutes
from shiftlog.model.guided import Card


def find_cards(kind: str) -> tuple[Card, ...] | None:
    """The cards of a kind of test, or of a sequence of them; None where there is none of that name."""
    if kind in SEQUENCES:
        return SEQUENCES[kind].cards
    return (CARDS[kind],) if kind in CARDS else None


def layout(place: Place, query: Query, library: Library) -> html.Div:
    """All tests, or one of them."""
    return _all(query) if place.kind is None else _one(place, query)


def _all(query: Query) -> html.Div:
    standing = [card for card in CARDS.values() if not card.on_road]
    driven = [card for card in CARDS.values() if card.on_road]
    checks = [_entry(one.name, one.title, one.question, _long(one), (), query) for one in SEQUENCES.values()]
    answer = ["Each test has a card, prompts, and a result with its uncertainty. Cheapest first.", BASIS]
    return html.Div(
        [
            trail([("Guided tests", GUIDE)], query),
            question("Which test rules out what?", answer),
            section("In one go, or another way", html.Div(checks, className="testentries")),
            section("At standstill", _entries(standing, query)),
            section("On the road", _entries(driven, query),
                    aside="A passenger gives the prompts, or nobody does."),
        ]
    )  # fmt: skip


def _long(one: Sequence) -> str:
    names = f": {'; '.join(card.title.lower() for card in one.cards)}" if len(one.cards) > 1 else ""
    return f"About {minutes(one.minutes)}{names}."


def _entries(cards: list[Card], query: Query) -> html.Div:
    return html.Div([_card_entry(card, query) for card in cards], className="testentries")


def _card_entry(card: Card, query: Query) -> html.Article:
    return _entry(card.kind, card.title, card.question, f"About {minutes(card.minutes)}.", card.needs, query)


def _entry(
    kind: str, title: str, asked: str, long: str, needs: tuple[str, ...], query: Query
) -> html.Article:  # fmt: skip
    href = link(Place(page="guide", kind=kind), Query(speed=query.speed))
    fitted = f" Needs {'; '.join(needs)}." if needs else ""
    return html.Article(
        [dcc.Link(title, href=href, className="title"), html.P(asked), html.P(long + fitted, className="soft")],
        className="testentry",
    )


def _one(place: Place, query: Query) -> html.Div:
    cards = find_cards(place.kind)
    named = SEQUENCES.get(place.kind) or cards[0]
    articles = html.Div([card_article(card, alone=len(cards) == 1) for card in cards])
    ways = [
        html.A("To the prompts", href="#prompts-section", className="button"),
        html.Button("Print", id="guide-print", className="button quiet"),
    ]
    return html.Div(
        [
            trail([("Guided tests", GUIDE), (named.title, place)], query),
            question(named.question, [f"{named.title}, about {minutes(named.minutes)}."]),
            html.Div(ways, className="row steps"),
            html.Div([articles, prompts(cards)], className="two guide"),
        ]
    )  # fmt: skip


def register(app: dash.Dash, library: Library) -> None:
    """Prompts run in the browser alone."""
