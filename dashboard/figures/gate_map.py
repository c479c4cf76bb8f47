"""The gate with everything that was measured of it, in true millimetres, and each seat under a lens beside its slot."""

from collections.abc import Sequence
from dataclasses import dataclass

import plotly.graph_objects as go

from dashboard import words
from dashboard.figures.frame import axis, empty_figure
from dashboard.figures.seat_marks import Mark, add_lattice, add_moves, add_seats, add_stops
from dashboard.figures.slots import HALF_SLOT_MM, Box, gate_slots, rounded
from dashboard.theme import Palette
from shiftlog.model.cables import Clearance
from shiftlog.model.car import GateLayout
from shiftlog.model.rest import Rest
from shiftlog.model.seats import SeatFigures, SeatReport
from shiftlog.neutral.seat_report import STANDS_OUT_MM, find_off

LENS_SHARE = 0.92
"""Of the distance between planes; the rest keeps lenses apart."""
LEAST_HALF_MM, MOST_HALF_MM = 2.2, 6.0
"""What a lens shows to either side: as much as it must, within these."""
GAP_MM, WORDS_MM, SIDE_MM = 3.0, 8.5, 2.5
"""In the picture: between slot and lens, for words beyond a lens, and at the sides."""
SCALE_MM = 10.0
NAME_PX = 20
REST_STYLES = {
    "let go, at home": {"symbol": "circle", "size": 9},
    "let go, elsewhere": {"symbol": "diamond", "size": 13},
    "held": {"symbol": "square-open", "size": 10},
    "not known whether let go": {"symbol": "x-thin", "size": 10},
    "left out, in a bend": {"symbol": "circle-open-dot", "size": 9},
}


@dataclass(frozen=True, eq=False, kw_only=True)
class Frame:
    """Where everything goes [mm of the gate]. lenses : centre by gear; side : of a lens; around : the whole picture

    shows_mm : half the width of what a lens shows
    """

    lenses: dict[str, tuple[float, float]]
    side: float
    shows_mm: float
    around: Box

    @property
    def aspect(self) -> float:
        """Width over height."""
        box = self.around
        return (box.right - box.left) / (box.forward - box.rear)

    def mark(self, seat: SeatFigures, layout: GateLayout) -> Mark:
        """The seat as its lens shows it."""
        return Mark(
            seat=seat, place=layout.position_mm(seat.gear), to=self.lenses[seat.gear],
            times=self.side / 2 / self.shows_mm,
        )  # fmt: skip


def draw_gate_map(
    layout: GateLayout, report: SeatReport, colours: Palette, *, rests: Sequence[Rest] = (),
    clearances: Sequence[Clearance] = (),
) -> go.Figure:  # fmt: skip
    """Slots, places of the lattice, seats, rests, room to the stops, what home catches; and a lens over each seat.

    report : seats of the drive; rests : of it; clearances : of a clearance test, where the drive holds one
    """
    figure = empty_figure(colours, height_px=400)
    figure.update_layout(height=None, hovermode="closest", margin={"l": 0, "r": 0, "t": 0, "b": 0})
    frame = frame_map(layout, report, clearances)
    _add_gate(figure, layout, colours)
    plain = [Mark(seat=seat, place=(0.0, 0.0), to=(0.0, 0.0)) for seat in report.seats]
    add_lattice(figure, [layout.position_mm(gear) for gear in layout.gears], colours)
    add_stops(figure, plain, clearances, colours, cap_mm=2.0, sides=False)
    _add_rests(figure, rests, layout, colours)
    add_seats(figure, plain, colours, ring=False)
    _add_lenses(figure, layout, report, frame, clearances, colours)
    _add_scale(figure, frame, colours)
    bare = {"visible": False, "showgrid": False, "constrain": "domain"}
    box = frame.around
    figure.update_xaxes(**axis(colours, range=[box.left, box.right]) | bare)
    figure.update_yaxes(**axis(colours, range=[box.rear, box.forward]) | bare, scaleanchor="x", scaleratio=1)
    return figure


