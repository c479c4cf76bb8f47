"""The long signals of a drive, one above the other, with the shifts marked over them."""

import numpy as np
import plotly.graph_objects as go

from dashboard import words
from dashboard.figures.frame import axis, empty_figure
from dashboard.signals import Line, Window
from dashboard.theme import Palette, see_through
from shiftlog.model.shift import Rejected, Shift

ROW_PX, MARKS_PX, FOOT_PX, HEAD_PX = 118, 72, 52, 8
MOST_BANDS = 80
"""More bands than this are one grey wall and slow to draw; the marks above still show each shift."""

LEAST_SPAN = {"mm": 10.0, "m/s": 3.0, "rpm": 600.0, "m/s²": 2.0}
"""By unit; below this a row would show nothing but the sensor's own noise."""
CLOSE = 0.025
"""Marks nearer than this share of the window get their numbers above and below in turn."""

Span = tuple[float, float]


def draw_traces(
    window: Window,
    colours: Palette,
    *,
    shifts: tuple[Shift, ...],
    rejected: tuple[Rejected, ...],
    speed_unit: str,
) -> go.Figure:
    """Every line of the window in a row of its own; marks of shifts on top carry their number as customdata."""
    height = HEAD_PX + MARKS_PX + ROW_PX * len(window.lines) + FOOT_PX
    figure = empty_figure(colours, height_px=height)
    shown = [s for s in shifts if _seen(s.start_s, s.end_s, window)]
    gone = [r for r in rejected if r.kind == "shift" and _seen(r.start_s, r.end_s, window)]
    _add_marks(figure, shown, window, colours)
    _add_gone(figure, gone, colours)
    for row, line in enumerate(window.lines):
        add_line(figure, line, colours, axis_number=row + 2, speed_unit=speed_unit)
    _add_bands(figure, shown, gone, colours)
    _set_rows(figure, window, colours, height=height, speed_unit=speed_unit)
    return figure


def _seen(start_s: float, end_s: float | None, window: Window) -> bool:
    return (end_s or start_s) >= window.start_s and start_s <= window.end_s


def odd(shift: Shift) -> bool:
    """Whether a shift is one to look at. At standstill refusals are normal and no fault."""
    return shift.outcome not in (None, "clean", "to_neutral") and not shift.standing


def _add_marks(figure: go.Figure, shifts: list[Shift], window: Window, colours: Palette) -> None:
    text = [str(s.number) for s in shifts] if len(shifts) <= 40 else None
    figure.add_trace(
        go.Scatter(
            x=[_middle(s) for s in shifts],
            y=[0.5] * len(shifts),
            yaxis="y",
            mode="markers+text" if text else "markers",
            text=text,
            textposition=_turns([_middle(s) for s in shifts], window),
            textfont={"color": colours.ink, "size": 15},
            marker={
                "opacity": 1.0,
                "size": [15 if odd(s) else 11 for s in shifts],
                "symbol": ["diamond" if odd(s) else "circle" for s in shifts],
                "color": [colours.look if odd(s) else colours.ink for s in shifts],
                "line": {"color": colours.card, "width": 1},
            },
            hovertext=[f"<b>Shift {s.number}</b>: {words.change(s)}<br>{words.outcome(s)}" for s in shifts],
            hoverinfo="text",
            customdata=[s.number for s in shifts],
            name="shifts",
        )
    )


def _add_gone(figure: go.Figure, gone: list[Rejected], colours: Palette) -> None:
    figure.add_trace(
        go.Scatter(
            x=[(r.start_s + r.end_s) / 2 for r in gone],
            y=[0.5] * len(gone),
            yaxis="y",
            mode="markers",
            marker={"size": 9, "symbol": "x-thin", "line": {"color": colours.out, "width": 2}},
            hovertext=[f"left out: {r.why}" for r in gone],
            hoverinfo="text",
            name="left out",
        )
    )


def _turns(at_s: list[float], window: Window) -> list[str]:
    close_s = CLOSE * (window.end_s - window.start_s)
    turns = ["top center"] * len(at_s)
    for i in range(1, len(at_s)):
        if at_s[i] - at_s[i - 1] < close_s and turns[i - 1] == "top center":
            turns[i] = "bottom center"
    return turns


