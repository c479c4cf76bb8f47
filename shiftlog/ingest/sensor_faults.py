"""Readings that no lever and no car can have given: taken as missing and counted."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from shiftlog.model.recording import LEVER, TOGETHER
from shiftlog.signal.axis_faults import find_frozen, find_held_speed, find_spikes

SPIKES = "single values far off"

_MAY_STAND = {"engine_speed": 1500.0, "vehicle_speed": 2.0}
"""Up to here [rpm, m/s] a speed may stand at one value while the other changes: idle, also a raised one; standstill."""


@dataclass(frozen=True, eq=False, kw_only=True)
class SensorFaults:
    """mended : count of single values taken out; frozen_s : how long a channel stood at one value [s]."""

    mended: Mapping[str, int]
    frozen_s: Mapping[str, float]


def drop_sensor_faults(time_s: np.ndarray, columns: Mapping[str, np.ndarray]) -> SensorFaults:
    """Puts NaN, in place, where an axis of the lever was disturbed, or a channel stood still while its partner moved.

    time_s : (n,) [s]; columns : (n,) by channel, in the units of the drive format, NaN where missing
    """
    count = 0
    for name in set(LEVER) & set(columns):
        spikes = find_spikes(time_s, columns[name])
        columns[name][spikes] = np.nan
        count += int(spikes.sum())
    pairs = [(name, columns[other]) for name, other in TOGETHER.items() if {name, other} <= set(columns)]
    frozen = {name: _frozen(time_s, name, columns[name], other) for name, other in pairs}
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
