"""How much room each gear has: now, at a setting of the cables, and what is wanted."""

import plotly.graph_objects as go

from dashboard.figures.frame import axis, empty_figure
from dashboard.theme import Palette
from shiftlog.model.cables import CableAdvice, Stop

ROW_PX, CLOSE_ROW_PX, FEW_ROWS = 46, 34, 8


def draw_clearances(advice: CableAdvice, setting: tuple[float, float], colours: Palette) -> go.Figure:
    """One line a gear, then one a side in it where the room across was measured. Now is hollow, the setting full;
    short of what is wanted differs in colour, shape and words.

    setting : change of the engage and the select cable [mm at the lever]
    """
    stops = advice.stops
    row = ROW_PX if len(stops) <= FEW_ROWS else CLOSE_ROW_PX
    figure = empty_figure(colours, height_px=90 + row * len(stops))
    for level, stop in enumerate(reversed(stops)):
        _bar(figure, stop, level, colours)
    for k, stop in enumerate(stops):
        _line(figure, stop, len(stops) - 1 - k, setting, colours)
    across = any(stop.side != "home" for stop in stops)
    figure.update_layout(margin={"l": 76 if across else 56, "r": 12, "t": 8, "b": 52}, dragmode=False)
    then = [stop.left_over(*setting) for stop in stops]
    furthest = max(*then, *(stop.room_mm for stop in stops))
    room = {"range": [min(0.0, *then) - 0.1, furthest * 1.35 + 0.3], "nticks": 7}
    figure.update_xaxes(**axis(colours, title_text="room left, mm (bar: wanted)", **room))
    texts = [_name(stop) for stop in reversed(stops)]
    names = {"tickvals": list(range(len(stops))), "ticktext": texts, "showgrid": False}
    figure.update_yaxes(**axis(colours, range=[-0.7, len(stops) - 0.3], **names))
    return figure


def _name(stop: Stop) -> str:
    return stop.gear if stop.side == "home" else f"{stop.gear} {stop.side}"


def _bar(figure: go.Figure, stop: Stop, level: int, colours: Palette) -> None:
    figure.add_shape(
        type="line", x0=stop.wanted_mm, x1=stop.wanted_mm, y0=level - 0.36, y1=level + 0.36,
        line={"color": colours.ink, "width": 3},
    )  # fmt: skip


def _line(figure: go.Figure, stop: Stop, level: int, setting: tuple[float, float], colours: Palette) -> None:
    """From now to the setting, with what is then left in words."""
    then = stop.left_over(*setting)
    short = then < stop.wanted_mm
    figure.add_trace(
        go.Scatter(
            x=[stop.room_mm, then], y=[level, level], mode="lines+markers", hoverinfo="skip",
            line={"color": colours.soft, "width": 2},
            marker={
                "size": [12, 16], "symbol": ["circle-open", "x" if short else "circle"],
                "color": [colours.soft, colours.look if short else colours.after], "line": {"width": 2},
            },
        )
    )  # fmt: skip
    said = f"{'at most ' if stop.at_most else ''}{then:.1f} mm"
    figure.add_annotation(
        x=max(stop.room_mm, then), xanchor="left", xshift=14, y=level, showarrow=False,
        text=f"{said}, {stop.wanted_mm - then:.1f} short" if short else said,
        font={"color": colours.look if short else colours.ink}, bgcolor=colours.card,
    )  # fmt: skip
