"""Room across the gate in each gear, from pushes to either side while the gear was in."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from shiftlog.cables.presses import Press, Pressed, find_presses
from shiftlog.model.lever import LeverPath

SIDE_LEAST = 2
"""Once may be a hand on its way, unless several gears were pressed aside and no side of them more often."""
BARELY = 2.0
"""A push that was seen once counts up to so many times what can just be seen: the others moved the lever by less."""
LEAKS = 0.25
"""A hand that presses one way moves the lever by up to this share the other way as well."""
IDLE_S, IDLE_SHARE = 3.0, 0.8
"""A gear was pressed aside without moving if it lay for so long, and for this share of what it took in other gears."""


@dataclass(frozen=True, eq=False, kw_only=True)
class Stay:
    """One stay in gear. along : presses home; left, right : presses across the gate"""

    along: Pressed
    left: Pressed
    right: Pressed

    def took_s(self) -> float:
        """How long pressing aside took."""
        ends = [t for side in (self.left, self.right) for p in side.presses for t in (p.start_s, p.end_s)]
        return max(ends) - min(ends) if ends else 0.0


@dataclass(frozen=True, eq=False, kw_only=True)
class Side:
    """Room to one side. mm : 0 where a push moved nothing, None where none was made; u_mm : standard uncertainty;
    bound_mm : what the room is less than, where a push moved nothing"""

    mm: float | None = None
    u_mm: float | None = None
    bound_mm: float | None = None


def read_stay(path: LeverPath, stay: slice, way: int, *, rounding_mm: tuple[float, float], pulls: bool) -> Stay:
    """The presses of one stay, home and to either side, each counted where it went.

    rounding_mm : along (select, engage); pulls : whether this hand pulls the lever away from its stops as well
    """
    time, rate = path.time_s[stay], path.rate_hz
    along = find_presses(time, path.engage_mm[stay] * way, rate, pulls=pulls, rounding_mm=rounding_mm[1])
    left, right = (
        find_presses(time, path.select_mm[stay] * sign, rate, from_middle=True, rounding_mm=rounding_mm[0])
        for sign in (-1, 1)
    )
    aside = (*left.presses, *right.presses)
    return Stay(
        along=_without(along, aside, LEAKS), left=_without(left, along.presses, 1.0),
        right=_without(right, along.presses, 1.0),
    )  # fmt: skip


def _without(pressed: Pressed, others: Sequence[Press], share: float) -> Pressed:
    """The same without presses that are a greater one along the other axis, seen from the side."""
    kept = [p for p in pressed.presses if not any(_at_once(p, o) and p.rise_mm < share * o.rise_mm for o in others)]
    return replace(pressed, presses=tuple(kept))


def _at_once(one: Press, other: Press) -> bool:
    both = min(one.end_s, other.end_s) - max(one.start_s, other.start_s)
    return both > 0.5 * min(one.end_s - one.start_s, other.end_s - other.start_s)


def measure_sides(
    stays: Mapping[str, Sequence[Stay]], *, repeats_mm: float
) -> dict[str, tuple[Side, Side]]:  # fmt: skip
    """(left, right) by gear. A push that moved nothing leaves a room of 0, as where the lever leans on its slot's side;
    that it was made is known by the other side, or by the time that it took.

    repeats_mm : how evenly a hand presses, where a side was pressed once
    """
    rises = {gear: [_rises(some, name) for name in ("left", "right")] for gear, some in stays.items()}
    most = max((len(side) for sides in rises.values() for side in sides), default=0)
    gears = [gear for gear, pair in rises.items() if max(map(len, pair)) == most]
    least = 1 if most == 1 and len(gears) > 1 else SIDE_LEAST
    spreads = [_spread(side) for sides in rises.values() for side in sides if len(side) >= SIDE_LEAST]
    usual = float(np.median(spreads)) if spreads else repeats_mm
    took = [s.took_s() for some in stays.values() for s in some if s.took_s() > 0]
    went = {gear: max(map(len, pair)) >= least for gear, pair in rises.items()}
    clear = {gear: went[gear] and _is_clear(stays[gear], pair) for gear, pair in rises.items()}
    # What can just be seen is a test where half the gears show it and none shows more.
    if not any(clear.values()) and sum(went.values()) >= max(2, len(went) / 2):
        clear = went
    if not any(clear.values()):
        return {gear: (Side(), Side()) for gear in stays}
    sides = {}
    for gear, pair in rises.items():
        pushed = clear[gear] or (most >= SIDE_LEAST and _lay_long(stays[gear], took))
        sides[gear] = tuple(
            _side(stays[gear], name, side, pushed=pushed, least=least, usual_mm=usual)
            for name, side in zip(("left", "right"), pair, strict=True)
        )
    return sides


def _is_clear(stays: Sequence[Stay], pair: Sequence[Sequence[Press]]) -> bool:
    """Whether pushes to one side moved the lever by clearly more than what can just be seen."""
    bound = max(max(stay.left.least_mm, stay.right.least_mm) for stay in stays)
    return any(np.median([p.rise_mm for p in side]) > BARELY * bound for side in pair if side)


def _rises(stays: Sequence[Stay], name: str) -> list[Press]:
    return [press for stay in stays for press in getattr(stay, name).presses]


def _spread(presses: Sequence[Press]) -> float:
    return float(np.std([p.rise_mm for p in presses], ddof=1))


def _lay_long(stays: Sequence[Stay], took_s: Sequence[float]) -> bool:
    """Whether a stay without a push aside holds the time that such pushes took in other gears."""
    if not took_s:
        return False
    # Where no press home was seen either, those took part of the time, and it says nothing.
    longest = max((stay.along.longest_s for stay in stays if stay.along.presses), default=0.0)
    return longest >= max(IDLE_S, IDLE_SHARE * float(np.median(took_s)))


def _side(
    stays: Sequence[Stay], name: str, presses: Sequence[Press], *, pushed: bool, least: int, usual_mm: float
) -> Side:  # fmt: skip
    if len(presses) >= least:
        spread = max(_spread(presses), usual_mm) if len(presses) > 1 else usual_mm
        u = np.hypot(spread / np.sqrt(len(presses)), np.median([p.u_mm for p in presses]))
        return Side(mm=float(np.median([p.rise_mm for p in presses])), u_mm=float(u))
    bound = max(getattr(stay, name).least_mm for stay in stays)
    if not pushed or any(p.rise_mm > BARELY * bound for p in presses):
        return Side()
    # Of pushes to a room as small as can just be seen, one was seen and others were not.
    seen = max((p.rise_mm for p in presses), default=0.0)
    return Side(mm=seen, u_mm=bound, bound_mm=None if presses else bound)
