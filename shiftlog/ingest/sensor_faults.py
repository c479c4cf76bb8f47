"""Readings that no lever and no car can have given: taken as missing and counted."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from shiftlog.model.recording import ACCEL, GYRO, LEVER, TOGETHER
from shiftlog.signal.axis_faults import find_frozen, find_held_speed, find_spikes
from shiftlog.signal.frozen_motion import find_frozen_motion
from shiftlog.signal.resolution import find_resolution

SPIKES = "single values far off"

_MAY_STAND = {"engine_speed": 1500.0, "vehicle_speed": 2.0}
"""Up to here [rpm, m/s] a speed may stand at one value while the other changes: idle, also a raised one; standstill."""

_FINE = {ACCEL: 0.02, GYRO: 0.002}
"""Steps of reading [m/s², rad/s] up to which the noise of the sensor itself makes it tremble, also in a car at rest
with its engine off: parts in use have some 1 mg and 0.05 °/s at 50 Hz by their data sheets (common practice, no source
for the limit). A coarser one may truly stand then."""

_DRIVES_MPS = 2.0
"""From here on the road makes all three axes of a coarse sensor tremble."""


@dataclass(frozen=True, eq=False, kw_only=True)
class SensorFaults:
    """mended : count of single values taken out; frozen_s : how long a channel stood at one value [s]."""

    mended: Mapping[str, int]
    frozen_s: Mapping[str, float]


def drop_sensor_faults(time_s: np.ndarray, columns: Mapping[str, np.ndarray]) -> SensorFaults:
    """Puts NaN, in place, where an axis of the lever was disturbed, a channel stood still while its partner moved, or a
    motion sensor that trembles gave one reading again and again.

    time_s : (n,) [s]; columns : (n,) by channel, in the units of the drive format, NaN where missing
    """
    count = 0
    for name in set(LEVER) & set(columns):
        spikes = find_spikes(time_s, columns[name])
        columns[name][spikes] = np.nan
        count += int(spikes.sum())
    pairs = [(name, columns[other]) for name, other in TOGETHER.items() if {name, other} <= set(columns)]
    frozen = {name: _frozen(time_s, name, columns[name], other) for name, other in pairs}
    frozen |= {name: rows for axes in _FINE for name, rows in _frozen_motion(time_s, columns, axes).items()}
    for name, rows in frozen.items():
        columns[name][rows] = np.nan
    step_s = float(np.median(np.diff(time_s)))
    return SensorFaults(
        mended={SPIKES: count} if count else {},
        frozen_s={name: float(rows.sum()) * step_s for name, rows in frozen.items() if rows.any()},
    )


def _frozen(time_s: np.ndarray, name: str, values: np.ndarray, other: np.ndarray) -> np.ndarray:
    if name in LEVER:
        return find_frozen(time_s, values, other)
    return find_held_speed(time_s, values, other, above=_MAY_STAND[name])


def _frozen_motion(
    time_s: np.ndarray, columns: Mapping[str, np.ndarray], axes: tuple[str, ...]
) -> dict[str, np.ndarray]:
    """Rows (n,) bool at which each axis of a motion sensor is frozen.

    Each axis by itself where it is read finely; the three together, and only while the car is known to drive, where
    they are not, or where a gyro says 0, as some do for all that is slow.
    """
    there = [name for name in axes if name in columns]
    drives = _drives(time_s, columns.get("vehicle_speed"))
    rows = {name: np.zeros(time_s.size, dtype=bool) for name in there}
    for name in there:
        held = columns[name][np.isfinite(columns[name])]
        if (find_resolution(held) or np.inf) <= _FINE[axes]:
            asked = np.ones(time_s.size, dtype=bool) if axes == ACCEL else columns[name] != 0
            rows[name] = find_frozen_motion(time_s, columns[name][:, None], asked=asked)
    if there == list(axes) and drives.any():
        together = find_frozen_motion(time_s, np.column_stack([columns[n] for n in there]), asked=drives)
        rows = {name: axis | together for name, axis in rows.items()}
    return rows


def _drives(time_s: np.ndarray, speed: np.ndarray | None) -> np.ndarray:
    """Rows (n,) bool at which the car is known to drive."""
    held = np.flatnonzero(np.isfinite(speed)) if speed is not None else np.zeros(0, dtype=int)
    if held.size < 2:
        return np.zeros(time_s.size, dtype=bool)
    return np.interp(time_s, time_s[held], np.abs(speed[held]), left=0.0, right=0.0) >= _DRIVES_MPS
