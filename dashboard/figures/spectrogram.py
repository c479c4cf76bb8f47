"""The sound around a shift: time across, frequency up, darker where louder, with the tones a clash could have."""

import numpy as np
import plotly.graph_objects as go

from dashboard import words
from dashboard.close_ups import Spectrogram, Track
from dashboard.figures.frame import axis, empty_figure
from dashboard.figures.phases import add_rule, shift_instants
from dashboard.theme import Palette
from shiftlog.model.shift import Shift

HEIGHT_PX, HEAD_PX = 380, 62
SHOWN_DB = 50.0
"""From the loudest downwards; what lies deeper is drawn as ground."""
HEADROOM, MOST_OVER = 1.06, 2.0
"""Above the highest line, and of the recorder's band: at twice of it the sound has half of the picture left."""
LOUD_SHARE = 99.7
"""Per cent of the picture that lies below the darkest shade, so that one click does not bleach the rest."""


def draw_spectrogram(heard: Spectrogram, shift: Shift, colours: Palette) -> go.Figure:
    """Levels in shades of ink, the shift's instants as rules, the highest clash tone and its steady fall over them."""
    figure = empty_figure(colours, height_px=HEIGHT_PX)
    loudest = float(np.percentile(heard.level_db, LOUD_SHARE))
    figure.add_trace(
        go.Heatmap(
            x=heard.time_s, y=heard.frequency_hz, z=np.round(heard.level_db, 1), name="sound",
            zmin=loudest - SHOWN_DB, zmax=loudest, colorscale=[[0, colours.card], [1, colours.ink]],
            colorbar={
                "title": {"text": "dB", "font": {"size": 16}}, "thickness": 12, "outlinewidth": 0, "nticks": 4,
                "tickfont": {"size": 16, "color": colours.soft}, "len": 1.0, "xpad": 4,
            },
            hovertemplate="%{z:.0f} dB at %{y:.0f} Hz, %{x:.2f} s<extra></extra>",
        )
    )  # fmt: skip
    if heard.track is not None:
        _add_track(figure, heard.track, colours)
    if _shown_to_hz(heard) > heard.top_hz:
        _add_limit(figure, heard, colours)
    for number, (time_s, name) in enumerate(shift_instants(shift)):
        add_rule(figure, time_s, name, colours, low=number % 2 == 1, above=True)
    span = [float(heard.time_s[0]), float(heard.time_s[-1])]
    figure.update_layout(margin={"l": 62, "r": 8, "t": HEAD_PX, "b": 52}, dragmode=False, hovermode="closest")
    figure.update_xaxes(**axis(colours, range=span, title_text="drive time, s", nticks=5, tickangle=0, showgrid=False))
    figure.update_yaxes(
        **axis(
            colours,
            range=[float(heard.frequency_hz[0]), _shown_to_hz(heard)],
            title_text="frequency, Hz",
            nticks=6,
            showgrid=False,
        )
    )
    return figure


def _shown_to_hz(heard: Spectrogram) -> float:
    """As high as the recorder hears, or as the lines go, unless that is too far for the sound to be seen."""
    if heard.track is None or heard.track.highest_hz <= heard.top_hz:
        return heard.top_hz
    return min(HEADROOM * heard.track.highest_hz, MOST_OVER * heard.top_hz)


def _add_limit(figure: go.Figure, heard: Spectrogram, colours: Palette) -> None:
    """A rule up to where the recorder hears: above it nothing could be drawn."""
    figure.add_hline(
        y=heard.top_hz, line={"color": colours.soft, "width": 2, "dash": "dot"},
        annotation={"text": "not heard above", "font": {"size": 16, "color": colours.soft}, "xanchor": "left", "x": 0},
        annotation_position="top left",
    )  # fmt: skip


def _add_track(figure: go.Figure, track: Track, colours: Palette) -> None:
    """Solid: the highest tone the speeds allow. Dashed: one that falls to nothing as the shafts come together."""
    first_s, last_s = track.span_s
    lines = (
        ("clash, highest tone", [track.from_hz, track.to_hz], "solid"),
        ("clash, falling", [track.from_hz, 0.0], "dash"),
    )
    for name, heights, dash in lines:
        for colour, width in ((colours.card, 6), (colours.look, 3)):
            figure.add_trace(
                go.Scatter(
                    x=[first_s, last_s], y=heights, mode="lines", line={"color": colour, "width": width, "dash": dash},
                    name=name if colour == colours.look else f"{name}, edge",
                    hovertemplate=f"{name}: %{{y:.0f}} Hz<extra></extra>",
                )
            )  # fmt: skip


def track_words(heard: Spectrogram) -> str:
    """What the lines over the picture mean, or why there are none."""
    if heard.track is None:
        return f"No clash tone is drawn: {heard.why}."
    tone = words.figure(heard.track.highest_hz, "Hz")
    text = (
        f"Orange-red: the tone of clashing teeth, {tone} at the most by the speeds and by coasting, while teeth could "
        "touch; dashed, if it falls steadily to nothing. A clash may sound anywhere below the solid line."
    )
    if heard.track.highest_hz <= heard.top_hz:
        return text
    text += f" This recorder hears up to {words.figure(heard.top_hz, 'Hz')} only: a clash above that is not excluded."
    cut = min(heard.track.from_hz, heard.track.to_hz) > _shown_to_hz(heard)
    return f"{text} The solid line lies above the picture." if cut else text
