"""Optimal one-to-one matching of what was found to what truly happened."""

from collections.abc import Sequence

import numpy as np
from scipy.optimize import linear_sum_assignment

from shiftlog.model.rest import Rest
from shiftlog.model.shift import Shift

SHIFT_WINDOW_S = 0.5
"""A found shift belongs to a true one if their starts, or their ends, lie within this; shifts are longer apart."""
REST_OVERLAP_S = 0.15
"""Half of the shortest rest the definitions know."""
FORBIDDEN = 1e6


def match_shifts(true: Sequence[Shift], found: Sequence[Shift]) -> list[tuple[int, int]]:
    """Pairs (index of true, index of found) of least total distance in start time."""
    apart = np.array([[_apart(t, f) for f in found] for t in true]).reshape(len(true), len(found))
    return _assign(np.where(apart <= SHIFT_WINDOW_S, apart, FORBIDDEN))


def match_rests(true: Sequence[Rest], found: Sequence[Rest]) -> list[tuple[int, int]]:
    """Pairs (index of true, index of found) of greatest total overlap in time."""
    shared = np.array([[_overlap(t, f) for f in found] for t in true]).reshape(len(true), len(found))
    return _assign(np.where(shared >= REST_OVERLAP_S, -shared, FORBIDDEN))


def _apart(true: Shift, found: Shift) -> float:
    return abs(true.start_s - found.start_s)


def _overlap(true: Rest, found: Rest) -> float:
    return min(true.end_s, found.end_s) - max(true.start_s, found.start_s)


def _assign(cost: np.ndarray) -> list[tuple[int, int]]:
    rows, columns = linear_sum_assignment(cost)
    return [(int(r), int(c)) for r, c in zip(rows, columns, strict=True) if cost[r, c] < FORBIDDEN]
