"""The smallest change a setup can show, against the change that matters, one line for each measure."""

from math import log10

import plotly.graph_objects as go

from dashboard import words
from dashboard.figures.frame import axis, empty_figure, say
from dashboard.setups import say_size
from dashboard.theme import Palette
from shiftlog.model.repeatability import Repeatability

ROW_PX = 62
TICKS = (0.01, 0.03, 0.1, 0.3, 1, 3, 10, 30, 100)


def draw_smallest(rows: tuple[Repeatability, ...], colours: Palette) -> go.Figure:
    """Left of the rule a change that matters is seen; right of it, it is not. Shape and words say the same.

    The scale is logarithmic: how many times the change that matters.
    """
    known = [row for row in rows if row.smallest_change and row.margin]
    if not known:
        return say(colours, "No measure has both a spread and a change that matters.")
    figure = empty_figure(colours, height_px=70 + ROW_PX * len(known))
    ratios = [log10(row.smallest_change / row.margin) for row in known]
    low, high = min(-0.6, *ratios) - 0.25, max(0.6, *ratios) + 0.25
    for level, (row, ratio) in enumerate(zip(reversed(known), reversed(ratios), strict=True)):
        _add_row(figure, row, ratio, level, low, colours)
    figure.add_shape(
        type="line", x0=0, x1=0, y0=-0.5, y1=len(known) - 0.4, line={"color": colours.ink, "width": 3}, layer="below"
    )
    figure.update_layout(margin={"l": 8, "r": 12, "t": 4, "b": 54}, dragmode=False)
    ticks = [tick for tick in TICKS if low <= log10(tick) <= high]
    figure.update_xaxes(
        **axis(
            colours, range=[low, high], tickvals=[log10(tick) for tick in ticks],
            ticktext=[f"{tick:g}" for tick in ticks], title_text="times the change that matters",
        )
    )  # fmt: skip
    figure.update_yaxes(visible=False, range=[-0.6, len(known) - 0.3], fixedrange=True)
    return figure


def _add_row(
    figure: go.Figure, row: Repeatability, ratio: float, level: int, low: float, colours: Palette
) -> None:  # fmt: skip
    seen = ratio <= 0
    colour = colours.ink if seen else colours.look
    figure.add_shape(
        type="line", x0=low, x1=ratio, y0=level, y1=level, line={"color": colours.soft, "width": 2}, layer="below"
    )
    figure.add_trace(
        go.Scatter(
            x=[ratio], y=[level], mode="markers", hoverinfo="skip", name=row.measure,
            marker={"size": 14, "symbol": "circle" if seen else "x", "color": colour},
        )
    )  # fmt: skip
    smallest = say_size(row.measure, row.unit, row.smallest_change)
    figure.add_annotation(
        x=low, xanchor="left", y=level, yanchor="bottom", yshift=7, showarrow=False, font={"color": colours.ink},
        text=f"{words.label(row.measure)}: {smallest}", bgcolor=colours.card,
    )  # fmt: skip
