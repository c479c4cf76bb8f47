"""Which samples of a logged signal are truly new, where the logger repeats the last value in between."""

import numpy as np

LEAST_CHANGES = 8
"""Fewer changes than this say nothing about a pattern."""

LEAST_ROWS = 3
"""A signal renewed at least every second row is taken as it stands."""

ON_PATTERN_SHARE = 0.8
"""Share of the waits between changes that must be whole multiples of one wait."""


def find_new_values(values: np.ndarray) -> np.ndarray:
    """Indices of the samples that are new, for a signal that may be repeated from row to row.

    values : (n,); returns (k,) int, increasing. A logger that asks one channel a row and repeats the others
    changes a channel only every so many rows, or a whole multiple of that where a value came twice. Such a
    pattern is taken for repetition, and a row is kept for each time the channel was asked. Without it every
    sample is new: a coarse signal that stands still is not a repeated one.
    """
    everything = np.arange(values.size)
    changes = np.flatnonzero(np.diff(values)) + 1
    if changes.size < LEAST_CHANGES:
        return everything
    rows = find_pattern(np.diff(changes))
    if rows < LEAST_ROWS:
        return everything
    edges = np.concatenate(([0], changes, [values.size]))
    kept = [np.arange(start, max(stop - rows // 2, start + 1), rows) for start, stop in _pairs(edges)]
    return np.concatenate(kept)


def find_pattern(waits: np.ndarray) -> int:
    """Number of rows of which most waits are a whole multiple (one row more or less), or 1 where there is none."""
    counts = np.bincount(waits)
    rows = int(np.argmax(counts))
    if rows < LEAST_ROWS or np.mean(waits < rows - 1) > 1 - ON_PATTERN_SHARE:
        return 1
    slack = 1 if rows >= 5 else 0
    off = np.abs(waits - rows * np.round(waits / rows))
    return rows if np.mean(off <= slack) >= ON_PATTERN_SHARE and counts[rows] >= waits.size / 3 else 1


def _pairs(edges: np.ndarray) -> zip:
    return zip(edges[:-1], edges[1:], strict=True)
