"""The lever's time in gear, cut into windows of a second in which it lay where it lies."""

from dataclasses import dataclass

import numpy as np

from shiftlog.detect.lever import find_excursions
from shiftlog.model.drive import MarkedTest
from shiftlog.model.lever import LeverPath
from shiftlog.model.settings import Settings
from shiftlog.model.shift import Shift
from shiftlog.neutral.seat_hand import UNKNOWN, feel_hand
from shiftlog.neutral.seat_tests import LETS_GO, let_go_spans, pressed_in

WINDOW_S, SHORTEST_S = 1.0, 0.4
AFTER_S, BEFORE_S = 0.9, 0.4
"""A hand that has pressed the lever home leaves it within the first; it comes back to draw it out within the second
(common practice, no source)."""
AROUND_S = 0.5
"""A hand is felt over a window and this much on either side, as far as the lever lies in the gear."""
STILL_MMPS = 15.0
"""Median speed over 0.1 s; a hand's tremor and idle shake reach a third of it."""


@dataclass(frozen=True, eq=False, kw_only=True)
class Windows:
    """By window: gear (w,) index into the path's gears, stay (w,) number, start_s, end_s (w,), place (w, 2) median
    (select, engage) [mm], hand (w,), tested (w,) cut between the presses of a marked
    test. in_gear_s : time in each gear outside such tests, windows or not (g,)"""

    gear: np.ndarray
    stay: np.ndarray
    start_s: np.ndarray
    end_s: np.ndarray
    place: np.ndarray
    hand: np.ndarray
    tested: np.ndarray
    in_gear_s: np.ndarray


def cut_windows(
    path: LeverPath, shifts: tuple[Shift, ...], settings: Settings, tests: tuple[MarkedTest, ...] = ()
) -> Windows:  # fmt: skip
    """All windows of a drive in order of time; stays shorter than the two margins give none.

    tests : of the drive; where the lever was pressed about, only what lies between the presses is cut
    """
    rows, in_gear = [], np.zeros(len(path.gears))
    for number, (gear, a, b) in enumerate(_stays(path, settings)):
        test = pressed_in(path, a, b, tests)
        if test is None:
            in_gear[gear] += (b - a) / path.rate_hz
            spans = [_trim(path, a, b, shifts)]
        else:
            spans = let_go_spans(path, a, b) if test == LETS_GO else []
        rows += [(gear, number, *row, test is not None) for span in spans for row in _cut(path, *span)]
    gear, stay, first, last, hand, tested = (np.array([r[k] for r in rows], int) for k in range(6))
    place = [(np.median(path.select_mm[a:b]), np.median(path.engage_mm[a:b])) for a, b in zip(first, last, strict=True)]
    return Windows(
        gear=gear, stay=stay, start_s=path.time_s[first], end_s=path.time_s[last - 1],
        hand=np.where(tested == 1, UNKNOWN, hand), place=np.array(place).reshape(-1, 2), in_gear_s=in_gear,
        tested=tested == 1,
    )  # fmt: skip


def _stays(path: LeverPath, settings: Settings) -> list[tuple[int, int, int]]:
    """(gear, first, last) of each stay in gear."""
    return [
        (path.gears.index(trip.gear), a, b)
        for trip in find_excursions(path, settings)
        for a, b in trip.stays
        if trip.gear is not None
    ]


def _trim(path: LeverPath, a: int, b: int, shifts: tuple[Shift, ...]) -> tuple[int, int]:
    """Without the ends at which a hand is on the lever anyway; a shift may begin before the stay is over."""
    leaves = [s.start_s for s in shifts if path.time_s[a] < s.start_s <= path.time_s[b - 1]]
    end = min(b, path.index(max(leaves))) if leaves else b
    return a + int(AFTER_S * path.rate_hz), end - int(BEFORE_S * path.rate_hz)


def _cut(path: LeverPath, a: int, b: int) -> list[tuple[int, int, int]]:
    length, around = int(WINDOW_S * path.rate_hz), int(AROUND_S * path.rate_hz)
    cut = []
    for first in range(a, b, length):
        last = min(first + length, b)
        if last - first < SHORTEST_S * path.rate_hz or not _lies(path, first, last):
            continue
        cut.append((first, last, feel_hand(path, max(first - around, a), min(last + around, b))))
    return cut


def _lies(path: LeverPath, first: int, last: int) -> bool:
    """Whether the lever lay within [first, last)."""
    return bool(path.valid[first:last].all() and np.median(path.still_mmps[first:last]) < STILL_MMPS)
