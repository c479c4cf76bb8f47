"""Where a sensor ran into the end of its range."""

import numpy as np

from shiftlog.signal.crossing import find_runs
from shiftlog.signal.resolution import find_resolution

_RUN = 3
"""Samples in a row at exactly the extreme value: a peak touches its top once, a clipped one lies flat."""

_LEAST = 5
_FAR_SIGMAS = 4.0

_STILL_RUN, _STILL_TIMES = 50, 10
"""Samples at exactly the extreme value, and how many times longer such a run must be than any at another value: a
reading that trembles everywhere but at one end stands against that end."""

_TREMBLES = 0.3
"""Share of steps that go back on the one before: two in three where white noise moves a reading, next to none where a
hand does. Where this many do between the ends, the sensor trembles, and would at both ends too."""

_NEXT, _HEAP_TIMES = 4, 2
"""The extreme value is come to so many times more often than the four values next to it together: the tail of no
distribution rises at its end, and that of a steady sine holds less than they do."""


def find_limits(values: np.ndarray, *, rests: bool) -> tuple[float, float] | None:
    """(low, high) at which a signal clips, in its own unit, ±inf at an end that does not; None where neither does.

    values : (n,) finite. ``rests`` for a signal that dwells at places (a lever): there a flat stretch is a sign only
    at the ends of a converter's range (0, and one less than a power of two from 8 bit), or where it alone lacks the
    tremble of all other readings.
    """
    low, high = float(values.min()), float(values.max())
    if low == high:
        return None
    judge = _is_end if rests else _is_cut
    at_low, at_high = judge(values, low), judge(values, high)
    if not (at_low or at_high):
        return None
    return (low if at_low else -np.inf), (high if at_high else np.inf)


def _is_cut(values: np.ndarray, extreme: float) -> bool:
    return _is_plateau(values, extreme) or _is_heap(values, extreme)


def _is_heap(values: np.ndarray, extreme: float) -> bool:
    """Whether the extreme holds what lies beyond it. Visits count and no samples: a car at rest may rest at an end."""
    visits = values[np.concatenate(([True], np.diff(values) != 0))]
    levels, counts = np.unique(visits, return_counts=True)
    counts = counts if extreme == levels[0] else counts[::-1]
    return bool(counts[0] >= max(_LEAST, _HEAP_TIMES * int(counts[1 : 1 + _NEXT].sum())))


def _is_plateau(values: np.ndarray, extreme: float) -> bool:
    at = values == extreme
    if np.count_nonzero(at) < _RUN:
        return False
    middle = float(np.median(values))
    # Where most readings are one value, its steps are all that is known of how far they spread.
    spread = max(1.4826 * float(np.median(np.abs(values - middle))), find_resolution(values) or 0.0)
    if abs(extreme - middle) < _FAR_SIGMAS * spread:
        return False
    runs = find_runs(at)
    return bool(np.max(runs[:, 1] - runs[:, 0]) >= _RUN)


def _is_end(values: np.ndarray, extreme: float) -> bool:
    return _is_rail(values, extreme) or _is_still_end(values, extreme)


def _is_still_end(values: np.ndarray, extreme: float) -> bool:
    edges = np.concatenate(([0], np.flatnonzero(np.diff(values)) + 1, [values.size]))
    long, levels = np.diff(edges), values[edges[:-1]]
    at = levels == extreme
    between = (levels != values.min()) & (levels != values.max())
    others = long[between] if _trembles(values, between, edges) else long[~at]
    return bool(at.any() and others.size and long[at].max() >= max(_STILL_RUN, _STILL_TIMES * others.max()))


def _trembles(values: np.ndarray, between: np.ndarray, edges: np.ndarray) -> bool:
    """Whether the runs ``between`` the ends, (r,) bool, of those that begin at ``edges``, go to and fro."""
    steps = np.sign(np.diff(values[edges[:-1]]))
    inner = between[1:-1] & between[:-2] & between[2:]
    back = (steps[1:] != steps[:-1])[inner]
    return bool(back.size >= _STILL_RUN and back.mean() >= _TREMBLES)


def _is_rail(values: np.ndarray, extreme: float) -> bool:
    if np.count_nonzero(values == extreme) < _LEAST or extreme != round(extreme):
        return False
    rails = {0.0, *(2.0**bits - 1 for bits in range(8, 25))}
    return extreme in rails
