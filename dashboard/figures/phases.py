"""One shift: the signals around it, with its phases shaded and named."""

import plotly.graph_objects as go

from dashboard.figures.frame import empty_figure
from dashboard.figures.traces import FOOT_PX, HEAD_PX, add_line, band, set_rows, set_time_axis
from dashboard.signals import Window
from dashboard.theme import Palette, see_through
from shiftlog.model.shift import Shift

ROW_PX, NAMES_PX = 132, 60
_INSTANTS = (("start_s", "start"), ("out_s", "out"), ("in_s", "in"), ("end_s", "end"))


def draw_shift(window: Window, shift: Shift, colours: Palette, *, speed_unit: str) -> go.Figure:
    """The lines around a shift; its instants as upright rules, where the lever stood shaded."""
    height = HEAD_PX + NAMES_PX + ROW_PX * len(window.lines) + FOOT_PX
    figure = empty_figure(colours, height_px=height)
    for row, line in enumerate(window.lines):
        add_line(figure, line, colours, axis_number=row + 1, speed_unit=speed_unit)
    _add_phases(figure, shift, colours)
    for number, (time_s, name) in enumerate(shift_instants(shift)):
        add_rule(figure, time_s, name, colours, low=number % 2 == 1)
    set_time_axis(figure, (window.start_s, window.end_s), colours)
    figure.update_layout(
        margin={"l": 66, "r": 12, "t": HEAD_PX, "b": FOOT_PX}, dragmode=False, hovermode="x", showlegend=False
    )
    inner = height - HEAD_PX - FOOT_PX
    set_rows(figure, window.lines, colours, top=1 - NAMES_PX / inner, speed_unit=speed_unit, first=1)
    return figure


def shift_instants(shift: Shift) -> list[tuple[float, str]]:
    """The instants of a shift in order, each with its name; those of a drive gap are named as such."""
    if shift.seen_by != "lever":
        names = ("gap begins", "gap ends")
        left = "gear left" if shift.from_gear else "begins"
        return list(zip(shift.gap, names, strict=True)) if shift.gap else [(shift.start_s, left)]
    given = [(getattr(shift, field), name) for field, name in _INSTANTS]
    return [(time_s, name) for time_s, name in given if time_s is not None]


def _add_phases(figure: go.Figure, shift: Shift, colours: Palette) -> None:
    span = (shift.start_s, shift.end_s) if shift.seen_by == "lever" else shift.gap
    if span is not None and None not in span:
        band(figure, span, colours.soft, share=0.16)
    for stood in shift.baulk:
        band(figure, stood, colours.look, share=0.32)
        figure.add_annotation(
            text="stood", x=sum(stood) / 2, y=0, yref="paper", yanchor="bottom", showarrow=False,
            font={"color": colours.ink, "size": 15}, bgcolor=colours.card,
        )  # fmt: skip


def add_rule(figure: go.Figure, time_s: float, name: str, colours: Palette, *, low: bool, above: bool = False) -> None:
    """An upright rule with its name on top; every second name stands lower, so that neighbours stay legible.

    above : the picture is full, so the rule lies over it and its name over the picture's edge
    """
    pale = [{"color": see_through(colours.card, 0.6), "width": 3}] if above else []
    for line in (*pale, {"color": colours.ink, "width": 1, "dash": "dot"}):
        figure.add_shape(
            type="line", xref="x", yref="paper", x0=time_s, x1=time_s, y0=0, y1=1,
            layer="above" if above else "below", line=line,
        )  # fmt: skip
    figure.add_annotation(
        text=name, x=time_s, y=1, yref="paper", yanchor="bottom" if above else "top",
        yshift=(24 if not low else 2) if above else (-20 if low else 0), showarrow=False,
        font={"color": colours.ink, "size": 15}, bgcolor=colours.card, borderpad=1,
    )  # fmt: skip
