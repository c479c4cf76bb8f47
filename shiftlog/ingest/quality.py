"""What a log itself is worth: rate, gaps, clipping, noise, bandwidth, stuck channels."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from shiftlog.ingest.beats import whole_rows
from shiftlog.model.recording import LEVER, Channel, Quality, Recording
from shiftlog.signal.band_top import find_band_top
from shiftlog.signal.clipping import find_limits
from shiftlog.signal.clock_ticks import Ticks, find_spans
from shiftlog.signal.renewal import find_period, find_renewals
from shiftlog.signal.resolution import find_resolution
from shiftlog.signal.robust import step_noise

_TRUSTED_SHARE = 0.4
"""Of the sampling rate; what lies above is bent by the sensor's own filter (definition of knock and grind)."""

_QUIET_S = 1.0
_STILL_SIGMAS = 8.0
"""A lever that stays within this many standard deviations of its own noise, rounding counted, has not moved."""

_SELDOM_ROWS = 1.5
"""A channel new no more seldom than this many rows is new with the rows: jitter makes no other rate."""

_COARSEST = {"count": 16.0, "V": 0.02, "mm": 0.2, "deg": 0.5}
"""Steps between readings larger than these are travel of the lever and no rounding (common practice, no source)."""

_MOTION = ("accel_", "gyro_")
_STUCK_MATTERS = ("accel", "gyro", "select", "engage", "engine_speed", "vehicle_speed", "lever_force")


def measure_quality(
    time_s: np.ndarray,
    values: np.ndarray,
    channels: tuple[Channel, ...],
    *,
    beats: np.ndarray,
    ticks: Ticks,
    mended: Mapping[str, int],
) -> Quality:
    """Quality of a log: time_s (n,) [s], values (n, c) in the channels' units; beats (m,) [s] with their ticks."""
    spans = find_spans(beats, ticks.gap_after)
    accel = [i for i, c in enumerate(channels) if c.name.startswith("accel_")]
    felt, felt_hz = whole_rows(time_s, values[:, accel])
    clipped = {c.name: n for i, c in enumerate(channels) if (n := _count_clipped(values[:, i], c))}
    return Quality(
        rate_hz=ticks.rate_hz,
        jitter_s=ticks.jitter_s,
        samples=int(beats.size),
        duration_s=float(time_s[-1] - time_s[0]),
        gaps=tuple((a[1], b[0]) for a, b in zip(spans, spans[1:], strict=False)),
        dropped=ticks.missing,
        mended=dict(mended),
        clipped=sum(clipped.values()),
        clipped_by=clipped,
        noise_mps2=_noise_floor(felt, felt_hz) if len(felt) else None,
        bandwidth_hz=_bandwidth(felt, [channels[i] for i in accel], felt_hz) if len(felt) else None,
        stuck=tuple(c.name for i, c in enumerate(channels) if _is_stuck(values[:, i], c)),
        renewed_s=_find_slow(time_s, values, channels, rate_hz=ticks.rate_hz),
    )


def describe_channel(channel: Channel, values: np.ndarray) -> Channel:
    """The channel with the resolution and the clipping limits that its values (n,) show."""
    finite = values[np.isfinite(values)]
    return replace(channel, resolution=find_resolution(finite), limits=_limits(channel, finite))


def find_dead(recording: Recording) -> list[tuple[tuple[str, ...], str]]:
    """Channels of sensors that tell nothing, each group with the reason: a lever that, or of which one axis, does not
    move; axes of a motion sensor that never change, as even one at rest trembles."""
    lever, still = _find_still_lever(recording), [n for n in recording.quality.stuck if n.startswith(_MOTION)]
    found = [(LEVER, lever)] if lever else []
    if still:
        verb = "never changes" if len(still) == 1 else "never change"
        found.append(
            (tuple(still), f"{', '.join(still)} {verb} in {recording.quality.duration_s:.3g} s: no motion is told.")
        )
    return found


