"""One guided test's result: what it says, its figures beside earlier ones, what may be wrong, and its cautions."""

from collections.abc import Sequence
from dataclasses import dataclass

from dash import dcc, html

from dashboard import words
from dashboard.parts.mark_form import title
from dashboard.parts.notes import bullets, caution
from dashboard.parts.page import section
from dashboard.parts.table import TableRow, table
from dashboard.routes import Place, Query, link
from shiftlog.guided.cards.known import CARDS, SEQUENCES, card_of
from shiftlog.guided.cards.shared import BASIS
from shiftlog.model.guided import Figure, GuidedResult
from shiftlog.model.share import Share
from shiftlog.model.sign import PLACES


@dataclass(frozen=True, eq=False, kw_only=True)
class Earlier:
    """The same test of an earlier drive. name : the drive and its visit"""

    name: str
    result: GuidedResult


def result_section(one: GuidedResult, earlier: Sequence[Earlier], query: Query, *, alone: bool) -> html.Section:
    """The whole result of one marked test. alone : whether its answer stands at the top of the page already"""
    set_up = f", {one.configuration}" if one.configuration else ""
    parts = [
        html.Div([html.P(text) for text in one.says[1 if alone else 0 :]]),
        _points(one),
        _figures(one, earlier),
        _doubts(one),
        *_cautions(one, query),
    ]
    when = f"{words.clock(one.start_s)} to {words.clock(one.end_s)} of drive time{set_up}."
    return section(title(one.kind), *parts, id=f"test-{one.kind}-{one.start_s:.0f}", aside=when)


def _points(one: GuidedResult) -> html.P | None:
    if not one.points_to:
        return None
    told = [f"{PLACES.get(to, to)} ({sentence.rstrip('.')})" for to, sentence in dict.fromkeys(one.points_to)]
    return html.P(f"This points at {words.sentence_list(told)}.")


def _figures(one: GuidedResult, earlier: Sequence[Earlier]) -> html.Div | None:
    if not one.figures:
        return None
    heads = ["Figure", "This test", "95 %", *(e.name for e in earlier)]
    rows = [_row(figure, earlier) for figure in one.figures]
    beside = " beside the same test of earlier drives" if earlier else "; no earlier test of this car is set up alike"
    return html.Div(table(heads, rows, caption=f"Figures{beside}"), className="tested")


def _row(figure: Figure, earlier: Sequence[Earlier]) -> TableRow:
    name = ", ".join(part for part in (figure.label[:1].upper() + figure.label[1:], figure.of) if part)
    before = [shown(e.result.figure(figure.key, figure.of)) for e in earlier]
    if figure.why is not None:
        return TableRow(cells=[name, html.Td(figure.why, colSpan=2, className="why"), *before], muted=True)
    return TableRow(cells=[name, shown(figure), interval(figure), *before])


def shown(figure: Figure | None) -> str:
    """A figure as short as it can be told: its value, or k of n; a dash where there is none."""
    if figure is None or figure.why is not None:
        return words.NOTHING
    return f"{figure.share.k} of {figure.share.n}" if figure.share else words.figure(figure.value, figure.unit)


def interval(figure: Figure) -> str:
    """What is known of its error."""
    if figure.share is not None:
        return _share_range(figure.share)
    if figure.interval95 is not None:
        low, high = (words.figure(end, figure.unit) for end in figure.interval95)
        return f"{low.removesuffix(figure.unit).rstrip(words.THIN)} to {high}"
    if figure.uncertainty is not None:
        return f"± {words.number(figure.uncertainty, digits=2)}{words.THIN}{figure.unit} (k = 1)"
    return words.NOTHING


def _share_range(share: Share) -> str:
    return f"{share.low * 100:.0f} to {words.percent(share.high)}"


def _doubts(one: GuidedResult) -> html.Div | None:
    return (
        html.Div([html.H3("What may be wrong"), bullets(list(one.doubts))], className="after") if one.doubts else None
    )


def _cautions(one: GuidedResult, query: Query) -> list:
    card = card_of(one.kind, one.configuration)
    if card is None:
        return []
    kind = next((name for name, way in SEQUENCES.items() if card not in CARDS.values() and card in way.cards), one.kind)
    to = dcc.Link("Its card and what looks alike", href=link(Place(page="guide", kind=kind), Query(speed=query.speed)))
    return [*(caution(text) for text in card.cautions if text != BASIS), html.P(to)]
