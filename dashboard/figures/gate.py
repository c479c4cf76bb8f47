"""The gate, as the driver sees it: slots, seats, the lever's path and where it came to rest."""

import numpy as np
import plotly.graph_objects as go

from dashboard import words
from dashboard.figures.frame import axis, empty_figure
from dashboard.figures.slots import Box, gate_slots, rounded
from dashboard.theme import Palette, see_through
from shiftlog.model.car import GateLayout
from shiftlog.model.gate import Seat
from shiftlog.model.rest import Rest

_HEIGHT_PX = 460
_LEAST_RING_MM = 0.4
"""A ring smaller than this could not be seen."""


def draw_gate(
    layout: GateLayout,
    colours: Palette,
    *,
    seats: tuple[Seat, ...] = (),
    path: np.ndarray | None = None,
    rests: tuple[Rest, ...] = (),
    height_px: int = _HEIGHT_PX,
) -> go.Figure:
    """The picture of a gate. path : (n, 2) select, engage [mm], NaN where the line breaks."""
    figure = empty_figure(colours, height_px=height_px)
    slots = gate_slots(layout)
    for box in slots.channels:
        _add_box(figure, box, colours.slot)
    if slots.home is not None:
        _add_box(figure, slots.home, colours.home)
    for seat in seats:
        _add_ring(figure, seat, colours)
    _add_names(figure, slots.marks, colours)
    if path is not None and path.shape[0] > 1:
        _add_path(figure, path, colours)
    _add_rests(figure, rests, layout, colours)
    _add_seats(figure, seats)
    _set_axes(figure, _around(slots.around, path, rests), colours)
    return figure


def _add_box(figure: go.Figure, box: Box, colour: str) -> None:
    figure.add_shape(type="path", path=rounded(box), fillcolor=colour, line_width=0, layer="below")


def _add_ring(figure: go.Figure, seat: Seat, colours: Palette) -> None:
    radius = max(seat.spread_mm, _LEAST_RING_MM)
    x, y = seat.select_mm, seat.engage_mm
    edges = {"x0": x - radius, "x1": x + radius, "y0": y - radius, "y1": y + radius}
    figure.add_shape(type="circle", **edges, line={"color": colours.ink, "width": 2})


def _add_names(figure: go.Figure, marks: tuple[tuple[str, float, float], ...], colours: Palette) -> None:
    figure.add_trace(
        go.Scatter(
            x=[m[1] for m in marks],
            y=[m[2] for m in marks],
            text=[f"<b>{m[0]}</b>" for m in marks],
            mode="text",
            textfont={"size": 20, "color": colours.ink},
            hoverinfo="skip",
        )
    )


def _add_path(figure: go.Figure, path: np.ndarray, colours: Palette) -> None:
    figure.add_trace(
        go.Scatter(
            x=path[:, 0],
            y=path[:, 1],
            mode="lines",
            line={"color": see_through(colours.ink, 0.45), "width": 1},
            hoverinfo="skip",
            name="path",
        )
    )


def _add_seats(figure: go.Figure, seats: tuple[Seat, ...]) -> None:
    """Nothing to see, but something to point at."""
    texts = [
        f"<b>{s.gear}</b>: {words.number(s.select_mm, step=0.1)} mm, {words.number(s.engage_mm, step=0.1)} mm<br>"
        f"spread {words.number(s.spread_mm)} mm over {words.count(s.stays, 'stay')}"
        for s in seats
    ]
    figure.add_trace(
        go.Scatter(
            x=[s.select_mm for s in seats],
            y=[s.engage_mm for s in seats],
            mode="markers",
            marker={"size": 22, "opacity": 0},
            hovertext=texts,
            hoverinfo="text",
            name="seats",
        )
    )


def _add_rests(figure: go.Figure, rests: tuple[Rest, ...], layout: GateLayout, colours: Palette) -> None:
    """Released at home: dots. Released elsewhere: diamonds. Held, unknown or in a bend: hollow and grey."""
    counted = [r for r in rests if r.released and not r.in_bend]
    kinds = {
        "rests": [r for r in counted if layout.home is None or r.plane == layout.home],
        "rests elsewhere": [r for r in counted if layout.home is not None and r.plane != layout.home],
        "rests left out": [r for r in rests if r not in counted],
    }
    styles = {
        "rests": {"symbol": "circle", "size": 9, "color": colours.ink},
        "rests elsewhere": {"symbol": "diamond", "size": 13, "color": colours.look},
        "rests left out": {"symbol": "circle-open", "size": 9, "color": colours.out},
    }
    for name, some in kinds.items():
        figure.add_trace(
            go.Scatter(
                x=[r.select_mm for r in some],
                y=[r.engage_mm for r in some],
                mode="markers",
                marker=styles[name] | {"line": {"color": colours.card, "width": 1}} | _open(name, colours),
                hovertext=[_rest_text(r) for r in some],
                hoverinfo="text",
                name=name,
            )
        )


def _open(name: str, colours: Palette) -> dict[str, object]:
    return {"line": {"color": colours.out, "width": 1.5}} if name == "rests left out" else {}


def _rest_text(rest: Rest) -> str:
    how = {True: "let go", False: "guided or held", None: "not known whether let go"}[rest.released]
    bend = ", in a bend" if rest.in_bend else ""
    where = f"{words.number(rest.select_mm, step=0.1)} mm across"
    return f"{words.clock(rest.start_s)}: rest in {rest.plane or 'no plane'}, {where}<br>{how}{bend}"


def _around(box: Box, path: np.ndarray | None, rests: tuple[Rest, ...]) -> Box:
    """The gate with everything that was drawn on it."""
    points = [np.array([[r.select_mm, r.engage_mm] for r in rests])] if rests else []
    points += [path] if path is not None and path.size else []
    if not points or np.all(np.isnan(np.concatenate(points))):
        return box
    low, high = np.nanmin(np.concatenate(points), axis=0), np.nanmax(np.concatenate(points), axis=0)
    return Box(
        left=min(box.left, low[0] - 2),
        right=max(box.right, high[0] + 2),
        rear=min(box.rear, low[1] - 2),
        forward=max(box.forward, high[1] + 2),
    )


def _set_axes(figure: go.Figure, box: Box, colours: Palette) -> None:
    """One mm is as long across as along, as on the car."""
    figure.update_layout(margin={"l": 64, "r": 8, "t": 8, "b": 52}, hovermode="closest")
    figure.update_xaxes(
        **axis(colours, range=[box.left, box.right], showgrid=False, title_text="select, mm (right +)", nticks=6),
        constrain="domain",
    )
    figure.update_yaxes(
        **axis(colours, range=[box.rear, box.forward], showgrid=False, title_text="engage, mm (forward +)", nticks=6),
        scaleanchor="x",
        scaleratio=1,
        constrain="domain",
    )
