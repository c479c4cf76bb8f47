"""The lever's angles from two motion sensors: one on the lever, one on the body."""

from dataclasses import dataclass, replace

import numpy as np

from shiftlog.align.lever_slip import Slip, mend_slips
from shiftlog.align.traces import as_trace, at_limits, held_rows, in_vehicle_axes
from shiftlog.errors import CannotMeasure
from shiftlog.model.drive import Placed
from shiftlog.model.recording import ACCEL, BODY_PLACES, GYRO, Recording
from shiftlog.model.trace import Trace
from shiftlog.signal.clock_ticks import find_spans, measure_ticks
from shiftlog.signal.gyro_lag import fit_gyro_lag
from shiftlog.signal.motion_blocks import Sensed, cut_blocks, fit_fixed_turn
from shiftlog.signal.relative_attitude import RelativeAttitude, smooth_relative
from shiftlog.signal.rotate import rotate

# Gravity needs seconds to tell where the lever lay after a hole; shorter stretches show nothing of use.
SHORTEST_S = 2.0
# Over so long a hole of the body's sensor the lever's own gyro carries on: a car pitches by a degree meanwhile.
BRIDGED_S = 2.0
# Sides are right as long as the axes across are known better than this; a seat lies further off them.
SIDES_KNOWN_DEG = 15.0
# A forward axis that is less likely to be right than this may point backward.
AXES_SURE = 0.9
# What a body sensor that slipped may have kept of its tilt once its new mounting was found.
SLIP_U_DEG = 1.0
SLIP_S = 0.5
# By so much may the instant be off at which its mounting changed: so far around it is searched.
SLIP_NEAR_S = 30.0
# What two clocks that were matched by their signals may lie apart, and what both gyros leave of that.
CLOCK_U_S, LAG_U_S = 0.01, 0.003
# A declared mounting is taken at its word unless driving tells otherwise; a fit at standstill may be anything [rad].
DECLARED_U, FITTED_U = np.deg2rad(1.0), np.deg2rad(60.0)
GROWS = ("right", "forward")


@dataclass(frozen=True, eq=False, kw_only=True)
class LeverAngles:
    """The lever's rotation against the body.

    trace : values (n, 2) select, engage [deg], at the lever sensor's own instants
    u_deg : standard uncertainty of a reading that its noise does not show (drift, clocks, tilt)
    grows : ``("right", "forward")`` where the body's axes are known, else (None, None): the axes are then the two
    about which it turned most; body : name of the recording that served as the body's
    slips : where either sensor turned in its holder; the angles are mended across it
    """

    trace: Trace
    u_deg: float
    grows: tuple[str | None, str | None]
    body: str
    slips: tuple[Slip, ...] = ()


@dataclass(frozen=True, eq=False, kw_only=True)
class _Found:
    """The attitude, slips mended, and what it was made of; apart_s : what the two clocks may lie apart [s]."""

    smoothed: RelativeAttitude
    outer: Sensed
    apart_s: float
    slips: tuple[Slip, ...]


def trace_lever_angles(placed: tuple[Placed, ...]) -> LeverAngles | None:
    """Select and engage angle of a lever that carries a motion sensor; None where none does.

    CannotMeasure, with the reason, where the lever's sensor is there and what it takes beside it is not.
    """
    lever = next((p for p in placed if _is_lever(p)), None)
    if lever is None:
        return None
    body = _choose_body(placed)
    found = _find_attitude(lever, body)
    timed = _timed(body, found.slips)
    if timed is not body:
        body, found = timed, _find_attitude(lever, timed)
    smoothed = found.smoothed
    along_axes = bool(_axes_known(body) and np.rad2deg(smoothed.twist_u) < SIDES_KNOWN_DEG)
    angles = np.rad2deg(_angles(smoothed, along_axes=along_axes))
    return LeverAngles(
        trace=as_trace(lever.recording, smoothed.time_s, angles), body=body.recording.name, slips=found.slips,
        u_deg=_uncertainty_deg(found, body), grows=GROWS if along_axes else (None, None),
    )  # fmt: skip


