"""Readings of a lever sensor that no lever can have given: taken as missing and counted."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from shiftlog.signal.axis_faults import find_frozen, find_spikes

SPIKES = "single values far off"


@dataclass(frozen=True, eq=False, kw_only=True)
class LeverFaults:
    """mended : count of single values taken out; frozen_s : how long an axis stood at one value [s], by channel."""

    mended: Mapping[str, int]
    frozen_s: Mapping[str, float]


def drop_lever_faults(time_s: np.ndarray, axes: Mapping[str, np.ndarray]) -> LeverFaults:
    """Puts NaN, in place, where an axis of the lever was disturbed, or stood still while the other moved.

    time_s : (n,) [s]; axes : columns (n,) by channel, NaN where missing
    """
    spikes = {name: find_spikes(time_s, column) for name, column in axes.items()}
    for name, rows in spikes.items():
        axes[name][rows] = np.nan
    others = dict(zip(axes, reversed(axes.values()), strict=True)) if len(axes) == 2 else {}
    frozen = {name: find_frozen(time_s, axes[name], other) for name, other in others.items()}
    for name, rows in frozen.items():
        axes[name][rows] = np.nan
    count = sum(int(rows.sum()) for rows in spikes.values())
    step_s = float(np.median(np.diff(time_s)))
    return LeverFaults(
        mended={SPIKES: count} if count else {},
        frozen_s={name: float(rows.sum()) * step_s for name, rows in frozen.items() if rows.any()},
    )
