"""Where the lever rested across the gate: one line for each group of rests, one point for each rest."""

from collections.abc import Sequence

import plotly.graph_objects as go

from dashboard.figures.frame import axis, empty_figure
from dashboard.theme import Palette, see_through
from shiftlog.model.car import GateLayout
from shiftlog.model.rest import Rest

ROW_PX = 74
SPREAD = 0.3
"""How far points are spread across their line, as a share of the distance between lines."""
SIDES = {"left": "triangle-right", "right": "triangle-left", None: "circle"}
"""The shape points the way the lever ran."""


def draw_rests(groups: Sequence[tuple[str, Sequence[Rest]]], layout: GateLayout, colours: Palette) -> go.Figure:
    """Full: let go; hollow: guided, held or not known; pointing the way it ran. The home plane's half pitch is shaded.

    groups : (name, rests) in the order they are drawn from top to bottom
    """
    figure = empty_figure(colours, height_px=100 + ROW_PX * len(groups))
    half = layout.plane_pitch_mm / 2
    for index, plane in enumerate(layout.planes):
        centre, home = layout.plane_mm(index), plane.name == layout.home
        if home:
            shade = see_through(colours.after, 0.14)
            figure.add_vrect(x0=centre - half, x1=centre + half, fillcolor=shade, line_width=0)
        figure.add_vline(x=centre, line={"color": colours.soft, "width": 1, "dash": "dot"})
        figure.add_annotation(
            x=centre, y=1.0, yref="paper", yanchor="bottom", text=f"{plane.name}{', home' if home else ''}",
            showarrow=False, font={"color": colours.ink},
        )  # fmt: skip
    for level, (_, rests) in zip(range(len(groups) - 1, -1, -1), groups, strict=True):
        _add_rests(figure, rests, level, layout, colours)
    centres = [layout.plane_mm(i) for i in range(len(layout.planes))]
    figure.update_layout(margin={"l": 120, "r": 12, "t": 34, "b": 52}, dragmode=False, hovermode="closest")
    reach = [min(centres) - 1.2 * half, max(centres) + 1.2 * half]
    figure.update_xaxes(**axis(colours, title_text="across the gate, mm from home, right is +", range=reach))
    names = [name.replace(", ", "<br>") for name, _ in groups]
    levels = list(range(len(groups) - 1, -1, -1))
    figure.update_yaxes(
        **axis(colours, tickvals=levels, ticktext=names, showgrid=False, range=[-0.6, len(groups) - 0.4])
    )
    return figure


def _add_rests(figure: go.Figure, rests: Sequence[Rest], level: int, layout: GateLayout, colours: Palette) -> None:
    if not rests:
        return
    away = [bool(r.released) and layout.home is not None and r.plane != layout.home for r in rests]
    shapes = [SIDES[r.came_from] + ("" if r.released else "-open") for r in rests]
    steps = [SPREAD * (2 * ((k * 0.6180339887) % 1.0) - 1) for k in range(len(rests))]
    told = {True: "let go", False: "guided or held", None: "not known whether it was let go"}
    figure.add_trace(
        go.Scatter(
            x=[r.select_mm for r in rests], y=[level + step for step in steps], mode="markers",
            marker={
                "size": 12, "symbol": shapes, "color": [colours.look if odd else colours.after for odd in away],
                "line": {"color": colours.edge, "width": 1},
            },
            hovertext=[f"{told[r.released]}, {r.plane}, {r.end_s - r.start_s:.1f} s" for r in rests],
            hovertemplate="%{x:.1f} mm, %{hovertext}<extra></extra>",
        )
    )  # fmt: skip
