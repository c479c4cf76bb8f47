"""The shock response spectrum of a knock, log over log."""

import numpy as np
import plotly.graph_objects as go

from dashboard.close_ups import Shock
from dashboard.figures.frame import axis, empty_figure
from dashboard.theme import Palette

HEIGHT_PX = 340
_NICE = (1, 2, 5)


def draw_shock(shock: Shock, colours: Palette) -> go.Figure:
    """The blow as a solid line, as long a stretch before it as a dotted grey one."""
    figure = empty_figure(colours, height_px=HEIGHT_PX)
    lines = (
        ("just before", shock.before, {"color": colours.out, "width": 2, "dash": "dot"}),
        ("the blow", shock.blow, {"color": colours.ink, "width": 2.5}),
    )
    for name, values, line in lines:
        figure.add_trace(
            go.Scatter(
                x=shock.frequency_hz, y=values, mode="lines", line=line, name=name,
                hovertemplate=f"{name}: %{{y:.3~g}} m/s² at %{{x:.0f}} Hz<extra></extra>",
            )
        )  # fmt: skip
    low, high = _reach(np.concatenate([shock.blow, shock.before]))
    figure.update_layout(
        margin={"l": 70, "r": 16, "t": 40, "b": 52}, hovermode="closest", dragmode=False, showlegend=True,
        legend={
            "orientation": "h", "x": 0, "y": 1.0, "yref": "container", "yanchor": "top", "traceorder": "reversed",
            "font": {"size": 16},
        },
    )  # fmt: skip
    span = [float(shock.frequency_hz[0]), float(shock.frequency_hz[-1])]
    figure.update_xaxes(**_log_axis(colours, span, "oscillator's own frequency, Hz"))
    figure.update_yaxes(**_log_axis(colours, [low, high], "greatest acceleration, m/s²"))
    return figure


def _reach(values: np.ndarray) -> tuple[float, float]:
    """A range over a decade at least, so that a flat line does not look like a mountain."""
    positive = values[values > 0]
    if not positive.size:
        return 0.1, 10.0
    low, high = float(positive.min()) / 1.2, float(positive.max()) * 1.2
    widen = max(np.sqrt(10 * low / high), 1.0)
    return low / widen, high * widen


def _log_axis(colours: Palette, span: list[float], title: str) -> dict[str, object]:
    """A logarithmic axis whose ticks are 1, 2 and 5 of each decade, in plain figures."""
    decades = range(int(np.floor(np.log10(span[0]))), int(np.ceil(np.log10(span[1]))) + 1)
    ticks = [n * 10.0**d for d in decades for n in _NICE if span[0] <= n * 10.0**d <= span[1]]
    return axis(
        colours, type="log", range=list(np.log10(span)), tickvals=ticks, ticktext=[f"{t:g}" for t in ticks],
        title_text=title,
    )  # fmt: skip
