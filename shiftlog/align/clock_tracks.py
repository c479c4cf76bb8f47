"""What the recordings of one clock hold that another clock's could hold too."""

from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from shiftlog.align.traces import held_rows, new_rows
from shiftlog.model.recording import ACCEL, BODY_PLACES, GYRO, Recording
from shiftlog.signal.clock_ticks import find_spans, measure_ticks
from shiftlog.signal.even_band import thin_out
from shiftlog.signal.order_image import HOP_S, draw_orders, draw_vibration

_ENOUGH_HZ = 64.0
"""A car, a gearbox and a phone shake alike up to some 12 Hz; a few times as much is enough."""

_LEAST_VIBRATION_HZ = 150.0
"""The firing order of a four-cylinder at 1,800 rpm lies at 60 Hz."""

_SITTING_S = 1800.0
"""After half an hour of nothing the drive is another one."""

_PLACE_RANK = (*BODY_PLACES, "lever", "pedal")
"""The stiffer the place goes with the body, the more its shaking is that of every other place."""


@dataclass(frozen=True, eq=False, kw_only=True)
class ClockTrack:
    """One signal in its recorder's own time.

    time_s (n,), values (n, k), spans that hold data; rate_hz of new values
    recording, place : where it comes from; receiver : whether a satellite receiver made it
    """

    time_s: np.ndarray
    values: np.ndarray
    spans: tuple[tuple[float, float], ...]
    rate_hz: float
    recording: str
    place: str
    receiver: bool = False


def find_tracks(recordings: tuple[Recording, ...], kind: str) -> list[ClockTrack]:
    """The tracks of a kind, the most telling first: ``accel``, ``gyro``, ``vehicle_speed``, ``engine_speed``, or
    pictures of engine orders: ``vibration`` and ``orders``."""
    if kind in ("accel", "gyro"):
        return [_thinned(track) for track in _raw_tracks(recordings, kind)]
    if kind == "vibration":
        shaken = [t for t in _raw_tracks(recordings, "accel") if t.rate_hz >= _LEAST_VIBRATION_HZ]
        return [_pictured(t, *draw_vibration(t.time_s, t.values, rate_hz=t.rate_hz)) for t in shaken]
    if kind == "orders":
        turned = _raw_tracks(recordings, "engine_speed")
        return [_pictured(t, *draw_orders(t.time_s, t.values[:, 0])) for t in turned]
    return _raw_tracks(recordings, kind)


def _raw_tracks(recordings: tuple[Recording, ...], kind: str) -> list[ClockTrack]:
    names = {"accel": ACCEL, "gyro": GYRO}.get(kind, (kind,))
    tracks = [track for r in recordings if (track := _track(r, names)) is not None]
    if kind == "accel":
        tracks += [track for r in recordings if not r.has(*ACCEL) and (track := _track(r, ("accel_x",))) is not None]
    return sorted(tracks, key=lambda t: (t.receiver, _PLACE_RANK.index(t.place), -t.rate_hz))


def _thinned(track: ClockTrack) -> ClockTrack:
    """At a rate at which comparing is quick, with nothing folded down from above."""
    if track.rate_hz < 2 * _ENOUGH_HZ:
        return track
    time, values = thin_out(track.time_s, track.values, rate_hz=_ENOUGH_HZ)
    return replace(track, time_s=time, values=values, rate_hz=_ENOUGH_HZ)


def _pictured(track: ClockTrack, time_s: np.ndarray, picture: np.ndarray) -> ClockTrack:
    return replace(track, time_s=time_s, values=picture, rate_hz=min(1 / HOP_S, track.rate_hz))


def _track(recording: Recording, names: tuple[str, ...]) -> ClockTrack | None:
    if not recording.has(*names):
        return None
    time, values = new_rows(recording, names) if len(names) == 1 else held_rows(recording, names)
    sitting = _longest_sitting(time)
    time, values = time[sitting], values[sitting]
    if time.size < 20 or np.all(np.ptp(values, axis=0) == 0):
        return None
    ticks = measure_ticks(time)
    return ClockTrack(
        time_s=time,
        values=values,
        spans=find_spans(time, ticks.gap_after),
        rate_hz=ticks.rate_hz,
        recording=recording.name,
        place=recording.place,
        receiver="vehicle_speed" in names and recording.has("latitude"),
    )


def _longest_sitting(time_s: np.ndarray) -> slice:
    """Of a log that goes on after hours of nothing, the rows of the sitting with most of them."""
    edges = [0, *(np.flatnonzero(np.diff(time_s) > _SITTING_S) + 1), time_s.size]
    return max((slice(a, b) for a, b in pairwise(edges)), key=lambda s: s.stop - s.start)
