"""Gears, sides and margins in words."""

from collections.abc import Sequence

from shiftlog.model.cables import Stop

LEAST_SAID_MM = 0.05
"""Less than this rounds to nothing."""


def name_all(gears: Sequence[str]) -> str:
    """1, 2 and 3."""
    return " and ".join(part for part in (", ".join(gears[:-1]), *gears[-1:]) if part)


def say_margin(mm: float, *, at_most: bool = False) -> str:
    """What is left over beside what is wanted; at_most : it is a bound."""
    if abs(mm) < LEAST_SAID_MM:
        return "at most what is wanted" if at_most else "just what is wanted"
    if mm > 0:
        return f"{'at most ' if at_most else ''}{mm:.1f} mm more than wanted"
    return f"{'at least ' if at_most else ''}{-mm:.1f} mm less than wanted"


def say_room_short(tight: Sequence[Stop], missing_mm: float, *, at_least: bool = False) -> str:
    """Which gears lack how much, along the gate or to which side."""
    by_side = {side: [stop.gear for stop in tight if stop.side == side] for side in ("home", "left", "right")}
    short = (
        f"{'at least ' if at_least else ''}{missing_mm:.1f} mm" if missing_mm >= LEAST_SAID_MM else "less than 0.1 mm"
    )
    parts = [f"{name_all(by_side['home'])}"] if by_side["home"] else []
    left, right = by_side["left"], by_side["right"]
    if left and left == right:
        parts.append(f"the room to either side in {name_all(left)}")
    else:
        parts += [f"the room to the {side} in {name_all(by_side[side])}" for side in ("left", "right") if by_side[side]]
    verb = "is" if len(tight) == 1 or (not by_side["home"] and len(parts) == 1) else "are"
    return f"{' and '.join(parts)} {verb} {short} short of what is wanted"


def name_stop(stop: Stop) -> str:
    """A gear, or a side in it."""
    return stop.gear if stop.side == "home" else f"{stop.gear} to the {stop.side}"
