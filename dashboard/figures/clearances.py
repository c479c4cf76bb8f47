"""How much room each gear has: now, at a setting of the cables, and what is wanted."""

import plotly.graph_objects as go

from dashboard.figures.frame import axis, empty_figure
from dashboard.theme import Palette
from shiftlog.model.cables import CableAdvice

ROW_PX = 46


def draw_clearances(advice: CableAdvice, setting: tuple[float, float], colours: Palette) -> go.Figure:
    """One line a gear. Now is hollow, the setting full; short of what is wanted differs in colour, shape and words.

    setting : change of the engage and the select cable [mm at the lever]
    """
    then, hard = advice.after(*setting), [c for c in advice.clearances if not c.soft]
    figure = empty_figure(colours, height_px=90 + ROW_PX * len(hard))
    levels = {c.gear: len(hard) - 1 - k for k, c in enumerate(hard)}
    for c in hard:
        level, short = levels[c.gear], then[c.gear] < c.wanted_mm
        figure.add_shape(
            type="line", x0=c.wanted_mm, x1=c.wanted_mm, y0=level - 0.36, y1=level + 0.36,
            line={"color": colours.ink, "width": 3},
        )  # fmt: skip
        figure.add_trace(
            go.Scatter(
                x=[c.clearance_mm, then[c.gear]], y=[level, level], mode="lines+markers", hoverinfo="skip",
                line={"color": colours.soft, "width": 2},
                marker={
                    "size": [12, 16], "symbol": ["circle-open", "x" if short else "circle"],
                    "color": [colours.soft, colours.look if short else colours.after], "line": {"width": 2},
                },
            )
        )  # fmt: skip
        figure.add_annotation(
            x=max(c.clearance_mm, then[c.gear]), xanchor="left", xshift=14, y=level, showarrow=False,
            text=f"{then[c.gear]:.1f} mm" + (f", {c.wanted_mm - then[c.gear]:.1f} short" if short else ""),
            font={"color": colours.look if short else colours.ink},
        )  # fmt: skip
    figure.update_layout(margin={"l": 56, "r": 12, "t": 8, "b": 52}, dragmode=False)
    reach = [min(0.0, *then.values()), max(c.clearance_mm for c in hard), max(then.values())]
    room = {"range": [reach[0] - 0.1, max(reach[1:]) * 1.35 + 0.3], "nticks": 7}
    figure.update_xaxes(**axis(colours, title_text="room left in gear, mm (bar: wanted)", **room))
    names = {"tickvals": list(levels.values()), "ticktext": list(levels), "showgrid": False}
    figure.update_yaxes(**axis(colours, range=[-0.7, len(hard) - 0.3], **names))
    return figure
