"""What is drawn of one seat: spread, drive and overrun, room to the stops; in the gate, or close up round its place."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import plotly.graph_objects as go

from dashboard import words
from dashboard.theme import Palette, see_through
from shiftlog.model.cables import Clearance
from shiftlog.model.reading import K95, Reading
from shiftlog.model.seats import SeatFigures
from shiftlog.neutral.seat_report import find_off

ELLIPSE = 2.448
"""Standard deviations that hold 95 % of a normal scatter in the plane, √χ²(0.95; 2)."""
LEAST_MM = 0.25
"""A spread smaller than this could not be seen."""
POINTS = 48


@dataclass(frozen=True, eq=False, kw_only=True)
class Mark:
    """A seat to be drawn: what lies at ``place`` goes to ``to``, and distances from it grow so many ``times``."""

    seat: SeatFigures
    place: tuple[float, float]
    to: tuple[float, float]
    times: float = 1.0

    def at(self, point: tuple[float, float]) -> tuple[float, float]:
        """Where a point of the gate goes in the picture."""
        return (
            self.to[0] + self.times * (point[0] - self.place[0]),
            self.to[1] + self.times * (point[1] - self.place[1]),
        )


def add_lattice(figure: go.Figure, places: Sequence[tuple[float, float]], colours: Palette, *, size: int = 13) -> None:
    """A cross at each place of the lattice."""
    figure.add_trace(
        go.Scatter(
            x=[p[0] for p in places], y=[p[1] for p in places], mode="markers", hoverinfo="skip", name="places",
            marker={"symbol": "cross-thin", "size": size, "line": {"color": colours.soft, "width": 1.5}},
        )
    )  # fmt: skip


def add_stops(
    figure: go.Figure, marks: Sequence[Mark], clearances: Sequence[Clearance], colours: Palette, *, cap_mm: float,
    sides: bool = True,
) -> None:  # fmt: skip
    """Room to each stop as a line that ends in a bar; too little of it is vermillion, thick, and ends in a cross.

    cap_mm : half the width of a bar in the picture; sides : with the room across the gate, and the cross
    """
    by_gear = {mark.seat.gear: mark for mark in marks if mark.seat.place is not None}
    for one in clearances:
        mark = by_gear.get(one.gear)
        if mark is None or mark.seat.place is None:
            continue
        x, y = mark.seat.place
        short = not one.soft and one.margin_mm < 0
        ends = [((x, y + one.way * one.clearance_mm), short)]
        ends += [
            ((x + s * room, y), False)
            for room, s in ((one.left_mm, -1), (one.right_mm, 1))
            if sides and room is not None
        ]
        for end, looked_at in ends:
            paint = colours.look if looked_at else colours.ink
            _add_bar(figure, mark.at((x, y)), mark.at(end), paint, cap_mm, "dot" if one.soft else "solid")
        tip = mark.at(ends[0][0])
        style = {"symbol": "x", "size": 10, "color": colours.look, "opacity": 1.0 if short and sides else 0.0}
        figure.add_trace(
            go.Scatter(x=[tip[0]], y=[tip[1]], mode="markers", marker=style, name="stops",
                       hovertext=_stop_text(one), hoverinfo="text")
        )  # fmt: skip


def _add_bar(
    figure: go.Figure, start: tuple[float, float], end: tuple[float, float], paint: str, cap_mm: float, dash: str
) -> None:  # fmt: skip
    """The way from a seat to its stop, and the stop across it."""
    along = abs(end[0] - start[0]) < abs(end[1] - start[1]) or start == end
    across = (cap_mm, 0.0) if along else (0.0, cap_mm)
    line = {"color": paint, "width": 1.5, "dash": dash}
    figure.add_shape(type="line", x0=start[0], y0=start[1], x1=end[0], y1=end[1], line=line)
    ends = {"x0": end[0] - across[0], "x1": end[0] + across[0], "y0": end[1] - across[1], "y1": end[1] + across[1]}
    figure.add_shape(type="line", **ends, line=line | {"width": 4})


def _stop_text(one: Clearance) -> str:
    room = f"<b>{one.gear}</b>: {one.clearance_mm:.1f} mm (± {K95 * one.u_mm:.1f}) to its stop"
    if one.soft:
        return f"{room}<br>it gives with force and is not the gate's"
    return f"{room}<br>{one.wanted_mm:.1f} mm is wanted"


def add_moves(figure: go.Figure, marks: Sequence[Mark], colours: Palette) -> None:
    """From overrun (hollow, pointing down) to drive (full, pointing up)."""
    for mark in marks:
        seat = mark.seat
        if seat.at_drive is None or seat.at_overrun is None:
            continue
        over, drive = mark.at(seat.at_overrun), mark.at(seat.at_drive)
        figure.add_trace(
            go.Scatter(
                x=[over[0], drive[0]], y=[over[1], drive[1]], mode="lines+markers", name="overrun to drive",
                line={"color": colours.ink, "width": 2}, hoverinfo="text",
                marker={
                    "symbol": ["triangle-down-open", "triangle-up"], "size": [11, 11], "color": colours.ink,
                    "line": {"color": colours.ink, "width": 2},
                },
                hovertext=[f"<b>{seat.gear}</b> on the overrun", f"<b>{seat.gear}</b> under drive"],
            )
        )  # fmt: skip


def add_seats(figure: go.Figure, marks: Sequence[Mark], colours: Palette, *, ring: bool) -> None:
    """Where the lever lies; ring : in the ellipse that holds nineteen stays of twenty."""
    for mark in marks:
        place = mark.seat.place
        if place is None:
            continue
        off = bool(find_off(mark.seat))
        paint = colours.look if off else colours.ink
        if ring:
            _add_ring(figure, _ellipse(mark), paint)
        x, y = mark.at(place)
        size = (12 if off else 8) - (2 if ring and mark.seat.at_drive else 0)
        edge = {"color": colours.card, "width": 1}
        figure.add_trace(
            go.Scatter(
                x=[x], y=[y], mode="markers", hoverinfo="text", hovertext=seat_text(mark.seat), name="seats",
                marker={"symbol": "diamond" if off else "circle", "size": size, "color": paint, "line": edge},
            )
        )  # fmt: skip


def _add_ring(figure: go.Figure, outline: np.ndarray, paint: str) -> None:
    figure.add_trace(
        go.Scatter(
            x=outline[:, 0], y=outline[:, 1], mode="lines", fill="toself", fillcolor=see_through(paint, 0.16),
            line={"color": paint, "width": 1.5}, hoverinfo="skip", name="spread",
        )
    )  # fmt: skip


def _ellipse(mark: Mark) -> np.ndarray:
    """(n, 2) outline of the spread; a small circle where the stays are too few to have one."""
    angle = np.linspace(0, 2 * np.pi, POINTS)
    circle = np.column_stack([np.cos(angle), np.sin(angle)])
    assert mark.seat.place is not None
    centre = np.array(mark.at(mark.seat.place))
    if mark.seat.spread is None:
        return centre + mark.times * LEAST_MM * circle
    size, axes = np.linalg.eigh(np.array(mark.seat.spread))
    radii = np.maximum(ELLIPSE * np.sqrt(np.maximum(size, 0.0)), LEAST_MM)
    return centre + mark.times * (circle * radii) @ axes.T


def seat_text(seat: SeatFigures) -> str:
    """All that is known of a seat, on hover."""
    lines = [
        f"<b>{seat.gear}</b>: {words.count(seat.stays, 'stay')}",
        f"off its place {_mm(seat.off_select_mm)} across, {_mm(seat.off_engage_mm)} along",
        f"overrun to drive {_mm(seat.torque_engage_mm)}",
    ]
    if seat.hand_share.value is not None:
        lines.append(f"a hand on it {100 * float(seat.hand_share.value):.0f} % of the time")
    return "<br>".join(lines)


def _mm(reading: Reading) -> str:
    if reading.value is None:
        return "not known"
    return f"{words.number(float(reading.value), step=0.1)} mm"
