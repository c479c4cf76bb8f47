"""The drive's signals, each out of the recording that holds it best."""

from dataclasses import replace

import numpy as np

from shiftlog.align.lever_angles import LeverAngles, trace_lever_angles
from shiftlog.errors import CannotMeasure
from shiftlog.model.drive import Mounting, Placed, Signals
from shiftlog.model.recording import ACCEL, GYRO, LEVER, Recording
from shiftlog.model.trace import Trace
from shiftlog.signal.clock_ticks import find_spans, measure_ticks
from shiftlog.signal.renewal import find_renewals
from shiftlog.signal.rotate import rotate

_OF_THE_CAR = ("body", "engine")
"""Where a bus is listed that gives the car's own acceleration."""

_SINGLE = (
    "engine_speed",
    "vehicle_speed",
    "clutch",
    "throttle",
    "brake",
    "lever_force",
    "gearbox_temp",
)


def build_signals(placed: tuple[Placed, ...]) -> Signals:
    """Signals of all recordings on drive time; of two that hold one, that with more new values a second."""
    on_time = [p for p in placed if p.on_drive_time]
    lever = _best([_trace(p.recording, LEVER) for p in on_time])
    angles, why = (None, None) if lever else _lever_angles(placed)
    accel, turned = _accelerations(on_time)
    return Signals(
        lever=angles.trace if angles else lever,
        lever_grows=angles.grows if angles else _grows(on_time, lever),
        lever_u=angles.u_deg if angles else None,
        lever_why=why,
        accel=accel,
        accel_vehicle=turned,
        calibration={p.recording.name: p.recording.calibration for p in on_time if p.recording.has(*ACCEL)},
        clock_u_s={p.recording.name: p.clock.uncertainty_s for p in on_time if p.clock.uncertainty_s},
        accel_forward=_best([_forward(p.recording) for p in on_time if p.recording.place in _OF_THE_CAR]),
        yaw_rate=_best([_yaw_rate(p) for p in on_time]),
        **{name: _best([_trace(p.recording, (name,)) for p in on_time]) for name in _SINGLE},
    )


def _lever_angles(placed: tuple[Placed, ...]) -> tuple[LeverAngles | None, str | None]:
    """The lever from two motion sensors where one rides on it, or why that cannot be."""
    try:
        return trace_lever_angles(placed), None
    except CannotMeasure as why:
        return None, str(why)


def _best(traces: list[Trace | None]) -> Trace | None:
    return max((t for t in traces if t is not None), key=lambda t: t.rate_hz, default=None)


def _grows(placed: list[Placed], lever: Trace | None) -> tuple[str | None, str | None]:
    if lever is None:
        return None, None
    recording = next(p.recording for p in placed if p.recording.name == lever.recording)
    select, engage = (recording.channel(name) for name in LEVER)
    return (select.grows if select else None), (engage.grows if engage else None)


def _accelerations(placed: list[Placed]) -> tuple[dict[str, Trace], dict[str, Trace]]:
    """Acceleration by place, in sensor axes and, where the mounting is known, in vehicle axes."""
    raw: dict[str, Trace] = {}
    turned: dict[str, Trace] = {}
    for place in dict.fromkeys(p.recording.place for p in placed):
        here = [(p, t) for p in placed if p.recording.place == place and (t := _trace(p.recording, ACCEL))]
        if not here:
            continue
        raw[place] = max((trace for _, trace in here), key=lambda t: t.rate_hz)
        known = [(p, t) for p, t in here if p.mounting.rotation is not None]
        if known:
            best, trace = max(known, key=lambda item: item[1].rate_hz)
            turned[place] = _turned(trace, best.mounting)
    return raw, turned


def _forward(recording: Recording) -> Trace | None:
    """The car's own longitudinal acceleration, as a bus has it: accel_x without the other axes."""
    return None if recording.has("accel_y") or recording.has("accel_z") else _trace(recording, ("accel_x",))


def _yaw_rate(placed: Placed) -> Trace | None:
    trace = None if placed.mounting.rotation is None else _trace(placed.recording, GYRO)
    if trace is None:
        return None
    turned = _turned(trace, placed.mounting)
    return _with_values(turned, turned.values[:, 2])


def _turned(trace: Trace, mounting: Mounting) -> Trace:
    """In vehicle axes, each stretch between slips by its own rotation."""
    values = rotate(trace.values, mounting.rotation)
    for from_s, rotation in mounting.later:
        after = trace.time_s >= from_s
        values[after] = rotate(trace.values[after], rotation)
    return _with_values(trace, values)


def _with_values(trace: Trace, values: np.ndarray) -> Trace:
    return replace(trace, values=values)


def _trace(recording: Recording, names: tuple[str, ...]) -> Trace | None:
    """The channels of a recording where all of them hold a value; rows that only repeat are left out.

    None where a channel is not there, or holds fewer than two values.
    """
    if not recording.has(*names):
        return None
    values = np.stack([recording.column(name) for name in names], axis=1)
    rows = _new_rows(values)
    if rows.size < 2:
        return None
    time = recording.time_s[rows]
    ticks = measure_ticks(time)
    return Trace(
        time_s=time,
        values=values[rows, 0] if len(names) == 1 else values[rows],
        spans=find_spans(time, ticks.gap_after),
        rate_hz=ticks.rate_hz,
        recording=recording.name,
        place=recording.place,
        clipped=_clipped(recording, names, values[rows]),
    )


def _clipped(recording: Recording, names: tuple[str, ...], values: np.ndarray) -> np.ndarray | None:
    """Rows in which any channel lies at a limit of its sensor, (n,) bool; None where none does."""
    limits = np.array([recording.channel(name).limits or (-np.inf, np.inf) for name in names])
    hit = np.any((values <= limits[:, 0]) | (values >= limits[:, 1]), axis=1)
    return hit if hit.any() else None


def _new_rows(values: np.ndarray) -> np.ndarray:
    """Rows without a hole; of forward-filled columns those that bring a new value, where all columns are."""
    held = np.flatnonzero(np.all(np.isfinite(values), axis=1))
    renewed = [find_renewals(column) for column in values.T]
    if any(rows is None for rows in renewed):
        return held
    return np.intersect1d(held, np.unique(np.concatenate(renewed)))
