"""Rows whose time is far off while their neighbours follow each other: damaged, and no restart."""

import numpy as np

from shiftlog.ingest.clock_turns import DAY_S, usual_step

_ODD_JUMP_S = 1.0
"""Rows this far off, between two that follow each other, have a wrong time and no restart behind them."""

_FEW_ROWS = 8
"""More rows than this with wrong times in a row are no damage of single rows (common practice, no source)."""

_MISPLACED_STEPS = 5.0
"""A row out of place where a clock comes round lies this close to others once it is laid on as they are."""

_FOLLOW_STEPS = 4.0
"""The row behind follows the one before within so many usual steps, and one for each damaged row."""


def find_wrong_times(time_s: np.ndarray) -> np.ndarray:
    """Which rows of times (n,) [s] have a wrong one, (n,) bool: few, and far off from both neighbours.

    Late or early rows that fill a hole elsewhere are out of place and not wrong; several far behind among other rows
    may be repeats. At either end a few rows are wrong where more than a day parts them from all others.
    """
    wrong = _ends_days_off(time_s)
    usual = usual_step(time_s)
    far_s = max(_ODD_JUMP_S, 20 * usual)
    done = 0
    for before in np.flatnonzero(np.abs(np.diff(time_s)) > far_s):
        after = _row_that_follows(time_s, before, usual, far_s) if before >= done else None
        if after is not None and _are_damaged(time_s, before, after, usual):
            wrong[before + 1 : after] = True
            done = after
    return wrong


def find_turned(time_s: np.ndarray, wrong: np.ndarray, on_s: np.ndarray) -> np.ndarray:
    """Times (n,) [s] laid on across the turns of their clock, NaN for rows whose time is wrong all the same.

    wrong : (n,) bool, rows that look so in ``time_s`` (n,); on_s : the others laid on, (m,)
    A row out of place by a few just where the clock came round is far off only until it is laid on as its neighbours.
    """
    laid = np.full(time_s.size, np.nan)
    laid[~wrong] = on_s
    shift = laid - time_s
    near = _MISPLACED_STEPS * usual_step(on_s)
    mended = laid.copy()
    for at in np.flatnonzero(wrong):
        around = slice(max(at - 2 * _FEW_ROWS, 0), at + 2 * _FEW_ROWS + 1)
        if np.all(np.isnan(shift[around])):
            continue
        for shift_s in (np.nanmin(shift[around]), np.nanmax(shift[around])):
            if np.nanmin(np.abs(laid[around] - time_s[at] - shift_s)) <= near:
                mended[at] = time_s[at] + shift_s
    return mended


def _ends_days_off(time_s: np.ndarray) -> np.ndarray:
    """The few rows before a clock was first set, or behind its last right stamp, (n,) bool; no session is so short."""
    off = np.zeros(time_s.size, dtype=bool)
    far = np.flatnonzero(np.abs(np.diff(time_s)) > DAY_S) + 1
    first = far[far <= _FEW_ROWS].max(initial=0)
    last = far[far >= time_s.size - _FEW_ROWS].min(initial=time_s.size)
    if last - first > 2 * _FEW_ROWS:
        off[:first], off[last:] = True, True
    return off


def _row_that_follows(time_s: np.ndarray, before: int, usual: float, far_s: float) -> int | None:
    """The first row behind a few that are far off which goes on where ``before`` stopped; None where none does."""
    on = time_s[before + 2 : before + 2 + _FEW_ROWS] - time_s[before]
    follows = (on >= 0) & (on <= (_FOLLOW_STEPS + np.arange(on.size)) * usual)
    if not np.any(follows):
        return None
    after = before + 2 + int(np.argmax(follows))
    off = time_s[before + 1 : after]
    return after if np.all(np.abs(off - time_s[before]) > far_s) and abs(off[-1] - time_s[after]) > far_s else None


def _are_damaged(time_s: np.ndarray, before: int, after: int, usual: float) -> bool:
    """Whether the few rows between cannot have come too early or late out of a hole, nor be repeats."""
    few = time_s[before + 1 : after]
    if few.size == 1 or np.ptp(few) > (_FOLLOW_STEPS + few.size) * usual:
        return True
    low, high, near = few.min(), few.max(), _FOLLOW_STEPS * usual
    others = np.concatenate([time_s[: before + 1], time_s[after:]])
    within = np.any((others >= low) & (others <= high))
    below, above = np.any((others < low) & (others >= low - near)), np.any((others > high) & (others <= high + near))
    if low > time_s[before]:
        return bool(within or not (below and above))
    return not (within or below or above)