def frame_map(layout: GateLayout, report: SeatReport, clearances: Sequence[Clearance] = ()) -> Frame:
    """Lenses beyond the ends of the slots, in the order of the gate."""
    side = LENS_SHARE * layout.plane_pitch_mm
    end = layout.engage_travel_mm / 2 + HALF_SLOT_MM + GAP_MM
    centres = [layout.plane_mm(index) for index in range(len(layout.planes))]
    lenses = {
        gear: (centre, way * (end + side / 2))
        for centre, plane in zip(centres, layout.planes, strict=True)
        for way, gear in ((1, plane.forward), (-1, plane.rear))
        if gear
    }
    reach, across = end + side + WORDS_MM, side / 2 + SIDE_MM
    around = Box(left=min(centres) - across, right=max(centres) + across, rear=-reach, forward=reach)
    return Frame(lenses=lenses, side=side, shows_mm=_half(report.seats, layout, clearances), around=around)


def _half(seats: Sequence[SeatFigures], layout: GateLayout, clearances: Sequence[Clearance]) -> float:
    """So that the furthest thing drawn is just within its lens."""
    room = {one.gear: one.clearance_mm for one in clearances}
    far = [LEAST_HALF_MM]
    for seat in seats:
        x, y = layout.position_mm(seat.gear)
        for place in (seat.place, seat.at_drive, seat.at_overrun):
            if place is not None:
                far.append(max(abs(place[0] - x), abs(place[1] - y) + room.get(seat.gear, 0.0)) + 0.4)
    return min(max(far), MOST_HALF_MM)


def _add_gate(figure: go.Figure, layout: GateLayout, colours: Palette) -> None:
    slots = gate_slots(layout)
    for box in slots.channels:
        figure.add_shape(type="path", path=rounded(box), fillcolor=colours.slot, line_width=0, layer="below")
    if slots.home is not None:
        figure.add_shape(type="path", path=rounded(slots.home), fillcolor=colours.home, line_width=0, layer="below")
        _add_catch(figure, layout, colours)


def _add_catch(figure: go.Figure, layout: GateLayout, colours: Palette) -> None:
    """Where a lever in neutral must lie for a straight push to find the home plane: half a pitch to either side."""
    half, reach, last = layout.plane_pitch_mm / 2, HALF_SLOT_MM, len(layout.planes) - 1
    edges = [sign * half for sign, there in ((-1, layout.origin > 0), (1, layout.origin < last)) if there]
    home = layout.planes[layout.origin]
    found = " or ".join(gear for gear in (home.forward, home.rear) if gear)
    line = {"color": colours.soft, "width": 3, "dash": "dot"}
    for edge in edges:
        figure.add_trace(
            go.Scatter(
                x=[edge, edge], y=[-reach, reach], mode="lines", line=line, hoverinfo="text", name="home ends",
                hovertext=f"between the dotted lines a straight push finds {found}",
            )
        )  # fmt: skip


def sort_rests(rests: Sequence[Rest], layout: GateLayout) -> dict[str, list[Rest]]:
    """Rests by the form they are drawn in."""
    kinds: dict[str, list[Rest]] = {name: [] for name in REST_STYLES}
    for rest in rests:
        home = layout.home is None or rest.plane == layout.home
        let_go = "let go, at home" if home else "let go, elsewhere"
        how = {True: let_go, False: "held", None: "not known whether let go"}[rest.released]
        kinds["left out, in a bend" if rest.in_bend else how].append(rest)
    return kinds


def _add_rests(figure: go.Figure, rests: Sequence[Rest], layout: GateLayout, colours: Palette) -> None:
    paints = {"let go, at home": colours.ink, "let go, elsewhere": colours.look}
    for name, some in sort_rests(rests, layout).items():
        if not some:
            continue
        paint = paints.get(name, colours.out)
        line = {"color": colours.card, "width": 1} if name in paints else {"color": paint, "width": 1.5}
        figure.add_trace(
            go.Scatter(
                x=[r.select_mm for r in some], y=[r.engage_mm for r in some], mode="markers", name=name,
                marker={**REST_STYLES[name], "color": paint, "line": line},
                hovertext=[_rest_text(r, name) for r in some], hoverinfo="text",
            )
        )  # fmt: skip


