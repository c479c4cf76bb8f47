"""The linear programme of both cables: the greatest smallest margin within their ranges, by the smallest change."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.optimize import linprog

from shiftlog.model.cables import Stop
from shiftlog.model.car import Car

Ranges = tuple[tuple[float, float], tuple[float, float]]
"""(low, high) of the engage and of the select cable [mm]."""
FURTHEST_MM = 15.0
"""No adjuster of a car goes further; taken where the profile gives no range."""
TIE_MM = 1e-4
"""Of settings that are equally good the smallest is taken; better by less than this is equally good."""
BINDS_MM = 0.02
"""A stop binds if its margin lies so near to the smallest."""
NAMES = ("engage", "select")


@dataclass(frozen=True, eq=False, kw_only=True)
class Rows:
    """One row for each stop: margin after a setting x is ``room`` − ``takes`` · x.

    room : (r,) [mm]; takes : (r, 2) by (engage, select); u : (r,) [mm]; gears : by row
    """

    room: np.ndarray
    takes: np.ndarray
    u: np.ndarray
    gears: tuple[str, ...]

    def smallest(self, setting: np.ndarray) -> float:
        """Smallest margin at a setting [mm]."""
        return float((self.room - self.takes @ setting).min())


def build_rows(stops: Sequence[Stop]) -> Rows:
    """The stops as arrays, in their order."""
    return Rows(
        room=np.array([stop.room_mm - stop.wanted_mm for stop in stops]), u=np.array([stop.u_mm for stop in stops]),
        takes=np.array([stop.takes for stop in stops], float), gears=tuple(stop.gear for stop in stops),
    )  # fmt: skip


def cable_ranges(car: Car, stops: Sequence[Stop]) -> Ranges:
    """What each cable may be changed by; the select cable stays where no stop across the gate bounds it."""
    engage, select = (car.cables.get(f"{name}_range_mm", (-FURTHEST_MM, FURTHEST_MM)) for name in NAMES)
    return tuple(engage), tuple(select) if knows_across(stops) else (0.0, 0.0)


def free_ranges(stops: Sequence[Stop]) -> Ranges:
    """The same if no adjuster ended."""
    wide = (-FURTHEST_MM, FURTHEST_MM)
    return wide, wide if knows_across(stops) else (0.0, 0.0)


def knows_across(stops: Sequence[Stop]) -> bool:
    """Whether anything shows what the select cable does."""
    return any(stop.side != "home" for stop in stops)


def find_best(rows: Rows, ranges: Ranges) -> np.ndarray:
    """(engage, select) [mm] of the greatest smallest margin; of equals the one that leaves the other gears, too, least
    short of what is wanted; of equals the least moved."""
    least = _reach(rows, ranges)
    # Each change as the difference of two that are not negative.
    split = np.column_stack([rows.takes[:, :1], -rows.takes[:, :1], rows.takes[:, 1:], -rows.takes[:, 1:]])
    moved = linprog(
        np.ones(4), A_ub=split, b_ub=rows.room - (least - TIE_MM),
        bounds=[part for low, high in ranges for part in _parts(low, high)], method="highs",
    )  # fmt: skip
    return np.array([moved.x[0] - moved.x[1], moved.x[2] - moved.x[3]])


def _reach(rows: Rows, ranges: Ranges) -> np.ndarray:
    """Margin that each stop is to have at the least, (r,) [mm].

    All as much as the smallest can have; where that is short of what is wanted, those that do not hold it down more.
    """
    count = rows.room.size
    over = np.column_stack([rows.takes, np.ones(count)])
    best = linprog([0, 0, -1], A_ub=over, b_ub=rows.room, bounds=[*ranges, (None, None)], method="highs")
    least = np.full(count, best.x[2])
    if best.x[2] < 0:
        free = best.ineqlin.marginals > -1e-9
        rest = np.column_stack([rows.takes, free])
        more = linprog(
            [0, 0, -1], A_ub=rest, b_ub=rows.room - np.where(free, 0.0, least - TIE_MM),
            bounds=[*ranges, (best.x[2] - TIE_MM, 0.0)], method="highs",
        )  # fmt: skip
        least[free] = more.x[2]
    return least


def _parts(low: float, high: float) -> tuple[tuple[float, float], tuple[float, float]]:
    """Bounds of the forward and of the backward part of a change, also where its range leaves out 0."""
    return (max(low, 0.0), max(high, 0.0)), (max(-high, 0.0), max(-low, 0.0))
