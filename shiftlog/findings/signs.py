"""Adjust, replace outside, or open? Rules of common practice, without a source, held against what was measured."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from shiftlog.model.cables import CableAdvice
from shiftlog.model.result import DriveResult
from shiftlog.model.sign import ADJUST, AGAINST, FOR, INSIDE, OUTSIDE, UNKNOWN, Sign

OFFSET_MM, SMALL_MM, LARGE_MM = 2.0, 1.5, 4.0
"""An offset that matters; a hysteresis that the friction of a sound lever leaves; one that it does not."""
WANDERS_MM = 3.0
"""Rests from one side that scatter by this wander."""
LEAST_RESTS, LEAST_STAYS = 5, 3
SHALLOW_MM = 1.0
"""A seat this far short of its place in the lattice does not go fully home."""
ONE_GEAR = ("grind gear", "second push gear", "baulk pair")
MANY_GEARS = ("grind all", "second push all", "grind direction", "second push direction")
"""Rules whose findings name one gear, and those that name most gears or all of one direction."""
OLDER = "its findings were made by a version that did not say by which rule; measure the drive again"


@dataclass(frozen=True, eq=False, kw_only=True)
class Case:
    """What the rules look at."""

    result: DriveResult
    cables: CableAdvice | None


Held = tuple[str, str]
"""State and evidence."""


def find_signs(result: DriveResult, cables: CableAdvice | None = None) -> tuple[Sign, ...]:
    """Every rule with its state, those that speak for something first."""
    case = Case(result=result, cables=cables)
    signs = [
        Sign(points_to=to, rule=rule, state=state, evidence=evidence, also_looks_like=alike, next_test=test)
        for to, rule, look, alike, test in RULES
        for state, evidence in [look(case)]
    ]
    return tuple(sorted(signs, key=lambda sign: (FOR, AGAINST, UNKNOWN).index(sign.state)))


def _even_offset(case: Case) -> Held:
    offsets, hysteresis = _offsets(case), case.result.summary.hysteresis_mm
    if offsets.size < LEAST_RESTS:
        return UNKNOWN, f"{offsets.size} rests to which the lever ran by itself; {LEAST_RESTS} are needed"
    if hysteresis is None:
        return UNKNOWN, case.result.summary.unmeasured.get("hysteresis_mm", "rests from one side only")
    middle = float(np.median(offsets))
    told = f"rests {middle:+.1f} mm from home, {hysteresis:+.1f} mm apart from right and left"
    return (FOR if abs(middle) > OFFSET_MM and abs(hysteresis) < SMALL_MM else AGAINST), told


def _offsets(case: Case) -> np.ndarray:
    rests = [r for r in case.result.rests if r.released and not r.in_bend]
    return np.array([v for r in rests if (v := r.value("offset_mm")) is not None], float)


def _one_way(case: Case) -> Held:
    """Forward gears short and rearward long, or the other way round: the engage cable."""
    if case.cables is None:
        return UNKNOWN, "no clearance test in this drive"
    advice = case.cables
    told = f"best setting {advice.setting.engage_mm:+.1f} ± {advice.sd_engage_mm:.1f} mm of the engage cable"
    return (FOR if advice.verdict == "adjust" else AGAINST), f"{told}; {advice.why}"


def _missing_travel(case: Case) -> Held:
    if case.cables is None:
        return UNKNOWN, "no clearance test in this drive"
    return (FOR if case.cables.verdict == "not_by_adjustment" else AGAINST), case.cables.why


def _wide_hysteresis(case: Case) -> Held:
    hysteresis = case.result.summary.hysteresis_mm
    if hysteresis is None:
        return UNKNOWN, case.result.summary.unmeasured.get("hysteresis_mm", "rests from one side only")
    return (FOR if abs(hysteresis) > LARGE_MM else AGAINST), f"{hysteresis:+.1f} mm between right and left"


def _wandering(case: Case) -> Held:
    rests = [r for r in case.result.rests if r.released and not r.in_bend]
    sides = [[r.select_mm for r in rests if r.came_from == side] for side in ("left", "right")]
    sides = [side for side in sides if len(side) >= LEAST_RESTS]
    if not sides:
        return UNKNOWN, f"fewer than {LEAST_RESTS} rests from one side; do the release test at standstill"
    spread = max(float(np.ptp(np.quantile(side, (0.1, 0.9)))) for side in sides)
    return (FOR if spread > WANDERS_MM else AGAINST), f"rests from one side lie {spread:.1f} mm apart"


def _one_gear_inside(case: Case) -> Held:
    """Full depth, and yet one gear grinds, baulks or jumps out."""
    gate = case.result.gate
    jumped = sorted({s.from_gear for s in case.result.shifts if s.outcome == "jumped_out" and s.from_gear})
    named = [f.what for f in case.result.findings if f.rule in ONE_GEAR]
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
    many = [f.what for f in case.result.findings if f.rule in MANY_GEARS]
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


RULES: tuple[tuple[str, str, Callable[[Case], Held], str, str], ...] = (
    (
        ADJUST, "The lever rests off home by the same from both sides, and friction is small.", _even_offset,
        "a bent or moved bracket; a lever box fitted off its place",
        "the release test at standstill, ten let-goes from each side",
    ),
    (
        ADJUST, "Forward gears are short of room and rearward gears have plenty, or the other way round.", _one_way,
        "one worn seat in a row that is otherwise even", "the clearance test at standstill with three presses a gear",
    ),
    (
        OUTSIDE, "Even the best setting leaves a gear short: travel is missing.", _missing_travel,
        "a fork or selector that is worn or bent, inside",
        "light push and pull in gear against a ruler: free play of bushes and ends",
    ),
    (
        OUTSIDE, "The lever rests far apart when let go from the right and from the left.", _wide_hysteresis,
        "a dry or bent select shaft at the gearbox",
        "the release test again with the cables off, then the tower worked by hand",
    ),
    (
        OUTSIDE, "The lever comes to rest somewhere else each time.", _wandering,
        "a hand that still lies on the lever; a road that shakes it", "the release test at standstill, engine off",
    ),
    (
        INSIDE, "The gears go fully home, and yet one of them grinds, baulks or jumps out.", _one_gear_inside,
        "a clutch that drags (then all gears grind); a driver who hurries one shift",
        "the clutch first: does a gear go in easily with the engine off and hardly with it idling?",
    ),
    (
        INSIDE, "One gear alone lies short of its place, let go and in driving.", _short_gear,
        "a boot, console or floor mat in the way of that gear alone",
        "that gear with boot and console off; then its clearance",
    ),
)  # fmt: skip
"""Where it points, what it looks for, how, what else looks alike, the next cheapest test."""

CAUTION = (
    "Common practice without a source, and no diagnosis: each row may have another cause. A trained technician decides "
    "what is done."
)
