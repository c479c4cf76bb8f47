"""What a marked test does to the seats: a hand presses the lever, and lets go of it in between."""

from collections.abc import Sequence

import numpy as np

from shiftlog.cables.presses import find_presses
from shiftlog.model.drive import MarkedTest
from shiftlog.model.lever import LeverPath
from shiftlog.signal.crossing import find_runs

PRESSED = ("clearance", "free_play", "detent", "straight_push", "lockout", "synchroniser")
"""Tests in which a hand pushes the lever about in gear."""
LETS_GO = "clearance"
"""The one of them in which it is let go of in between, for a second each time."""
AROUND_S = 0.2
"""A press begins and ends within this of where its level is reached."""


def pressed_in(path: LeverPath, a: int, b: int, tests: Sequence[MarkedTest]) -> str | None:
    """The kind of marked test in which index range [a, b) was pressed about, or None."""
    start_s, end_s = path.time_s[a], path.time_s[b - 1]
    return next((t.kind for t in tests if t.kind in PRESSED and t.start_s < end_s and start_s < t.end_s), None)


def let_go_spans(path: LeverPath, a: int, b: int) -> list[tuple[int, int]]:
    """Index ranges of a stay between its presses, along the gate and to either side."""
    free = np.ones(b - a, bool)
    time = path.time_s[a:b]
    way = float(np.sign(path.engage_mm[a:b].mean()))
    for place, from_middle in (
        (path.engage_mm[a:b] * way, False), (path.select_mm[a:b], True), (-path.select_mm[a:b], True),
    ):  # fmt: skip
        for press in find_presses(time, place, path.rate_hz, from_middle=from_middle).presses:
            free &= (time < press.start_s - AROUND_S) | (time > press.end_s + AROUND_S)
    return [(a + int(first), a + int(last)) for first, last in find_runs(free)]
