"""A test's card on a page: to be read, and to be printed."""

from dash import html

from dashboard.parts.notes import bullets, caution
from dashboard.parts.page import section
from shiftlog.guided.cards.shared import BASIS
from shiftlog.guided.cards.text import seconds_text, times, where_and_long
from shiftlog.model.guided import Card


def card_article(card: Card, *, alone: bool) -> html.Article:
    """The whole card, cautions first. alone : whether the page asks its question already"""
    parts = [
        _list("What must be fitted", card.needs),
        _list("Before", card.before),
        html.H3(f"Steps, {times(card.repeats)}"),
        html.Ol([_step(step) for step in card.steps], className="plain"),
        _configurations(card),
        _list("What spoils it or looks alike", card.bad_cases),
    ]
    cautions = [caution(text) for text in card.cautions if text != BASIS]
    asked = [] if alone else [html.P(card.question)]
    basis = html.P(BASIS, className="soft after") if BASIS in card.cautions else None
    body = section(card.title, *asked, *cautions, *parts, basis, aside=where_and_long(card))
    return html.Article(body, className="testcard")


def _step(step) -> html.Li:
    length = html.Span(f" ({seconds_text(step)}) ", className="soft")
    return html.Li([html.Strong(step.say), length, step.do])


def _configurations(card: Card) -> html.Div | None:
    if not card.configurations:
        return None
    return html.Div([html.H3("Mark each span as one of"), html.P("; ".join(card.configurations))])


def _list(title: str, lines: tuple[str, ...]) -> html.Div | None:
    return html.Div([html.H3(title), bullets(list(lines))]) if lines else None
