"""Where a dense, noise-free course crosses a level, stands or lies still; the truth's own plain arithmetic."""

import numpy as np


def crossings(time_s: np.ndarray, course: np.ndarray, level: float, *, rising: bool) -> np.ndarray:
    """Times at which the course passes the level, (k,) [s]."""
    above = course >= level
    hits = np.flatnonzero(~above[:-1] & above[1:] if rising else above[:-1] & ~above[1:])
    share = (level - course[hits]) / (course[hits + 1] - course[hits])
    return time_s[hits] + share * (time_s[hits + 1] - time_s[hits])


def line_slope(course: np.ndarray, *, rate_hz: float, window_s: float) -> np.ndarray:
    """Slope of the least-squares line over a window about each sample, (n,) [unit/s]."""
    half = max(int(round(window_s * rate_hz / 2)), 1)
    arm = np.arange(-half, half + 1)
    padded = np.pad(course, half, mode="edge")
    weights = arm / np.sum(arm**2) * rate_hz
    return np.convolve(padded, weights[::-1], mode="valid")


def runs(flags: np.ndarray) -> list[tuple[int, int]]:
    """First and past-the-last index of every stretch of True."""
    edges = np.flatnonzero(np.diff(np.concatenate(([0], flags.astype(int), [0]))))
    return list(zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True))


def swings(course: np.ndarray, *, least: float) -> list[tuple[int, int]]:
    """(low, high) indices of each rise of ``least`` or more that ends in a fall of ``least`` or in the end."""
    found, low, high, climbing = [], 0, 0, False
    for index, value in enumerate(course.tolist()):
        if climbing:
            if value > course[high]:
                high = index
            elif value <= course[high] - least:
                found.append((low, high))
                low, climbing = index, False
        elif value < course[low]:
            low = index
        elif value >= course[low] + least:
            high, climbing = index, True
    return [*found, (low, high)] if climbing else found