def _find_attitude(lever: Placed, body: Placed) -> _Found:
    """How the lever's sensor lay to the body's, slips of either mended."""
    inner, outer = _sense(lever.recording), _in_body_axes(body)
    spans = _shared_spans(lever.recording, inner, outer, body)
    begin, begin_u = _begin(lever, body, inner, outer, spans)
    outer, apart_s = _brought_together(outer, inner, begin, one_clock=body.recording.clock == lever.recording.clock)
    spans = _shared_spans(lever.recording, inner, outer, body)
    blocks = cut_blocks(outer, inner, spans, begin)
    smoothed = smooth_relative(blocks, inner, outer, begin=begin, begin_u=begin_u)
    smoothed, slips = mend_slips(smoothed, inner, outer, on_body=body.recording.place == "body")
    return _Found(smoothed=smoothed, outer=outer, apart_s=apart_s, slips=slips)


def _slips_known(body: Placed) -> set[float]:
    return {body.mounting.slipped_at_s, *(from_s for from_s, _ in body.mounting.later)} - {None}


def _timed(body: Placed, slips: tuple[Slip, ...]) -> Placed:
    """The body's sensor with its mounting changing where the gyros felt it turn, rather than where driving told so."""
    moved = {}
    for known_s in _slips_known(body):
        felt = [s.at_s for s in slips if not s.of_lever and abs(s.at_s - known_s) < SLIP_NEAR_S]
        nearest_s = min(felt, key=lambda at_s: abs(at_s - known_s), default=known_s)
        if abs(nearest_s - known_s) > SLIP_S:
            moved[known_s] = nearest_s
    if not moved:
        return body
    mounting = body.mounting
    return replace(
        body,
        mounting=replace(
            mounting,
            slipped_at_s=moved.get(mounting.slipped_at_s, mounting.slipped_at_s),
            later=tuple((moved.get(from_s, from_s), rotation) for from_s, rotation in mounting.later),
        ),
    )


def _is_lever(item: Placed) -> bool:
    recording = item.recording
    moves = recording.place == "lever" and recording.has(*ACCEL, *GYRO)
    return moves and item.on_drive_time and not recording.has("select", "engage")


def _choose_body(placed: tuple[Placed, ...]) -> Placed:
    """The recording that tells how the body moves: by place, then by rate."""
    there = [p for p in placed if p.recording.place in BODY_PLACES and p.recording.has(*ACCEL, *GYRO)]
    ready = [p for p in there if p.on_drive_time]
    if not there:
        raise CannotMeasure(
            "the lever carries a motion sensor, but nothing tells how the body moves: fit a second one (accelerometer "
            "and gyro) to the body, near the lever"
        )
    if not ready:
        name, why = there[0].recording.name, there[0].clock.why or "it is not placed"
        raise CannotMeasure(f"the lever's angles need {name} on the drive's clock: {why}")
    return min(ready, key=lambda p: (BODY_PLACES.index(p.recording.place), -p.recording.quality.rate_hz))


def _begin(
    lever: Placed, body: Placed, inner: Sensed, outer: Sensed, spans: tuple[tuple[float, float], ...]
) -> tuple[np.ndarray, float]:
    """Lever axes to the body's as declared, or as they fit best, and how far off about the upright [rad]."""
    if lever.mounting.how == "declared" and _axes_known(body):
        return lever.mounting.rotation, DECLARED_U
    return fit_fixed_turn(outer, inner, spans), FITTED_U


def _brought_together(outer: Sensed, inner: Sensed, begin: np.ndarray, *, one_clock: bool) -> tuple[Sensed, float]:
    """The body's sensor without the lag that is left between the clocks, and how sure that is [s]."""
    if one_clock:
        return outer, 0.0
    lag_s = fit_gyro_lag(outer.gyro_s, outer.rates, inner.gyro_s, rotate(inner.rates, begin))
    if lag_s is None:
        return outer, CLOCK_U_S
    return replace(outer, gyro_s=outer.gyro_s - lag_s, accel_s=outer.accel_s - lag_s), LAG_U_S


