"""Rules about single gears: full depth, and yet trouble; or short of their place."""

import numpy as np

from shiftlog.findings.case import Case, Held, Rule
from shiftlog.model.sign import AGAINST, FOR, INSIDE, UNKNOWN

LEAST_STAYS = 3
SHALLOW_MM = 1.0
"""A seat this far short of its place in the lattice does not go fully home (common practice, no source)."""
ONE_GEAR = ("grind gear", "second push gear", "baulk pair")
MANY_GEARS = ("grind all", "second push all", "grind direction", "second push direction")
"""Rules whose findings name one gear, and those that name most gears or all of one direction."""
OLDER = "its findings were made by a version that did not say by which rule; measure the drive again"


def _one_gear_inside(case: Case) -> Held:
    """Full depth, and yet one gear grinds, baulks or jumps out."""
    gate = case.result.gate
    jumped = sorted({s.from_gear for s in case.result.shifts if s.outcome == "jumped_out" and s.from_gear})
    named = [f.what.rstrip(".") for f in case.result.findings if f.rule in ONE_GEAR]
    if gate is None:
        return UNKNOWN, "no gate map: how deep the gears go is not known"
    if not jumped and not named:
        return _no_one_gear(case)
    deep = [s.gear for s in gate.seats if s.stays >= LEAST_STAYS and _shallow(s, gate.layout) < SHALLOW_MM]
    short = sorted({s.gear for s in gate.seats} - set(deep))
    told = "; ".join([*named, *(f"{gear} jumped out" for gear in jumped)])
    if set(jumped) & set(short):
        return AGAINST, f"{told}; but {', '.join(sorted(set(jumped) & set(short)))} does not go fully home"
    return FOR, f"{told}; depth: {', '.join(deep) or 'no gear'} within {SHALLOW_MM:.0f} mm of full"


def _no_one_gear(case: Case) -> Held:
    many = [f.what.rstrip(".") for f in case.result.findings if f.rule in MANY_GEARS]
    if many:
        return AGAINST, f"not one gear alone: {'; '.join(many)}"
    if any(not f.rule for f in case.result.findings):
        return UNKNOWN, OLDER
    return AGAINST, "no one gear stands out beyond chance"


def _shallow(seat, layout) -> float:
    """How far short of its place a seat lies along the gate [mm]."""
    way = np.sign(layout.position_mm(seat.gear)[1])
    return float(-way * seat.off_mm[1])


def _short_gear(case: Case) -> Held:
    gate = case.result.gate
    if gate is None:
        return UNKNOWN, "no gate map"
    if any(test.kind == "clearance" for test in case.result.tests):
        return UNKNOWN, "this drive's seats hold the presses of a clearance test; look at a drive on the road"
    seats = [s for s in gate.seats if s.stays >= LEAST_STAYS]
    short = [s for s in seats if _shallow(s, gate.layout) > SHALLOW_MM]
    if len(seats) < 4:
        return UNKNOWN, f"{len(seats)} gears were dwelt in {LEAST_STAYS} times or more; four are needed"
    told = ", ".join(f"{s.gear} by {_shallow(s, gate.layout):.1f} mm" for s in short)
    return (FOR, f"short of its place: {told}") if len(short) == 1 else (AGAINST, told or "no gear lies short")


RULES = (
    Rule(
        points_to=INSIDE, look=_one_gear_inside,
        says="The gears go fully home, and yet one of them grinds, baulks or jumps out.",
        also_looks_like="a clutch that drags (then all gears grind); a driver who hurries one shift",
        next_test="the clutch first: does a gear go in easily with the engine off and hardly with it idling?",
    ),
    Rule(
        points_to=INSIDE, look=_short_gear, says="One gear alone lies short of its place, let go and in driving.",
        also_looks_like="a boot, console or floor mat in the way of that gear alone",
        next_test="that gear with boot and console off; then its clearance",
    ),
)  # fmt: skip