def _middle(shift: Shift) -> float:
    return shift.start_s if shift.end_s is None else (shift.start_s + shift.end_s) / 2


def add_line(figure: go.Figure, line: Line, colours: Palette, *, axis_number: int, speed_unit: str) -> None:
    """One line on the y axis of that number."""
    values = words.speed_value(line.values, speed_unit) if line.unit == "m/s" else line.values
    unit = speed_unit if line.unit == "m/s" else line.unit
    figure.add_trace(
        go.Scatter(
            x=line.time_s,
            y=values,
            yaxis=f"y{axis_number}" if axis_number > 1 else "y",
            mode="lines",
            line={"color": colours.ink, "width": 1.2, "simplify": False},
            name=line.key,
            hovertemplate=f"%{{y:.3~g}} {unit} at %{{x:.2f}} s<extra></extra>",
        )
    )


def _add_bands(figure: go.Figure, shifts: list[Shift], gone: list[Rejected], colours: Palette) -> None:
    if len(shifts) + len(gone) > MOST_BANDS:
        return
    for shift in shifts:
        span = (shift.start_s, shift.end_s) if shift.end_s is not None else shift.gap
        if span is not None:
            band(figure, span, colours.look if odd(shift) else colours.soft, share=0.22)
    for one in gone:
        band(figure, (one.start_s, one.end_s), colours.out, share=0.12)


def band(figure: go.Figure, span: Span, colour: str, *, share: float) -> None:
    """A stretch of time shaded over all rows."""
    figure.add_shape(
        type="rect", xref="x", yref="paper", x0=span[0], x1=span[1], y0=0, y1=1, line_width=0, layer="below",
        fillcolor=see_through(colour, share),
    )  # fmt: skip


def _set_rows(figure: go.Figure, window: Window, colours: Palette, *, height: int, speed_unit: str) -> None:
    set_time_axis(figure, (window.start_s, window.end_s), colours)
    inner = height - HEAD_PX - FOOT_PX
    top = 1 - MARKS_PX / inner
    figure.update_layout(
        yaxis={"domain": [top, 1], "range": [0, 1], "visible": False, "fixedrange": True},
        margin={"l": 66, "r": 12, "t": HEAD_PX, "b": FOOT_PX},
        dragmode="zoom",
        hovermode="closest",
    )
    set_rows(figure, window.lines, colours, top=top, speed_unit=speed_unit, first=2)


def set_time_axis(figure: go.Figure, span: Span, colours: Palette) -> None:
    """Time along the foot, shared by all rows."""
    style = axis(colours, range=list(span), title_text="drive time, s", nticks=8, fixedrange=False, anchor="free")
    figure.update_xaxes(**style, position=0)


def _range(line: Line, speed_unit: str) -> dict[str, object]:
    """A range no narrower than means something, so that noise does not fill a row."""
    if line.values.size == 0 or np.all(np.isnan(line.values)):
        return {}
    low, high = float(np.nanmin(line.values)), float(np.nanmax(line.values))
    short = max(LEAST_SPAN.get(line.unit, 0.0) - (high - low), 0.0) / 2
    room = 0.05 * (high - low + 2 * short)
    ends = np.array([low - short - room, high + short + room])
    return {"range": list(words.speed_value(ends, speed_unit) if line.unit == "m/s" else ends)}


def set_rows(
    figure: go.Figure, lines: tuple[Line, ...], colours: Palette, *, top: float, speed_unit: str, first: int
) -> None:
    """Rows of equal height below ``top``, each under its label; the y axes count from ``first``."""
    tall = top / max(len(lines), 1)
    for row, line in enumerate(lines):
        upper = top - row * tall
        domain = [upper - 0.94 * tall, upper - 0.24 * tall]
        style = axis(colours, domain=domain, nticks=4, anchor="x", **_range(line, speed_unit))
        figure.update_layout({f"yaxis{row + first}" if row + first > 1 else "yaxis": style})
        unit = speed_unit if line.unit == "m/s" else line.unit
        text = f"{line.label}, {unit}" if unit else line.label
        figure.add_annotation(
            text=text, x=0, y=upper - 0.02 * tall, xref="paper", yref="paper", xanchor="left", yanchor="top",
            showarrow=False, font={"size": 16, "color": colours.soft}, xshift=-62,
        )  # fmt: skip
