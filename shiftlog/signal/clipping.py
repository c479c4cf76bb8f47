"""Where a sensor ran into the end of its range."""

import numpy as np

from shiftlog.signal.crossing import find_runs

_RUN = 3
"""Samples in a row at exactly the extreme value: a peak touches its top once, a clipped one lies flat."""

_LEAST = 5
_FAR_SIGMAS = 4.0

_STILL_RUN, _STILL_TIMES = 50, 10
"""Samples at exactly the extreme value, and how many times longer such a run must be than any at another value: a
reading that trembles everywhere but at one end stands against that end."""


def find_limits(values: np.ndarray, *, rests: bool) -> tuple[float, float] | None:
    """(low, high) at which a signal clips, in its own unit, ±inf at an end that does not; None where neither does.

    values : (n,) finite. ``rests`` for a signal that dwells at places (a lever): there a flat stretch is a sign only
    at the ends of a converter's range (0, and one less than a power of two from 8 bit), or where it alone lacks the
    tremble of all other readings.
    """
    low, high = float(values.min()), float(values.max())
    if low == high:
        return None
    judge = _is_end if rests else _is_plateau
    at_low, at_high = judge(values, low), judge(values, high)
    if not (at_low or at_high):
        return None
    return (low if at_low else -np.inf), (high if at_high else np.inf)


def _is_plateau(values: np.ndarray, extreme: float) -> bool:
    at = values == extreme
    if np.count_nonzero(at) < _RUN:
        return False
    middle = float(np.median(values))
    spread = 1.4826 * float(np.median(np.abs(values - middle)))
    if abs(extreme - middle) < _FAR_SIGMAS * spread:
        return False
    runs = find_runs(at)
    return bool(np.max(runs[:, 1] - runs[:, 0]) >= _RUN)


def _is_end(values: np.ndarray, extreme: float) -> bool:
    return _is_rail(values, extreme) or _is_still_end(values, extreme)


def _is_still_end(values: np.ndarray, extreme: float) -> bool:
    edges = np.concatenate(([0], np.flatnonzero(np.diff(values)) + 1, [values.size]))
    long, at = np.diff(edges), values[edges[:-1]] == extreme
    return bool(at.any() and long[at].max() >= max(_STILL_RUN, _STILL_TIMES * long[~at].max()))


def _is_rail(values: np.ndarray, extreme: float) -> bool:
    if np.count_nonzero(values == extreme) < _LEAST or extreme != round(extreme):
        return False
    rails = {0.0, *(2.0**bits - 1 for bits in range(8, 25))}
    return extreme in rails
