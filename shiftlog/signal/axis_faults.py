"""What no lever and no car can have done: single values far off, and a reading that stands while its partner moves."""

import numpy as np

from shiftlog.signal.robust import step_noise

_OUT_AND_BACK_S = 0.04
_FAR_SHARE = 0.15
"""Of the range an axis is used over: 4 mm and more, out and back within 40 ms, would take 40 m/s² twice over."""

_FAR_SIGMAS = 8.0
_WIDTHS = (1, 2)
"""Samples in a row that one disturbed reading spoils."""

_FROZEN_S = 5.0
_FROZEN_TRIPS = 3
_FROZEN_TIMES = 10
"""A run of one value counts as frozen where it is so many times longer than any run in which the axis was read: a quiet
sensor rests at one value for as long as the lever does, and nothing tells its pauses from a lead that came off."""

_HELD_SPEED_S = 20.0
_HELD_CHANGE = 1.5
_HELD_TIMES = 3
"""A car that cruises at 50 km/h, told in whole km/h, changes gear meanwhile; it does not run through half the range of
its engine, nor for three times as long as any other steady stretch."""


def find_spikes(time_s: np.ndarray, values: np.ndarray) -> np.ndarray:
    """Which values (n,) at times (n,) [s] stand far off on one side of both neighbours, (n,) bool; NaN never does."""
    held = np.flatnonzero(np.isfinite(values))
    spikes = np.zeros(values.size, dtype=bool)
    if held.size < 20:
        return spikes
    low, high = np.percentile(values[held], (5, 95))
    far = max(_FAR_SHARE * (high - low), _FAR_SIGMAS * step_noise(values[held]))
    for width in _WIDTHS:
        inner = np.lib.stride_tricks.sliding_window_view(values[held], width)[1:-1]
        before, after = values[held][: -width - 1], values[held][width + 1 :]
        quick = time_s[held][width + 1 :] - time_s[held][: -width - 1] <= _OUT_AND_BACK_S
        above = inner.min(axis=1) > np.maximum(before, after) + far
        below = inner.max(axis=1) < np.minimum(before, after) - far
        for offset in range(width):
            spikes[held[np.flatnonzero(quick & (above | below)) + 1 + offset]] = True
    return spikes


def find_frozen(time_s: np.ndarray, values: np.ndarray, other: np.ndarray) -> np.ndarray:
    """Rows at which one axis stands at exactly one value while the other goes to and fro, (n,) bool.

    time_s (n,) [s]; values, other (n,), NaN where missing
    """
    frozen = np.zeros(values.size, dtype=bool)
    held = np.flatnonzero(np.isfinite(values) & np.isfinite(other))
    if held.size < 20:
        return frozen
    trips = _trips(other[held])
    runs = _equal_runs(values[held])
    lasts = time_s[held[runs[:, 1] - 1]] - time_s[held[runs[:, 0]]]
    crossed = np.searchsorted(trips, runs[:, 1]) - np.searchsorted(trips, runs[:, 0])
    odd = (lasts >= _FROZEN_S) & (crossed >= _FROZEN_TRIPS)
    return _mark(frozen, held, runs[odd] if _stand_out(lasts, odd, times=_FROZEN_TIMES) else runs[:0])


def _stand_out(lasts: np.ndarray, odd: np.ndarray, *, times: float) -> bool:
    """Whether the odd runs all last so many times longer than any other run."""
    return bool(odd.any() and not odd.all() and lasts[odd].min() >= times * lasts[~odd].max())


def _mark(rows: np.ndarray, held: np.ndarray, runs: np.ndarray) -> np.ndarray:
    """The rows (n,) with those of each run of held values set."""
    for start, stop in runs:
        rows[held[start] : held[stop - 1] + 1] = True
    return rows


def _equal_runs(values: np.ndarray) -> np.ndarray:
    """Index ranges [start, stop) of neighbours of one value, (k, 2)."""
    edges = np.concatenate(([0], np.flatnonzero(np.diff(values)) + 1, [values.size]))
    return np.column_stack([edges[:-1], edges[1:]])


def _trips(values: np.ndarray) -> np.ndarray:
    """Indices at which an axis has come over from one half of its range to the other."""
    low, high = np.percentile(values, (2, 98))
    side = np.where(values > high - 0.3 * (high - low), 1, np.where(values < low + 0.3 * (high - low), -1, 0))
    there = np.flatnonzero(side)
    return there[1:][np.diff(side[there]) != 0]


def find_held_speed(time_s: np.ndarray, values: np.ndarray, other: np.ndarray, *, above: float) -> np.ndarray:
    """Rows at which a speed of engine or car stands at exactly one value while the other one changes, (n,) bool.

    time_s (n,) [s]; values, other (n,), NaN where missing. Up to ``above`` a speed may stand: a car at rest whose
    engine is revved, an engine at idle while the car rolls out.
    """
    rows = np.zeros(values.size, dtype=bool)
    held = np.flatnonzero(np.isfinite(values))
    if held.size < 20:
        return rows
    runs = _equal_runs(values[held])
    runs = runs[values[held[runs[:, 0]]] > above]
    lasts = time_s[held[runs[:, 1] - 1]] - time_s[held[runs[:, 0]]]
    odd = np.array([_changes(other[held[a] : held[b - 1] + 1]) for a, b in runs], dtype=bool) & (lasts >= _HELD_SPEED_S)
    return _mark(rows, held, runs[odd] if _stand_out(lasts, odd, times=_HELD_TIMES) else runs[:0])


def _changes(values: np.ndarray) -> bool:
    finite = values[np.isfinite(values)]
    if finite.size < 5:
        return False
    low, high = np.percentile(finite, (5, 95))
    return bool(high > _HELD_CHANGE * low)