def _rest_text(rest: Rest, how: str) -> str:
    where = f"{words.number(rest.select_mm, step=0.1)} mm across"
    return f"{words.clock(rest.start_s)}: rest in {rest.plane or 'no plane'}, {where}<br>{how}"


def _add_lenses(
    figure: go.Figure, layout: GateLayout, report: SeatReport, frame: Frame, clearances: Sequence[Clearance],
    colours: Palette,
) -> None:  # fmt: skip
    seats = {seat.gear: seat for seat in report.seats}
    for gear, centre in frame.lenses.items():
        _add_lens(figure, gear, centre, frame, colours)
        _add_words(figure, gear, seats.get(gear), centre, frame, colours)
    marks = [frame.mark(seat, layout) for seat in report.seats]
    add_lattice(figure, list(frame.lenses.values()), colours)
    add_stops(figure, marks, clearances, colours, cap_mm=0.22 * frame.side)
    add_moves(figure, marks, colours)
    add_seats(figure, marks, colours, ring=True)


def _add_lens(figure: go.Figure, gear: str, centre: tuple[float, float], frame: Frame, colours: Palette) -> None:
    (x, y), half = centre, frame.side / 2
    box = Box(left=x - half, right=x + half, rear=y - half, forward=y + half)
    line = {"color": colours.line, "width": 1.5}
    figure.add_shape(type="path", path=rounded(box), fillcolor=colours.card, line=line, layer="below")
    r = STANDS_OUT_MM * half / frame.shows_mm
    ring = {"x0": x - r, "x1": x + r, "y0": y - r, "y1": y + r}
    figure.add_shape(type="circle", **ring, line={"color": colours.soft, "width": 1.5, "dash": "dot"}, layer="below")
    figure.add_annotation(
        x=x - half, y=y + half, xanchor="left", yanchor="top", xshift=3, yshift=-1, showarrow=False,
        text=f"<b>{gear}</b>", font={"size": NAME_PX, "color": colours.ink},
    )  # fmt: skip


def _add_words(
    figure: go.Figure, gear: str, seat: SeatFigures | None, centre: tuple[float, float], frame: Frame, colours: Palette
) -> None:  # fmt: skip
    """Beyond the lens what stands out, or why nothing is in it."""
    said = lens_words(seat)
    if not said:
        return
    forward = centre[1] > 0
    figure.add_annotation(
        x=centre[0], y=centre[1] + (frame.side / 2 if forward else -frame.side / 2), text="<br>".join(said),
        showarrow=False, yanchor="bottom" if forward else "top",
        font={"color": colours.ink if seat is not None and find_off(seat) else colours.soft},
    )  # fmt: skip


def lens_words(seat: SeatFigures | None) -> list[str]:
    """A line or two, short enough for a telephone."""
    if seat is None:
        return ["not seen"]
    if seat.place is None:
        return ["hand on it"] if seat.hand_only else ["too short"]
    return [f"<b>{mm:.1f} {way}</b>" for mm, way in find_off(seat)]


def _add_scale(figure: go.Figure, frame: Frame, colours: Palette) -> None:
    """How long ten millimetres are in the gate, between the first two slots, where nothing else is drawn."""
    across = sorted({x for x, _ in frame.lenses.values()})
    middle = (across[0] + across[1]) / 2 if len(across) > 1 else across[0] + HALF_SLOT_MM + SCALE_MM
    left, right, y = middle - SCALE_MM / 2, middle + SCALE_MM / 2, -HALF_SLOT_MM - 4.5
    line = {"color": colours.soft, "width": 2}
    figure.add_shape(type="path", path=f"M{left},{y + 1} L{left},{y} L{right},{y} L{right},{y + 1}", line=line)
    figure.add_annotation(
        x=middle, y=y, yanchor="top", text="10 mm", showarrow=False, font={"color": colours.soft}
    )  # fmt: skip
