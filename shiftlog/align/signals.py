"""The drive's signals, each out of the recording that holds it best."""

from dataclasses import replace
from math import hypot

from shiftlog.align.lever_angles import LeverAngles, trace_lever_angles
from shiftlog.align.traces import in_vehicle_axes, trace_channels, while_held
from shiftlog.errors import CannotMeasure
from shiftlog.model.drive import Placed, Signals
from shiftlog.model.recording import ACCEL, GYRO, LEVER, Recording
from shiftlog.model.trace import Trace

TOWER = "tower"
"""Where the cables end: its channels are the same, and never the lever's."""
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
    lever = _best([trace_channels(p.recording, LEVER) for p in on_time if p.recording.place != TOWER])
    angles, why = (None, None) if lever else _lever_angles(placed)
    accel, turned = _accelerations(on_time)
    return Signals(
        lever=angles.trace if angles else lever,
        lever_grows=angles.grows if angles else _grows(on_time, lever),
        lever_u=angles.u_deg if angles else None,
        lever_why=why,
        lever_slips=_slips(placed, angles) if angles else (),
        tower=_best([trace_channels(p.recording, LEVER) for p in on_time if p.recording.place == TOWER]),
        accel=accel,
        accel_vehicle=turned,
        accel_why={p.recording.place: why for p in placed if p.recording.place not in accel and (why := _unused(p))},
        calibration={p.recording.name: p.recording.calibration for p in on_time if p.recording.has(*ACCEL)},
        clock_u_s={p.recording.name: p.clock.uncertainty_s for p in on_time if p.clock.uncertainty_s},
        accel_forward=_best([_forward(p.recording) for p in on_time if p.recording.place in _OF_THE_CAR]),
        yaw_rate=_best([_yaw_rate(p) for p in on_time]),
        **{name: _best([_single(p, name) for p in on_time]) for name in _SINGLE},
    )


def with_latencies(signals: Signals, placed: tuple[Placed, ...]) -> Signals:
    """Signals with how late vehicle speed comes, as its recording has it now."""
    speed = signals.vehicle_speed
    sources = [p for p in placed if speed is not None and p.recording.name == speed.recording]
    return replace(signals, vehicle_speed=_late(speed, sources[0], "vehicle_speed")) if sources else signals


def _single(placed: Placed, name: str) -> Trace | None:
    trace = trace_channels(placed.recording, (name,))
    return None if trace is None else _late(trace, placed, name)


def _late(trace: Trace, placed: Placed, name: str) -> Trace:
    """A channel's trace with how late it comes, as far as that was found, and how well that and its clock are known."""
    found = next((late for late in placed.latencies if late.channel == name), None)
    lag_s, u_s = (found.lag_s, found.uncertainty_s) if found else (0.0, 0.0)
    return replace(trace, late_s=lag_s, late_u_s=hypot(u_s or 0.0, placed.clock.uncertainty_s or 0.0))


def _lever_angles(placed: tuple[Placed, ...]) -> tuple[LeverAngles | None, str | None]:
    """The lever from two motion sensors where one rides on it, or why that cannot be."""
    try:
        return trace_lever_angles(tuple(while_held(p) for p in placed)), None
    except CannotMeasure as why:
        return None, str(why)


def _slips(placed: tuple[Placed, ...], angles: LeverAngles) -> tuple[str, ...]:
    """A line for each slip of one of the two motion sensors."""
    files = {p.recording.name: p.recording.file for p in placed}
    lever, body = files[angles.trace.recording], files[angles.body]
    return tuple(
        f"{lever if slip.of_lever else body}: the sensor turned in its holder by about {slip.turned_deg:.1f}° at "
        f"{slip.at_s:.1f} s; the lever's position is mended across that, and a second of it is left out. Fix the "
        "sensor firmly."
        for slip in angles.slips
    )


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
        here = [(p, t) for p in placed if p.recording.place == place and (t := trace_channels(p.recording, ACCEL))]
        if not here:
            continue
        raw[place] = max((trace for _, trace in here), key=lambda t: t.rate_hz)
        known = [(p, t) for p, _ in here if p.mounting.rotation is not None and (t := _while_held(p, ACCEL))]
        if known:
            best, trace = max(known, key=lambda item: item[1].rate_hz)
            turned[place] = replace(trace, values=in_vehicle_axes(trace.time_s, trace.values, best.mounting))
    return raw, turned


def _while_held(placed: Placed, names: tuple[str, ...]) -> Trace | None:
    return trace_channels(while_held(placed).recording, names)


def _unused(placed: Placed) -> str | None:
    """Why an accelerometer gives no acceleration; None where the recording holds none, or three axes on drive time."""
    recording = placed.recording
    dead = [axis for axis in ACCEL if axis in recording.quality.stuck]
    if dead and not recording.has(*ACCEL):
        return f"{recording.name}: {', '.join(dead)} never changes; check that sensor and its lead"
    if recording.has(*ACCEL) and not placed.on_drive_time:
        mend = f"; {placed.clock.mend}" if placed.clock.mend else ""
        return f"{recording.name} is not placed on the drive's clock{mend}"
    return None


def _forward(recording: Recording) -> Trace | None:
    """The car's own longitudinal acceleration, as a bus has it: accel_x without the other axes."""
    return None if recording.has("accel_y") or recording.has("accel_z") else trace_channels(recording, ("accel_x",))


def _yaw_rate(placed: Placed) -> Trace | None:
    known = placed.mounting.rotation is not None and placed.mounting.gyro_fits
    trace = _while_held(placed, GYRO) if known else None
    if trace is None:
        return None
    return replace(trace, values=in_vehicle_axes(trace.time_s, trace.values, placed.mounting)[:, 2])
