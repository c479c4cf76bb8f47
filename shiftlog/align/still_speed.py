"""A vehicle speed that never changes though something else in the drive shows that the car drove."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from shiftlog.align.traces import held_rows, new_rows
from shiftlog.model.drive import DriveLogs, LeftOut, Placed
from shiftlog.model.recording import ACCEL, BODY_PLACES, Recording

SPEED = "vehicle_speed"

_LEAST_S = 60.0
"""For less, a car may well stand or cruise."""

_OTHER_MPS, _OTHER_S = 3.0, 20.0
"""Another speed that is so far off for so long contradicts: beyond what lags and whole km/h make of it."""

_BLOCK_S = 10
_FELT_MPS2, _FELT_BLOCKS, _FELT_SHARE = 0.5, 5, 0.2
"""R.m.s. of the force's means over a second, within ten: at standstill it stays below 0.4 even in a race car that
shakes at idle, and driving goes beyond in a third of the time or more (open logs of phones and of a track day)."""


def still_speeds(placed: Sequence[Placed]) -> tuple[Placed, ...]:
    """The recordings on drive time whose vehicle speed stays at one value for longer than a car may well do so."""
    return tuple(p for p in placed if p.on_drive_time and p.recording.has(SPEED) and _is_still(p.recording))


def find_contradictions(placed: Sequence[Placed]) -> Mapping[str, str]:
    """What contradicts each vehicle speed that never changes, in words, by the recording's name."""
    still = still_speeds(placed)
    others = [p.recording for p in placed if p.on_drive_time and p not in still]
    found = {p.recording.name: _witness(p.recording, others) for p in still}
    return {name: words for name, words in found.items() if words}


def without_speeds(logs: DriveLogs, contradicted: Mapping[str, str]) -> DriveLogs:
    """The logs without these vehicle speeds, and a line for each; contradicted : what tells, by recording.

    A log that holds nothing else is left out.
    """
    lines = {r.name: _line(r, contradicted[r.name]) for r in logs.recordings if r.name in contradicted}
    recordings = [_without(r) if r.name in lines else r for r in logs.recordings]
    empty = [r for r in recordings if not r.channels]
    return replace(
        logs,
        recordings=tuple(r for r in recordings if r.channels),
        left_out=(*logs.left_out, *(LeftOut(name=r.name, file=r.file, why=lines[r.name]) for r in empty)),
        notes=(*logs.notes, *(line for name, line in lines.items() if name not in {r.name for r in empty})),
    )


def _line(recording: Recording, tells: str) -> str:
    return (
        f"{recording.file}: vehicle_speed never changes, it stays at {_value(recording):.3g} m/s, but {tells} that the "
        "car drove; it is left out. Check its sensor, lead, or how it is decoded."
    )


def _witness(still: Recording, others: Sequence[Recording]) -> str | None:
    for other in others:
        if other.has(SPEED) and _differs_s(still, other) >= _OTHER_S:
            return f"the speed in {other.name} shows"
    at_rest = _value(still) == 0
    for other in (still, *others):
        if at_rest and other.place in BODY_PLACES and _is_driven(other, within=_ends(still)):
            return f"the accelerometer of {other.name} felt"
    return None


def _is_still(recording: Recording) -> bool:
    time_s, speed = held_rows(recording, (SPEED,))
    return bool(time_s.size > 1 and np.ptp(time_s) >= _LEAST_S and np.all(speed == speed[0]))


def _differs_s(still: Recording, other: Recording) -> float:
    """For how long another speed is far off this one [s]."""
    time_s, speed = new_rows(other, (SPEED,))
    start_s, end_s = _ends(still)
    inside = (time_s >= start_s) & (time_s <= end_s)
    if np.count_nonzero(inside) < 2:
        return 0.0
    far = np.abs(speed[inside, 0] - _value(still)) > _OTHER_MPS
    return float(np.count_nonzero(far) * np.median(np.diff(time_s[inside])))


def _is_driven(recording: Recording, *, within: tuple[float, float]) -> bool:
    """Whether acceleration, of however many axes, changes from second to second as in a car that drives."""
    axes = tuple(axis for axis in ACCEL if recording.has(axis))
    if not axes:
        return False
    time_s, accel = held_rows(recording, axes)
    inside = (time_s >= within[0]) & (time_s <= within[1])
    if not np.any(inside):
        return False
    seconds = (time_s[inside] - within[0]).astype(int)
    held, counts = np.unique(seconds, return_counts=True)
    means = np.stack([np.bincount(seconds, weights=axis)[held] / counts for axis in accel[inside].T], axis=1)
    whole = [means[held // _BLOCK_S == block] for block in np.unique(held // _BLOCK_S)]
    spread = [np.sqrt(np.sum(np.var(block, axis=0))) for block in whole if len(block) == _BLOCK_S]
    driven = np.count_nonzero(np.array(spread) > _FELT_MPS2)
    return bool(driven >= _FELT_BLOCKS and driven >= _FELT_SHARE * len(spread))


def _without(recording: Recording) -> Recording:
    kept = [k for k, channel in enumerate(recording.channels) if channel.name != SPEED]
    return replace(recording, channels=tuple(recording.channels[k] for k in kept), values=recording.values[:, kept])


def _value(recording: Recording) -> float:
    return float(held_rows(recording, (SPEED,))[1][0, 0])


def _ends(recording: Recording) -> tuple[float, float]:
    return float(recording.time_s[0]), float(recording.time_s[-1])
