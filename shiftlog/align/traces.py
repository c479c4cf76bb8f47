"""Channels of a recording that belong together: their rows, as a trace, and turned to the vehicle's axes."""

from dataclasses import replace

import numpy as np

from shiftlog.model.drive import Mounting, Placed
from shiftlog.model.recording import Recording
from shiftlog.model.trace import Trace
from shiftlog.signal.clock_ticks import find_spans, measure_ticks
from shiftlog.signal.renewal import find_renewals
from shiftlog.signal.rotate import rotate


def held_rows(recording: Recording, names: tuple[str, ...]) -> tuple[np.ndarray, np.ndarray]:
    """Times (n,) and values (n, k) of the rows in which all these channels hold a value. KeyError where one is not
    there."""
    values = np.stack([recording.column(name) for name in names], axis=1)
    rows = np.all(np.isfinite(values), axis=1)
    return recording.time_s[rows], values[rows]


def new_rows(recording: Recording, names: tuple[str, ...]) -> tuple[np.ndarray, np.ndarray]:
    """As ``held_rows``; of forward-filled channels only the rows that bring a new value, where all of them are."""
    renewed = [find_renewals(recording.column(name)) for name in names]
    time_s, values = held_rows(recording, names)
    if any(rows is None for rows in renewed):
        return time_s, values
    new = np.isin(time_s, recording.time_s[np.concatenate(renewed)])
    return time_s[new], values[new]


def trace_channels(recording: Recording, names: tuple[str, ...]) -> Trace | None:
    """The new rows of these channels, (n,) for one and (n, k) for more; None where one is not there, or under two."""
    if not recording.has(*names):
        return None
    time_s, values = new_rows(recording, names)
    if time_s.size < 2:
        return None
    hit = at_limits(recording, names, values)
    values = values[:, 0] if len(names) == 1 else values
    return as_trace(recording, time_s, values, clipped=hit if hit.any() else None)


def as_trace(
    recording: Recording, time_s: np.ndarray, values: np.ndarray, *, clipped: np.ndarray | None = None
) -> Trace:
    """Values at these instants as a trace that comes from the recording."""
    ticks = measure_ticks(time_s)
    return Trace(
        time_s=time_s, values=values, spans=find_spans(time_s, ticks.gap_after), rate_hz=ticks.rate_hz,
        recording=recording.name, place=recording.place, clipped=clipped,
    )  # fmt: skip


def at_limits(recording: Recording, names: tuple[str, ...], values: np.ndarray) -> np.ndarray:
    """Rows of values (n, k) in which any of these channels lies at a limit of its sensor, (n,) bool."""
    low, high = np.array([recording.channel(name).limits or (-np.inf, np.inf) for name in names]).T
    return np.any((values <= low) | (values >= high), axis=1)


def while_held(placed: Placed) -> Placed:
    """Without the rows in which nobody knows how the sensor lay."""
    recording = placed.recording
    rows = placed.mounting.holds(recording.time_s)
    if rows.all():
        return placed
    kept = replace(recording, time_s=recording.time_s[rows], values=recording.values[rows])
    return replace(placed, recording=kept)


def in_vehicle_axes(time_s: np.ndarray, values: np.ndarray, mounting: Mounting) -> np.ndarray:
    """Values (n, 3) in sensor axes turned to the vehicle's, each stretch between slips by its own rotation."""
    turned = rotate(values, mounting.rotation)
    for from_s, rotation in mounting.later:
        after = time_s >= from_s
        turned[after] = rotate(values[after], rotation)
    return turned
