"""One kind of shift before and after: every value as a point, a box over them, one line for each side."""

from collections.abc import Mapping

import numpy as np
import plotly.graph_objects as go

from dashboard import words
from dashboard.figures.frame import axis, empty_figure
from dashboard.theme import Palette, see_through
from shiftlog.measure.nouns import is_share
from shiftlog.model.comparison import Row

HEIGHT_PX = 190
SPREAD = 0.26
"""How far points are spread across their line, as a share of the distance between lines."""


def draw_distribution(row: Row, colours: Palette, *, speed_unit: str) -> go.Figure:
    """Before above after. Sides differ in colour, in the shape of their points, and by their name.

    A share shows every try, no or yes.
    """
    figure = empty_figure(colours, height_px=HEIGHT_PX)
    yes_no = is_share(row.measure)
    sides = (
        ("before", 1.0, row.values_before, row.before, colours.before, "circle"),
        ("after", 0.0, row.values_after, row.after, colours.after, "diamond"),
    )
    for name, level, values, middle, colour, symbol in sides:
        flat = _flat(values, row.unit, speed_unit)
        if not yes_no:
            _add_box(figure, flat, level, colour, colours)
        _add_points(figure, flat, _drive_names(values), level, colour, symbol, colours, name=name)
        if middle is not None:
            _add_middle(figure, float(_shown(np.array(middle), row.unit, speed_unit)), level, colours)
    unit = speed_unit if row.unit == "m/s" else row.unit
    title = f"{words.label(row.measure)}, {unit}" if unit else words.label(row.measure)
    figure.update_layout(margin={"l": 74, "r": 12, "t": 8, "b": 52}, hovermode="closest", dragmode=False)
    figure.update_xaxes(**axis(colours, title_text=title, nticks=7))
    if yes_no:
        figure.update_xaxes(tickvals=[0, 1], ticktext=["no", "yes"], range=[-0.15, 1.15])
    figure.update_yaxes(
        **axis(colours, tickvals=[1, 0], ticktext=["before", "after"], range=[-0.6, 1.6], showgrid=False)
    )
    return figure


def _shown(values: np.ndarray, unit: str, speed_unit: str) -> np.ndarray:
    return words.speed_value(values, speed_unit) if unit == "m/s" else values


def _flat(values: Mapping[str, tuple[float, ...]], unit: str, speed_unit: str) -> np.ndarray:
    return _shown(np.array([v for some in values.values() for v in some], dtype=float), unit, speed_unit)


def _drive_names(values: Mapping[str, tuple[float, ...]]) -> list[str]:
    return [drive for drive, some in values.items() for _ in some]


def _add_box(figure: go.Figure, flat: np.ndarray, level: float, colour: str, colours: Palette) -> None:
    if flat.size < 3:
        return
    figure.add_trace(
        go.Box(
            x=flat,
            y0=level,
            orientation="h",
            width=0.72,
            boxpoints=False,
            line={"color": colours.soft, "width": 1.5},
            fillcolor=see_through(colour, 0.22),
            hoverinfo="skip",
        )
    )


def _add_points(
    figure: go.Figure,
    flat: np.ndarray,
    drives: list[str],
    level: float,
    colour: str,
    symbol: str,
    colours: Palette,
    *,
    name: str,
) -> None:
    figure.add_trace(
        go.Scatter(
            x=flat,
            y=level + _spread(flat.size),
            mode="markers",
            marker={
                "color": colour,
                "symbol": symbol,
                "size": 10,
                "opacity": 0.9,
                "line": {"color": colours.edge, "width": 0.8},
            },
            hovertext=drives,
            hovertemplate="%{x:.3~g}, %{hovertext}<extra></extra>",
            name=name,
        )
    )


def _spread(n: int) -> np.ndarray:
    """Steady offsets that look scattered: multiples of the golden ratio, modulo one."""
    return SPREAD * (2 * np.mod(np.arange(n) * 0.6180339887, 1.0) - 1)


def _add_middle(figure: go.Figure, value: float, level: float, colours: Palette) -> None:
    figure.add_shape(
        type="line", x0=value, x1=value, y0=level - 0.45, y1=level + 0.45, line={"color": colours.ink, "width": 3}
    )
