"""Where a motion sensor that trembles gives one and the same reading on and on: no sensor does, its driver did."""

import numpy as np

from shiftlog.signal.crossing import find_runs

_LEAST_S = 0.5
_WINDOW_S = 1.0
_LEAST_WINDOW = 10

_CHANCE = 1e-6
"""A run counts as frozen where so many repeats in a row, somewhere in the log, have no more than this chance."""


def find_frozen_motion(time_s: np.ndarray, readings: np.ndarray, *, asked: np.ndarray) -> np.ndarray:
    """Rows at which readings stay exactly the same for longer than their own tremble lets them, (n,) bool.

    time_s : (n,) [s]; readings : (n, k), k axes that are read together, NaN where missing. How often a reading repeats
    the one before by itself is taken from the second in which it does so most, runs under suspicion left out: so a
    coarse sensor at rest, and a slow one that is read again and again, set their own bar. A run at an end of an axis'
    range is clipping and none of this. ``asked`` : (n,) bool, rows outside of which nothing is frozen.
    """
    frozen = np.zeros(len(time_s), dtype=bool)
    held = np.flatnonzero(np.all(np.isfinite(readings), axis=1))
    if held.size < 2 * _LEAST_WINDOW:
        return frozen
    kept = readings[held]
    repeats = np.concatenate(([False], np.all(kept[1:] == kept[:-1], axis=1)))
    step_s = float(np.median(np.diff(time_s[held])))
    window = max(round(_WINDOW_S / step_s), _LEAST_WINDOW)
    runs = _long_runs(repeats, least=max(int(np.ceil(_LEAST_S / step_s)), 1), window=window)
    ends = kept.min(axis=0), kept.max(axis=0)
    for start, stop in runs:
        at_an_end = np.any((kept[start] == ends[0]) | (kept[start] == ends[1]))
        rows = slice(held[start], held[stop - 1] + 1)
        if not at_an_end and np.all(asked[rows]):
            frozen[rows] = True
    return frozen


def _long_runs(repeats: np.ndarray, *, least: int, window: int) -> np.ndarray:
    """Index ranges [start, stop) of readings that repeat longer than chance would have it, (k, 2)."""
    runs = find_runs(repeats)
    runs[:, 0] -= 1
    longs = runs[:, 1] - runs[:, 0]
    while True:
        long = runs[longs > least]
        often = _most_often(repeats, long, window=window)
        if not long.size or often >= 1.0:
            return runs[:0]
        needed = int(np.ceil(np.log(_CHANCE / repeats.size) / np.log(often)))
        if needed <= least:
            return long
        least = needed


def _most_often(repeats: np.ndarray, long: np.ndarray, *, window: int) -> float:
    """Share of repeats in the window in which they are most, windows that touch the long runs left out."""
    count = repeats.size // window
    suspect = np.zeros(repeats.size, dtype=bool)
    for start, stop in long:
        suspect[start:stop] = True
    clear = ~suspect[: count * window].reshape(count, window).any(axis=1)
    shares = repeats[: count * window].reshape(count, window).mean(axis=1)[clear]
    return float(max(shares.max(), 1 / window)) if shares.size else 1.0
