"""Clocks that come round: counters of a few bits, midnight, and the hour that summer time takes or gives."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

DAY_S = 86400.0
HOUR_S = 3600.0

_COUNTERS = ((32, "us"), (32, "ms"), (24, "ms"), (16, "ms"), (24, "us"))
"""Bits and counts of the counters that recorders have; 71.6 minutes, 49.7 days, 4.7 hours, 65.5 s and 16.8 s."""
_COUNTS_S = {"us": 1e-6, "ms": 1e-3}

_WRAP_STEP_S = 1.0
"""A wrap is believed at once where the step across it is an ordinary one."""

_LONGEST_HOLE_S = 300.0
"""A longer hole with a wrap in it is asked about (common practice, no source)."""

_TELLING_STEPS = 2.0
"""A counter that comes round soon is told by steps across of no more than this many usual ones …"""
_TELLING_WRAPS = 2
"""… and by more than one of them: a single restart may land so by chance."""
_SOON_S = 3600.0

_MISPLACED_STEPS = 5.0
"""Rows out of place at a wrap lie this close to it."""


@dataclass(frozen=True, eq=False, kw_only=True)
class Turned:
    """Times laid on across the turns of their clock: (n,) [s], what was counted, and sentences."""

    time_s: np.ndarray
    mended: dict[str, int]
    history: tuple[str, ...] = ()


def usual_step(time_s: np.ndarray) -> float:
    """The usual step between stamps that differ [s]; 0.0 where none does."""
    steps = np.abs(np.diff(time_s))
    return float(np.median(steps[steps > 0])) if np.any(steps > 0) else 0.0


def lay_on(time_s: np.ndarray, rows: np.ndarray, *, is_text: bool) -> Turned:
    """Times (n,) [s] that go on where their clock came round or was set for summer time.

    rows : (n,) the line of each in the file; is_text : times of day or dates, and no counter
    What could as well be a restart stays as it is.
    """
    if time_s.size < 2:
        return Turned(time_s=time_s, mended={})
    longest_s = max(_WRAP_STEP_S, 20 * usual_step(time_s))
    if is_text:
        if time_s.min() >= 0 and time_s.max() < HOUR_S:
            return _across(time_s, rows, {"hours passed": HOUR_S}, longest_s=longest_s)
        time_s, changes = _without_clock_change(time_s)
        turned = _across(time_s, rows, {"midnights passed": DAY_S}, longest_s=HOUR_S)
        return Turned(time_s=turned.time_s, mended={**changes, **turned.mended}, history=turned.history)
    return _across(time_s, rows, dict(_periods(time_s)), longest_s=longest_s)


def _periods(time_s: np.ndarray) -> Iterator[tuple[str, float]]:
    """What a step back may be besides a fault, and how long each takes to come round [s]."""
    for bits, counts in _COUNTERS:
        yield f"{bits}-bit {counts} wraps", 2.0**bits * _COUNTS_S[counts]
    if time_s.min() >= 0 and time_s.max() <= DAY_S:
        yield "midnights passed", DAY_S


def _across(time_s: np.ndarray, rows: np.ndarray, periods: dict[str, float], *, longest_s: float) -> Turned:
    if np.all(np.diff(time_s) >= 0):
        return Turned(time_s=time_s, mended={})
    for kind, period_s in periods.items():
        turns, holes = _count_turns(time_s, period_s, longest_s)
        if np.any(turns):
            on = time_s + period_s * np.concatenate(([0], np.cumsum(turns)))
            mended = {kind: int(np.sum(turns))}
            if np.any(holes):
                mended[f"holes that may be longer by turns of {period_s:.6g} s"] = int(np.sum(holes))
            return Turned(time_s=on, mended=mended, history=tuple(_hole_words(on, rows, holes, period_s)))
    return Turned(time_s=time_s, mended={})


def _hole_words(time_s: np.ndarray, rows: np.ndarray, holes: np.ndarray, period_s: float) -> Iterator[str]:
    for at in np.flatnonzero(holes) + 1:
        yield (
            f"Row {rows[at]}: a hole of {time_s[at] - time_s[at - 1]:.3g} s, or longer by whole turns of the "
            f"recorder's clock, {period_s:.6g} s each."
        )


def _count_turns(time_s: np.ndarray, period_s: float, longest_s: float) -> tuple[np.ndarray, np.ndarray]:
    """Turns of a clock at each step, (n - 1,) int, none where this is not the clock; and which lie in a hole."""
    steps = np.diff(time_s)
    usual = usual_step(time_s)
    across = steps + period_s
    back = (steps < 0) & (across > 0)
    soon = period_s < _SOON_S
    within = back & (across <= (_TELLING_STEPS * usual if soon else longest_s))
    in_hole = back & ~within & _no_restart(time_s, period_s, usual)
    # A clock that comes round soon comes round often, at the usual step, and shows no time beyond its turn.
    unsaid = soon and (np.count_nonzero(within) < _TELLING_WRAPS or np.ptp(time_s) > period_s)
    turns = (within | in_hole).astype(int)
    if unsaid or not np.any(turns):
        return np.zeros(steps.size, dtype=int), np.zeros(steps.size, dtype=bool)
    # A row out of place at the wrap itself steps back over it.
    turns[(steps > 0) & (period_s - steps <= min(_MISPLACED_STEPS * usual, period_s / 4))] = -1
    return turns, (in_hole & (across > longest_s)) | (soon & (steps > longest_s))


def _no_restart(time_s: np.ndarray, period_s: float, usual: float) -> np.ndarray:
    """Whether each step back, were it a turn, would leave a hole that is likelier than a restart, (n - 1,).

    A hole lies anywhere about the turn, a restart anywhere before it and begins near zero: the rarer of "the count
    was this near its end" and "it begins this near zero" tells.
    """
    last, first = time_s[:-1], time_s[1:]
    hole_s = first - last + period_s
    counts_from = 0.0 if time_s.min() >= 0 else -period_s / 2
    in_range = time_s.min() >= counts_from and time_s.max() < counts_from + period_s
    near_end = (counts_from + period_s - last) / period_s
    near_zero = np.where(first < 0, 1.0, (first + usual) / np.maximum(hole_s, usual))
    plausible = (hole_s > 0) & (hole_s <= min(_LONGEST_HOLE_S, period_s / 2))
    return in_range & plausible & (near_zero > near_end)


def _without_clock_change(time_s: np.ndarray) -> tuple[np.ndarray, dict[str, int]]:
    """Times without the one hour by which a clock was put forward or back while rows went on at the usual step."""
    steps = np.diff(time_s)
    usual = usual_step(time_s)
    beyond = np.abs(steps) - HOUR_S
    at = np.flatnonzero(np.abs(np.where(steps > 0, beyond, -beyond) - usual) <= usual)
    if at.size != 1:
        return time_s, {}
    way = "forward" if steps[at[0]] > 0 else "back"
    time_s = time_s.copy()
    time_s[at[0] + 1 :] -= np.sign(steps[at[0]]) * HOUR_S
    return time_s, {f"clock put {way} by an hour (summer time)": 1}
