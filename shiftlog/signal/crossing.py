"""Where a sampled signal crosses a level, interpolated between samples (IEEE Std 181-2011, 5.3)."""

import numpy as np


def find_crossings(time_s: np.ndarray, values: np.ndarray, level: float, *, rising: bool) -> np.ndarray:
    """Instants at which ``values`` cross ``level`` in one direction.

    time_s, values : (n,); returns (k,) [same unit as time_s], linear interpolation between the two samples
    """
    below = values < level if rising else values > level
    starts = np.flatnonzero(below[:-1] & ~below[1:])
    v0, v1 = values[starts], values[starts + 1]
    t0, t1 = time_s[starts], time_s[starts + 1]
    return t0 + (level - v0) / (v1 - v0) * (t1 - t0)


def find_runs(flags: np.ndarray) -> np.ndarray:
    """Index ranges [start, stop) of each run of True: (k, 2) int."""
    padded = np.concatenate(([False], flags, [False]))
    edges = np.flatnonzero(padded[1:] != padded[:-1])
    return edges.reshape(-1, 2)


def find_reversals(values: np.ndarray, least: float) -> list[int]:
    """Indices at which a signal turns round by ``least`` or more, first and last sample's side included, (n,) → list.

    Between two neighbours the signal runs one way but for wiggles smaller than ``least``.
    """
    low = high = 0
    turns: list[int] = []
    rising: bool | None = None
    for i, v in enumerate(values):
        if v > values[high]:
            high = i
        if v < values[low]:
            low = i
        if rising is not False and values[high] - v >= least:
            turns.append(high)
            rising, low = False, i
        elif rising is not True and v - values[low] >= least:
            turns.append(low)
            rising, high = True, i
        elif rising is True and v >= values[high]:
            high = i
        elif rising is False and v <= values[low]:
            low = i
    return turns or [0]
