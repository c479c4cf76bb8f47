"""Recordings made in memory."""

from collections.abc import Callable, Mapping

import numpy as np
import pytest

from shiftlog.model.car import Car
from shiftlog.model.drive import DriveHead, DriveLogs
from shiftlog.model.recording import Channel, Quality, Recording
from shiftlog.signal.clock_ticks import find_spans, measure_ticks


def recording(
    name: str,
    time_s: np.ndarray,
    columns: Mapping[str, np.ndarray],
    *,
    place: str = "body",
    clock: str | None = None,
    offset_s: float | None = None,
    mounting: np.ndarray | None = None,
    grows: Mapping[str, str] | None = None,
) -> Recording:
    """A recording with these channels, on a clock of its own unless told."""
    ticks = measure_ticks(time_s)
    spans = find_spans(time_s, ticks.gap_after)
    gaps = tuple((a[1], b[0]) for a, b in zip(spans, spans[1:], strict=False))
    quality = Quality(
        rate_hz=ticks.rate_hz,
        jitter_s=ticks.jitter_s,
        samples=time_s.size,
        duration_s=float(np.ptp(time_s)),
        gaps=gaps,
    )
    return Recording(
        name=name,
        place=place,
        file=f"{name}.csv",
        sha256="",
        size_bytes=0,
        clock=clock or name,
        channels=tuple(Channel(name=c, unit="", grows=(grows or {}).get(c)) for c in columns),
        time_s=time_s,
        values=np.column_stack(list(columns.values())),
        spans=spans,
        quality=quality,
        clock_offset_s=offset_s,
        mounting=mounting,
    )


def logs_of(*recordings: Recording) -> DriveLogs:
    """A drive of these recordings and nothing else."""
    return DriveLogs(head=DriveHead(id="d"), car=Car(name="x", gate=None), recordings=recordings)


@pytest.fixture
def make() -> Callable[..., Recording]:
    """Builds a recording."""
    return recording


@pytest.fixture(name="logs_of")
def logs_of_fixture() -> Callable[..., DriveLogs]:
    """Builds a drive."""
    return logs_of
