"""Rules about where the lever rests."""

import numpy as np

from shiftlog.findings.case import LARGE_MM, OFFSET_MM, SMALL_MM, Case, Held, Rule, is_even
from shiftlog.measure.neutral import measure_hysteresis
from shiftlog.model.reading import Reading
from shiftlog.model.sign import ADJUST, AGAINST, FOR, OUTSIDE, UNKNOWN

WANDERS_MM = 3.0
"""Rests from one side that scatter by this wander (common practice, no source)."""
LEAST_RESTS = 5


def _even_offset(case: Case) -> Held:
    offsets, apart = _offsets(case), measure_hysteresis(case.result.rests)
    if offsets.size < LEAST_RESTS:
        return UNKNOWN, f"{offsets.size} rests to which the lever ran by itself; {LEAST_RESTS} are needed"
    middle = float(np.median(offsets))
    if apart.value is None:
        return UNKNOWN, f"rests {middle:+.1f} mm from home, all from one side: {apart.why}"
    told = f"rests {middle:+.1f} mm from home, {_say_apart(apart)}"
    if abs(apart.value) < SMALL_MM and not is_even(apart.value, apart.interval95):
        return UNKNOWN, f"{told}: too few or too scattered to tell"
    return (FOR if abs(middle) > OFFSET_MM and is_even(apart.value, apart.interval95) else AGAINST), told


def _say_apart(apart: Reading) -> str:
    span = apart.interval95
    doubt = "" if span is None else f" (95 %: {span[0]:+.1f} to {span[1]:+.1f})"
    return f"{apart.value:+.1f} mm apart from right and left{doubt}"


def _offsets(case: Case) -> np.ndarray:
    rests = [r for r in case.result.rests if r.released and not r.in_bend]
    return np.array([v for r in rests if (v := r.value("offset_mm")) is not None], float)


def _wide_hysteresis(case: Case) -> Held:
    apart = measure_hysteresis(case.result.rests)
    if apart.value is None:
        return UNKNOWN, apart.why or ""
    return (FOR if abs(apart.value) > LARGE_MM else AGAINST), _say_apart(apart)


def _wandering(case: Case) -> Held:
    rests = [r for r in case.result.rests if r.released and not r.in_bend]
    sides = [[r.select_mm for r in rests if r.came_from == side] for side in ("left", "right")]
    sides = [side for side in sides if len(side) >= LEAST_RESTS]
    if not sides:
        return UNKNOWN, f"fewer than {LEAST_RESTS} rests from one side; do the release test at standstill"
    spread = max(float(np.ptp(np.quantile(side, (0.1, 0.9)))) for side in sides)
    return (FOR if spread > WANDERS_MM else AGAINST), f"rests from one side lie {spread:.1f} mm apart"


RULES = (
    Rule(
        points_to=ADJUST, look=_even_offset,
        says="The lever rests off home by the same from both sides, and friction is small.",
        also_looks_like="a bent or moved bracket; a lever box fitted off its place",
        next_test="the release test at standstill, ten let-goes from each side",
    ),
    Rule(
        points_to=OUTSIDE, look=_wide_hysteresis,
        says="The lever rests far apart when let go from the right and from the left.",
        also_looks_like="a dry or bent select shaft at the gearbox",
        next_test="the release test again with the cables off, then the tower worked by hand",
    ),
    Rule(
        points_to=OUTSIDE, look=_wandering, says="The lever comes to rest somewhere else each time.",
        also_looks_like="a hand that still lies on the lever; a road that shakes it",
        next_test="the release test at standstill, engine off",
    ),
)  # fmt: skip
