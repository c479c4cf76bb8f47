"""A recording made in memory out of times and columns."""

from collections.abc import Mapping

import numpy as np

from shiftlog.model.recording import Channel, Quality, Recording
from shiftlog.signal.clipping import find_limits
from shiftlog.signal.clock_ticks import find_spans, measure_ticks


def make_recording(
    name: str,
    time_s: np.ndarray,
    columns: Mapping[str, np.ndarray],
    *,
    place: str = "body",
    clock: str | None = None,
    offset_s: float | None = None,
    mounting: np.ndarray | None = None,
    grows: Mapping[str, str] | None = None,
    with_limits: bool = False,
) -> Recording:
    """A recording with these channels, on a clock of its own unless told; with_limits : where its sensors clip."""
    ticks = measure_ticks(time_s)
    spans = find_spans(time_s, ticks.gap_after)
    quality = Quality(
        rate_hz=ticks.rate_hz, jitter_s=ticks.jitter_s, samples=time_s.size, duration_s=float(np.ptp(time_s)),
        gaps=tuple((a[1], b[0]) for a, b in zip(spans, spans[1:], strict=False)),
    )  # fmt: skip
    channels = tuple(
        Channel(
            name=c,
            unit="",
            grows=(grows or {}).get(c),
            limits=find_limits(column, rests=False) if with_limits else None,
        )
        for c, column in columns.items()
    )
    return Recording(
        name=name, place=place, file=f"{name}.csv", sha256="", size_bytes=0, clock=clock or name, channels=channels,
        time_s=time_s, values=np.column_stack(list(columns.values())), spans=spans, quality=quality,
        clock_offset_s=offset_s, mounting=mounting,
    )  # fmt: skip
