"""A drive's lever and speed with its marked tests as bands, to drag a new one over."""

from collections.abc import Sequence
from dataclasses import replace

import plotly.graph_objects as go

from dashboard.figures.traces import band, draw_traces
from dashboard.signals import Window
from dashboard.theme import TEXT_PX, Palette
from shiftlog.guided.cards.known import CARDS
from shiftlog.model.drive import MarkedTest

SHOWN = ("select", "engage", "speed")
MOST_LINES = 4
ROWS = (0.88, 0.5, 0.12)
TURNS = 0.6
"""Beyond this share of the window a name might run over its right edge."""


def draw_marks(window: Window, colours: Palette, *, marks: Sequence[MarkedTest], speed_unit: str) -> go.Figure:
    """The lever's lines, else the first there are; a drag across chooses a span of time."""
    lines = tuple(line for line in window.lines if line.key in SHOWN) or window.lines[:MOST_LINES]
    figure = draw_traces(
        replace(window, lines=lines), colours, shifts=(), rejected=(), speed_unit=speed_unit
    )  # fmt: skip
    seen = [mark for mark in marks if mark.end_s > window.start_s and mark.start_s < window.end_s]
    for mark in seen:
        band(figure, (mark.start_s, mark.end_s), colours.soft, share=0.2)
    figure.add_trace(_labels(seen, window, colours))
    figure.update_layout(
        dragmode="select",
        selectdirection="h",
        newselection={"line": {"color": colours.ink, "width": 2, "dash": "solid"}},
        activeselection={"fillcolor": colours.soft, "opacity": 0.3},
    )
    return figure


def _labels(marks: Sequence[MarkedTest], window: Window, colours: Palette) -> go.Scatter:
    """Names over the bands, in three rows by turns; near the right edge they end with their band."""
    turn_s = window.start_s + TURNS * (window.end_s - window.start_s)
    late = [mark.start_s > turn_s for mark in marks]
    return go.Scatter(
        x=[
            min(m.end_s, window.end_s) if right else max(m.start_s, window.start_s)
            for m, right in zip(marks, late, strict=True)
        ],
        y=[ROWS[i % len(ROWS)] for i in range(len(marks))],
        mode="text",
        text=[f" {CARDS[mark.kind].title if mark.kind in CARDS else mark.kind} " for mark in marks],
        textposition=["middle left" if right else "middle right" for right in late],
        textfont={"color": colours.ink, "size": TEXT_PX},
        hoverinfo="skip",
        name="marks",
    )