def _find_still_lever(recording: Recording) -> str | None:
    """Why the lever of a recording cannot be used because it, or one of its axes, does not move; None where both do."""
    axes = [name for name in ("select", "engage") if recording.has(name)]
    columns = [recording.column(name) for name in axes]
    units = [recording.channel(name).unit for name in axes]
    held = [column[np.isfinite(column)] for column in columns]
    if not axes or not all(_is_still(v, coarsest=_COARSEST[u]) for v, u in zip(held, units, strict=True)):
        dead = [(n, v, u) for n, v, u in zip(axes, held, units, strict=True) if v.size > 1 and np.all(v == v[0])]
        return _dead_axis(*dead[0]) if dead else None
    places = ", ".join(
        f"{name} stays at {float(np.nanmedian(c)):.4g} {recording.channel(name).unit}"
        for name, c in zip(axes, columns, strict=True)
        if np.any(np.isfinite(c))
    )
    return f"nothing moves in the lever log: {places or 'it holds no value'} for {recording.quality.duration_s:.3g} s."


def _dead_axis(name: str, values: np.ndarray, unit: str) -> str:
    return (
        f"{name} never changes, it stays at {values[0]:.4g} {unit} while the other axis moves: no gear can be told "
        "from that."
    )


def _is_still(values: np.ndarray, *, coarsest: float) -> bool:
    if values.size < 2:
        return True
    rounding = min(find_resolution(values) or 0.0, coarsest) / np.sqrt(12)
    noise = max(step_noise(values), rounding)
    low, high = np.percentile(values, (0.5, 99.5))
    return bool(high - low <= _STILL_SIGMAS * noise)


def _limits(channel: Channel, values: np.ndarray) -> tuple[float, float] | None:
    if values.size < 2 or not channel.name.startswith(("accel_", "gyro_", "select", "engage")):
        return None
    renewed = find_renewals(values)
    values = values if renewed is None else values[renewed]
    return find_limits(values, rests=channel.name in ("select", "engage"))


def _count_clipped(values: np.ndarray, channel: Channel) -> int:
    if channel.limits is None:
        return 0
    return int(np.count_nonzero((values <= channel.limits[0]) | (values >= channel.limits[1])))


def _is_stuck(values: np.ndarray, channel: Channel) -> bool:
    finite = values[np.isfinite(values)]
    return channel.name.startswith(_STUCK_MATTERS) and finite.size > 1 and bool(np.all(finite == finite[0]))


def _find_slow(
    time_s: np.ndarray, values: np.ndarray, channels: Sequence[Channel], *, rate_hz: float
) -> dict[str, float]:
    """Usual wait between new values of each channel that is new more seldom than the rows [s]."""
    waits = {c.name: find_period(time_s, values[:, i]) for i, c in enumerate(channels) if c.kind == "continuous"}
    return {name: wait for name, wait in waits.items() if wait is not None and wait * rate_hz > _SELDOM_ROWS}


def _noise_floor(accel: np.ndarray, rate_hz: float) -> float | None:
    """R.m.s. about the mean over the quietest second, averaged over the axes [m/s²]; None under 10 samples."""
    length = round(_QUIET_S * rate_hz)
    if length < 10 or len(accel) < length:
        return None
    whole = accel[: len(accel) // length * length].reshape(-1, length, accel.shape[1])
    power = np.var(whole, axis=1).mean(axis=1)
    power = power[np.isfinite(power)]
    return float(np.sqrt(power.min())) if power.size else None


def _bandwidth(accel: np.ndarray, channels: Sequence[Channel], rate_hz: float) -> float:
    """0.4 × the rate of new values: a sensor that is read more often than it measures only repeats itself.

    Less where the spectrum of every axis falls into its rounding further down: the sensor's own filter took the rest.
    """
    renewals = [find_renewals(column) for column in accel.T]
    share = min((r.size / len(accel) for r in renewals if r is not None), default=1.0)
    whole = _TRUSTED_SHARE * rate_hz * share
    if share < 1.0:
        return whole
    pairs = zip(accel.T, channels, strict=True)
    tops = [find_band_top(column, rate_hz=rate_hz, resolution=c.resolution) for column, c in pairs]
    return whole if None in tops else min(whole, max(tops))
