"""Gear ratios as the drives had them: where they differ, shifts are not alike."""

from collections.abc import Mapping, Sequence

import numpy as np

from shiftlog.model.result import DriveResult
from shiftlog.model.told import Told, tell

# A worn tread takes about 2 % off a tyre's radius; more than twice that is another ratio, final drive or tyre.
RATIO_SHARE = 0.04
# All gears alike by more than this: beyond what tyres that fit a car and sources of speed differ by (common practice,
# no source), so that it is another final drive or gearbox.
ALL_SHARE = 0.08
# From this many gears on their common factor is known, and one gear that is off it stands out.
LEAST_GEARS = 3


def _factors(before: Sequence[DriveResult], after: Sequence[DriveResult]) -> dict[str, float]:
    """Engine speed over vehicle speed after over that before, by gear."""
    sides: list[dict[str, float]] = []
    for side in (before, after):
        learnt: dict[str, list[float]] = {}
        for gear, ratio in (pair for r in side for pair in r.summary.learnt_rpm_per_mps.items()):
            learnt.setdefault(gear, []).append(ratio)
        sides.append({gear: float(np.median(ratios)) for gear, ratios in learnt.items()})
    return {gear: sides[1][gear] / sides[0][gear] for gear in sorted(sides[0].keys() & sides[1].keys())}


def find_other_ratios(before: Sequence[DriveResult], after: Sequence[DriveResult]) -> frozenset[str]:
    """Gears of another ratio after than before: their shifts have other speeds to match, whatever was repaired."""
    factors = _factors(before, after)
    return frozenset(gear for gear in factors if _is_other(gear, factors))


def _is_other(gear: str, factors: Mapping[str, float]) -> bool:
    common = float(np.median(list(factors.values()))) if len(factors) >= LEAST_GEARS else factors[gear]
    return abs(factors[gear] / common - 1) > RATIO_SHARE or abs(factors[gear] - 1) > ALL_SHARE


def say_ratios(before: Sequence[DriveResult], after: Sequence[DriveResult]) -> Told | None:
    """By how much the ratios differ, in which gears, and what follows; None where they do not."""
    factors, others = _factors(before, after), find_other_ratios(before, after)
    apart = {gear: abs(factor - 1) for gear, factor in factors.items() if abs(factor - 1) > RATIO_SHARE}
    apart |= {gear: abs(factors[gear] - 1) for gear in others}
    if not apart:
        return None
    percent, gears = round(100 * max(apart.values())), ", ".join(sorted(apart))
    said = f"engine speed for road speed differs by up to {percent} % in {gears}: another ratio or tyre"
    told = tell("caveat.ratios", said, percent=percent, gears=gears)
    if not others:
        return told
    left = ", ".join(sorted(others))
    return tell("caveat.ratios_left", f"{told}; shifts into and out of {left} are left out", said=told, gears=left)
