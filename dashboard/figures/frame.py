"""What all pictures share: grounds, type, axes."""

import plotly.graph_objects as go

from dashboard.theme import FONT, TEXT_PX, Palette

CONFIG = {"displayModeBar": False, "responsive": True, "doubleClick": False, "scrollZoom": False}
"""No floating buttons: their targets are too small for a thumb. The page has its own."""


def empty_figure(colours: Palette, *, height_px: int) -> go.Figure:
    """A figure with nothing on it yet."""
    figure = go.Figure()
    figure.update_layout(
        template=None,
        height=height_px,
        autosize=True,
        showlegend=False,
        paper_bgcolor="rgba(0,0,0,0)",
        plot_bgcolor="rgba(0,0,0,0)",
        font={"family": FONT, "size": TEXT_PX, "color": colours.ink},
        margin={"l": 70, "r": 16, "t": 16, "b": 44},
        hoverlabel={
            "bgcolor": colours.card,
            "bordercolor": colours.ink,
            "font": {"family": FONT, "size": TEXT_PX, "color": colours.ink},
            "align": "left",
        },
    )
    return figure


def axis(colours: Palette, **more: object) -> dict[str, object]:
    """The style of an axis: thin rules, outward ticks, soft figures."""
    style: dict[str, object] = {
        "gridcolor": colours.line,
        "gridwidth": 1,
        "zeroline": False,
        "linecolor": colours.soft,
        "tickcolor": colours.soft,
        "tickfont": {"size": TEXT_PX, "color": colours.soft},
        "title_font": {"size": TEXT_PX, "color": colours.ink},
        "fixedrange": True,
    }
    return style | more


def say(colours: Palette, text: str, *, height_px: int = 160) -> go.Figure:
    """A figure that has nothing to draw and says why."""
    figure = empty_figure(colours, height_px=height_px)
    figure.update_xaxes(visible=False)
    figure.update_yaxes(visible=False)
    figure.add_annotation(
        text=text, showarrow=False, x=0.5, y=0.5, xref="paper", yref="paper", font={"color": colours.soft}
    )
    return figure
