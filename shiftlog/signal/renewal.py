"""Which rows of a forward-filled column bring a new value."""

import numpy as np

_LEAST_CHANGES = 20
"""Fewer changes than this cannot show a comb: a column that seldom changes may be a state, or constant."""

_EARLY_SHARE = 0.02
_ON_COMB_SHARE = 0.85
_FUNDAMENTAL_SHARE = 0.2
_LONGEST_MULTIPLE = 4
"""Renewals slip by a row now and then, so that only short multiples of the period can be told from chance."""


def find_renewals(values: np.ndarray) -> np.ndarray | None:
    """Indices of the rows at which a forward-filled column is renewed, (k,) int; None where it is not forward filled.

    values : (n,), NaN where missing. A poller that reads one signal a row and repeats the others leaves changes on
    a comb: never on neighbouring rows, and always whole periods apart. A signal that is merely slow or coarse
    changes at any row, so it is left alone. Between two changes several periods apart the renewals that brought
    the same value again are put on the comb too: a constant speed was still measured.
    """
    held = np.flatnonzero(np.isfinite(values))
    if held.size < 2 * _LEAST_CHANGES:
        return None
    changes = np.flatnonzero(np.diff(values[held]) != 0) + 1
    period = _comb_period(np.diff(changes))
    if changes.size <= _LEAST_CHANGES or period is None:
        return None
    return held[_on_comb(np.concatenate(([0], changes)), held.size, period)]


def find_period(time_s: np.ndarray, values: np.ndarray) -> float | None:
    """Usual wait between new values of a column (n,), at times (n,) [s]: median; None under two new values."""
    rows = find_renewals(values)
    rows = np.flatnonzero(np.isfinite(values)) if rows is None else rows
    return float(np.median(np.diff(time_s[rows]))) if rows.size > 1 else None


def _comb_period(steps: np.ndarray) -> float | None:
    """Rows between renewals, from the rows between changes (m,); None where they form no comb."""
    if steps.size < _LEAST_CHANGES:
        return None
    shortest = float(np.percentile(steps, 5))
    if shortest < 2:
        return None
    once = steps[(steps >= 0.6 * shortest) & (steps <= 1.5 * shortest)]
    period = float(np.mean(once))
    early = float(np.mean(steps < 0.6 * shortest))
    few = steps[steps < (_LONGEST_MULTIPLE + 0.5) * period]
    tolerance = 1.0 if period >= 4 else 0.5
    off = np.abs(few - np.round(few / period) * period)
    on_comb = float(np.mean(off <= tolerance))
    regular = once.size >= _FUNDAMENTAL_SHARE * steps.size
    return period if early <= _EARLY_SHARE and on_comb >= _ON_COMB_SHARE and regular else None


def _on_comb(changes: np.ndarray, count: int, period: float) -> np.ndarray:
    """The changes, and whole periods after each until half a period before the next."""
    ends = np.concatenate((changes[1:], [count + round(period / 2)]))
    room = np.maximum(np.floor((ends - changes) / period - 0.5), 0).astype(int)
    start = np.repeat(changes, room + 1)
    number = np.arange(start.size) - np.repeat(np.cumsum(room + 1) - (room + 1), room + 1)
    rows = np.round(start + number * period).astype(int)
    return rows[rows < count]
