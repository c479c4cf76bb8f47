"""Gears whose lever goes out and stays out, told from an engine that rocks it in all of them."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from shiftlog.guided.torque_spans import DRIVE, OVERRUN

WALKS_MM, SIGMAS = 0.5, 4.0
"""A lever that goes out by more than both, and than it does in the others, walks (common practice, no source)."""
STAYS_SHARE = 0.4
"""So much of the way out is left after the torque has gone; rubber and mounts give it all back."""

Key = tuple[str, str]
"""Gear and direction."""


@dataclass(frozen=True, eq=False, kw_only=True)
class Tried:
    """One torque held in one gear; way : +1 where the gear lies forward; lengths [mm] None where not known

    step_mm, drift_mm : along the gate, forward positive, as the torque came and while it lasted
    left_out_mm : outwards positive, how far out of its seat it was left; u_mm : standard uncertainty of a place
    """

    way: int
    u_mm: float
    jumped: bool
    step_mm: float | None = None
    drift_mm: float | None = None
    left_out_mm: float | None = None


@dataclass(frozen=True, eq=False, kw_only=True)
class Walking:
    """A gear that goes out under one direction of torque. at_once : in one step rather than by creeping

    comes_back : None where the stay in gear ended before that could be seen
    """

    key: Key
    jumped: int
    tries: int
    at_once: bool
    comes_back: bool | None


def find_walking(groups: dict[Key, list[Tried]]) -> tuple[Walking, ...]:
    """Gears and directions that jump or whose lever goes further out than in the other gears.

    An engine that rocks takes the lever the same way along the gate in every gear; what is common to them is taken off.
    """
    found = []
    for key, some in groups.items():
        jumped = sum(t.jumped for t in some)
        creeps, left = _stands_out(_outwards(groups, key, _drift)), _outwards(groups, key, _left)
        stays = None if left is None else left[0] > STAYS_SHARE * max(creeps or 0.0, WALKS_MM)
        at_once = not creeps and _stands_out(left) is not None and _steps_out(groups, key)
        if jumped or creeps or at_once:
            found.append(
                Walking(
                    key=key, jumped=jumped, tries=len(some), at_once=at_once,
                    comes_back=None if stays is None else not stays,
                )
            )  # fmt: skip
    return tuple(found)


def _drift(tried: Tried) -> float | None:
    return tried.drift_mm


def _step(tried: Tried) -> float | None:
    return tried.step_mm


def _left(tried: Tried) -> float | None:
    return None if tried.left_out_mm is None else -tried.way * tried.left_out_mm


def _outwards(
    groups: dict[Key, list[Tried]], key: Key, of: Callable[[Tried], float | None]
) -> tuple[float, float] | None:
    """(median outwards beyond what is common to all gears, its standard uncertainty) [mm], or None."""
    known = [(t.way * -1, t.u_mm, value) for t in groups[key] if (value := of(t)) is not None]
    if not known:
        return None
    common = _common(groups, key[1], of)
    out = [way * (value - common) for way, _, value in known]
    u = np.hypot(np.sqrt(2) * np.median([u for _, u, _ in known]), np.std(out)) / np.sqrt(len(out))
    return float(np.median(out)), float(u)


def _common(groups: dict[Key, list[Tried]], direction: str, of: Callable[[Tried], float | None]) -> float:
    """Middle of all gears under one torque, forward positive [mm]; of two middle ones the smaller, or 0 where they
    go opposite ways, as one gear of few that walks must not pass for the others'. 0 where one gear was tried."""
    gears = sorted(
        float(np.median(known))
        for (_, way), some in groups.items()
        if way == direction and (known := [v for t in some if (v := of(t)) is not None])
    )
    if len(gears) < 2:
        return 0.0
    low, high = gears[(len(gears) - 1) // 2], gears[len(gears) // 2]
    return 0.0 if low * high < 0 else min(low, high, key=abs)


def _stands_out(out: tuple[float, float] | None) -> float | None:
    """The way out [mm] where it is more than nothing, else None."""
    return out[0] if out is not None and out[0] > max(WALKS_MM, SIGMAS * out[1]) else None


def _steps_out(groups: dict[Key, list[Tried]], key: Key) -> bool:
    """Whether this direction, rather than the other, is the one in which the lever stepped out."""
    steps = {
        way: out[0]
        for way in (DRIVE, OVERRUN)
        if (key[0], way) in groups and (out := _outwards(groups, (key[0], way), _step)) is not None
    }
    other = OVERRUN if key[1] == DRIVE else DRIVE
    creeps = _stands_out(_outwards(groups, (key[0], other), _drift)) if (key[0], other) in groups else None
    return creeps is None and bool(steps) and max(steps, key=lambda way: steps[way]) == key[1]


def is_left(groups: dict[Key, list[Tried]], walking: Sequence[Walking]) -> bool | None:
    """Whether in any gear that does not walk the lever is left out, beyond what is common; None where nothing shows."""
    gears = {one.key[0] for one in walking}
    left = [out for key in groups if key[0] not in gears and (out := _outwards(groups, key, _left)) is not None]
    return any(_stands_out(out) is not None for out in left) if left else None


def find_swings(groups: dict[Key, list[Tried]]) -> dict[str, float]:
    """How far the lever goes with the torque, by gear, forward under drive positive [mm]."""
    swings: dict[str, list[float]] = {}
    for (gear, direction), some in groups.items():
        known = [t.step_mm for t in some if t.step_mm is not None]
        if known:
            swings.setdefault(gear, []).append((1 if direction == DRIVE else -1) * float(np.median(known)))
    return {gear: max(values, key=abs) for gear, values in swings.items()}
