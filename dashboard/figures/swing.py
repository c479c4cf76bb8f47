"""The driveline's swing after take-up: what was measured, the fitted curve over it, its envelope."""

import numpy as np
import plotly.graph_objects as go

from dashboard import words
from dashboard.close_ups import SwingPicture
from dashboard.figures.frame import axis, empty_figure
from dashboard.theme import Palette
from shiftlog.model.shift import Shift

HEIGHT_PX = 360
LEAST_SPAN_MPS2 = 1.0
"""Less acceleration than this over the whole height would blow up noise."""
LOGGED_PERCENT = (1.0, 99.0)
"""Of what was logged lies within the picture at the least."""
_TOLD = ("shuffle_hz", "shuffle_damping", "shuffle_amplitude_mps2")


def draw_swing(swing: SwingPicture, colours: Palette) -> go.Figure:
    """Dots: measured. Thick line: fitted. Dashed: the envelope about the drive's own course. Thin grey: as logged."""
    figure = empty_figure(colours, height_px=HEIGHT_PX)
    _add(figure, swing.logged_s, swing.logged, "as logged", {"color": colours.out, "width": 1})
    course = np.interp(swing.envelope_s, swing.time_s, swing.trend)
    for sign in (1, -1):
        name = "envelope" if sign > 0 else "envelope, below"
        _add(figure, swing.envelope_s, course + sign * swing.envelope, name, _dashed(colours), legend=sign > 0)
    _add(figure, swing.time_s, swing.fitted, "fitted", {"color": colours.look, "width": 2.5})
    figure.add_trace(
        go.Scatter(
            x=swing.time_s, y=swing.values, mode="markers", name="measured", marker={"size": 5, "color": colours.ink},
            hovertemplate="measured: %{y:.3~g} m/s² at %{x:.2f} s<extra></extra>",
        )
    )  # fmt: skip
    figure.update_layout(
        margin={"l": 66, "r": 12, "t": 66, "b": 52}, hovermode="closest", dragmode=False, showlegend=True,
        legend={"orientation": "h", "x": 0, "y": 1.0, "yref": "container", "yanchor": "top", "font": {"size": 16}},
    )  # fmt: skip
    span = [float(min(swing.logged_s[:1].min(initial=swing.time_s[0]), swing.envelope_s[0])), float(swing.time_s[-1])]
    figure.update_xaxes(**axis(colours, range=span, title_text="drive time, s", nticks=5, tickangle=0))
    figure.update_yaxes(**axis(colours, range=_reach(swing, course), title_text="forward, m/s²", nticks=6))
    return figure


def _add(
    figure: go.Figure, time_s: np.ndarray, values: np.ndarray, name: str, line: dict, *, legend: bool = True
) -> None:
    hover = f"{name}: %{{y:.3~g}} m/s² at %{{x:.2f}} s<extra></extra>"
    figure.add_trace(
        go.Scatter(x=time_s, y=values, mode="lines", line=line, name=name, showlegend=legend, hovertemplate=hover)
    )


def _dashed(colours: Palette) -> dict[str, object]:
    return {"color": colours.soft, "width": 1.5, "dash": "dash"}


def _reach(swing: SwingPicture, course: np.ndarray) -> list[float]:
    """All that was fitted and its envelope; a spike of the road in what was logged may run out of the picture."""
    logged = np.percentile(swing.logged, LOGGED_PERCENT) if swing.logged.size else np.zeros(0)
    drawn = np.concatenate([swing.values, swing.fitted, course + swing.envelope, course - swing.envelope, logged])
    low, high = float(drawn.min()), float(drawn.max())
    room = max(LEAST_SPAN_MPS2 - (high - low), 0.0) / 2 + 0.06 * (high - low)
    return [low - room, high + room]


def swing_words(shift: Shift) -> str:
    """Frequency, damping ratio and amplitude, each with its standard uncertainty."""
    told = [shift.readings[key] for key in _TOLD if key in shift.readings and shift.value(key) is not None]
    parts = [f"{words.label(r.key).lower()} {words.value(r.key, r.value)} {words.plus_minus(r)}".rstrip() for r in told]
    text = words.sentence_list(parts)
    return f"{text[:1].upper()}{text[1:]} (±: one standard uncertainty)." if parts else ""