def _axes_known(body: Placed) -> bool:
    mounting = body.mounting
    return mounting.rotation is not None and (mounting.confidence is None or mounting.confidence >= AXES_SURE)


def _sense(recording: Recording) -> Sensed:
    gyro_s, rates = held_rows(recording, GYRO)
    accel_s, force = held_rows(recording, ACCEL)
    if gyro_s.size < 2 or accel_s.size < 2:
        raise CannotMeasure(f"{recording.name}: accelerometer or gyro holds no values; check its wiring")
    clipped = at_limits(recording, GYRO, rates)
    return Sensed(gyro_s=gyro_s, rates=rates, accel_s=accel_s, force=force, clipped=clipped)


def _in_body_axes(body: Placed) -> Sensed:
    """The body's sensor, turned to vehicle axes where its mounting is known, doubtful or not."""
    sensed = _sense(body.recording)
    if body.mounting.rotation is None:
        return sensed
    rates = in_vehicle_axes(sensed.gyro_s, sensed.rates, body.mounting)
    return replace(sensed, rates=rates, force=in_vehicle_axes(sensed.accel_s, sensed.force, body.mounting))


def _shared_spans(lever: Recording, inner: Sensed, outer: Sensed, body: Placed) -> tuple[tuple[float, float], ...]:
    """Stretches in which the lever's sensor ran without a hole, the body's with short ones, and none slipped."""
    ran = [find_spans(s, measure_ticks(s).gap_after) for s in (inner.gyro_s, inner.accel_s)]
    bridged = [_bridged(s) for s in (outer.gyro_s, outer.accel_s)]
    spans = ran[0]
    for others in (ran[1], *bridged, _between_slips(body)):
        spans = [(max(a, c), min(b, d)) for a, b in spans for c, d in others if min(b, d) > max(a, c)]
    spans = tuple((a, b) for a, b in spans if b - a >= SHORTEST_S)
    if not spans:
        raise CannotMeasure(f"{lever.name} and the body's sensor share no {SHORTEST_S:g} s without a hole")
    return spans


def _bridged(time_s: np.ndarray) -> tuple[tuple[float, float], ...]:
    return find_spans(time_s, np.flatnonzero(np.diff(time_s) > BRIDGED_S))


def _between_slips(body: Placed) -> tuple[tuple[float, float], ...]:
    edges = [-np.inf, *(s + d for s in sorted(_slips_known(body)) for d in (-SLIP_S, SLIP_S)), np.inf]
    return tuple((a, b) for a, b in zip(edges[::2], edges[1::2], strict=True) if b > a)


def _angles(smoothed: RelativeAttitude, *, along_axes: bool) -> np.ndarray:
    """Rotation against the mean attitude about the body's x and y, or about the two axes it turned about most."""
    turned = (smoothed.attitude * smoothed.attitude.mean().inv()).as_rotvec()
    if along_axes:
        return turned[:, :2]
    across = turned - np.outer(turned @ smoothed.upright, smoothed.upright)
    axes = np.linalg.eigh(np.cov(across.T))[1]
    return across @ axes[:, [1, 2]]


def _uncertainty_deg(found: _Found, body: Placed) -> float:
    """Drift that is left, what the body turns while clocks may be apart, and what is left of slips."""
    smoothed, outer = found.smoothed, found.outer
    rates = outer.rates - np.median(outer.rates, axis=0)
    leaning = rates - np.outer(rates @ smoothed.upright, smoothed.upright)
    clocks = found.apart_s * float(np.sqrt(np.mean(np.sum(leaning**2, axis=1)) / 2))
    mended = [slip.at_s for slip in found.slips]
    bare = [s for s in _slips_known(body) if all(abs(s - at_s) > SLIP_S for at_s in mended)]
    slipped = np.hypot(SLIP_U_DEG if bare else 0.0, np.linalg.norm([slip.u_deg for slip in found.slips]))
    return float(np.hypot(np.rad2deg(np.hypot(smoothed.tilt_u, clocks)), slipped))
