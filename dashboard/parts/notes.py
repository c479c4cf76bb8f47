"""Cautions, reasons, and what to do where there is nothing to show."""

from dash import html

ROAD = (
    "Before a road test: nobody operates the logger while driving. Start it standing, or let a second person do it. "
    "Keep to traffic law."
)
OVER_REV = "Over-revving destroys engines. This table says what would happen; never try it out."
CERTIFICATE = "A figure here is no certificate of roadworthiness. Repairs and road tests are for trained people."


def caution(text: str) -> html.P:
    """A caution where the action is."""
    return html.P([html.Span("!", className="sign", **{"aria-hidden": "true"}), text], className="caution", role="note")


def reason(text: str) -> html.P:
    """Why something is not there."""
    return html.P(text, className="reason")


def empty(title: str, *children: object) -> html.Section:
    """An empty or broken state: what is so, and what to do next."""
    return html.Section([html.H2(title), *children], className="card empty")


def error_line(text: str) -> html.P:
    """One line that says what went wrong and what would be right."""
    return html.P(text, className="error", role="alert")


def command(text: str) -> html.Pre:
    """A command to type."""
    return html.Pre(html.Code(text), className="command")


def bullets(items: list, *, className: str = "plain") -> html.Ul:
    """A list of lines."""
    return html.Ul([html.Li(item) for item in items], className=className)
