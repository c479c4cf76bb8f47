"""What a test for gears that jump out says, in sentences, and what they point to."""

from collections.abc import Sequence

import numpy as np

from shiftlog.guided.torque_spans import DRIVE
from shiftlog.guided.walking import Key, Tried, Walking, find_swings, is_left
from shiftlog.model.guided import PRACTICE
from shiftlog.model.sign import INSIDE, OUTSIDE

ROCKS_MM = 2.0
"""Mounts that let the lever go this far with the torque are soft or torn (common practice, no source)."""
LEAST_ROCK_MM = 0.3
ALIKE_TIMES = 3.0
"""Full throttle gives a low gear up to so much more torque at the mounts than the middle ones."""

Points = tuple[tuple[str, str], ...]


def say_jump_out(groups: dict[Key, list[Tried]], walking: Sequence[Walking]) -> tuple[tuple[str, ...], Points]:
    """Sentences, the answer first, and what they point to."""
    says, points = [], []
    for one in walking:
        says.append(_say_walking(one))
        if one.comes_back and not one.jumped:
            continue
        points.append((INSIDE, f"{says[-1]} See first that it goes fully home (clearance test) ({PRACTICE})"))
    if not any(one.jumped or not one.comes_back for one in walking):
        says.insert(0, "No gear walks out and stays out.")
    swings = find_swings(groups)
    if swings:
        says.append(_say_rocking(swings, is_left(groups, walking)))
        if _is_alike(swings) and max(map(abs, swings.values())) > ROCKS_MM:
            points.append((OUTSIDE, f"{says[-1]} Mounts first ({PRACTICE})"))
    return tuple(says), tuple(points)


def _say_walking(one: Walking) -> str:
    gear, direction = one.key
    when = "under drive" if direction == DRIVE else "on the overrun"
    if one.jumped:
        return f"Gear {gear} jumped out {one.jumped} of {one.tries} times {when}."
    how = "moves out at once" if one.at_once else "walks out"
    back = {
        True: "and comes back", False: "and does not come back",
        None: "(whether it comes back was not seen: hold a steady speed for two seconds afterwards)",
    }[one.comes_back]  # fmt: skip
    return f"Gear {gear} {how} {when} {back}."


def _say_rocking(swings: dict[str, float], left: bool | None) -> str:
    widest = max(swings.values(), key=abs)
    if abs(widest) < LEAST_ROCK_MM:
        return f"The torque moves the lever by less than {LEAST_ROCK_MM:.1f} mm."
    back = {True: ", and it does not all come back", False: ", and it comes back", None: ""}[left]
    if _is_alike(swings):
        return f"With the torque the engine rocks the lever by up to {abs(widest):.1f} mm, in all gears{back}."
    odd = max(swings, key=lambda gear: abs(swings[gear]))
    others = max((abs(mm) for gear, mm in swings.items() if gear != odd), default=0.0)
    said = f"With the torque the lever moves by {abs(widest):.1f} mm in gear {odd}"
    return f"{said}, by no more than {others:.1f} mm in the others{back}." if len(swings) > 1 else f"{said}{back}."


def _usual(swings: dict[str, float]) -> float:
    return float(np.median([abs(mm) for mm in swings.values()]))


def _is_alike(swings: dict[str, float]) -> bool:
    """Whether every gear goes the same way along the gate, none by much more than is usual."""
    mm = np.array(list(swings.values()))
    one_way = bool(np.all(mm > 0) or np.all(mm < 0))
    return mm.size > 1 and one_way and float(np.abs(mm).max()) <= ALIKE_TIMES * max(_usual(swings), LEAST_ROCK_MM)
