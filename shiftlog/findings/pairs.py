"""Baulk times that differ between the two gears of one synchroniser, by more than anything healthy explains."""

from collections.abc import Mapping, Sequence
from itertools import product

import numpy as np
from scipy.stats import mannwhitneyu

from shiftlog.findings.advice import ADVICE
from shiftlog.findings.candidate import Candidate
from shiftlog.findings.chance import least_of_ranks
from shiftlog.findings.trouble import name_shifts
from shiftlog.measure.speed_difference import HUB, KEY, side_of
from shiftlog.measure.synchro import direction, is_plain, temperature_band
from shiftlog.model.car import Car
from shiftlog.model.result import Finding
from shiftlog.model.shift import Shift

LEAST = 3
LEAST_APART_RPM = 150.0
"""Of a smaller difference nobody knows what coasting left of it."""
COASTS_RPM = (0.0, 400.0)
"""What an open clutch's shaft may lose before the cone grips: half a second at up to 800 rpm a second (common practice,
no source)."""
POWERS = (1.0, -1.0)
"""Of the gear's ratio. Times the ratio is what the hub sees: cones that take alike for a difference there. Over the
ratio is what one cone in both gears gives, t = J Δω i² / T with the inertia at the input: the truth lies between."""
APART = 1.5
"""Cones of one gearbox may differ by this and be well (common practice, no source)."""


def find_unlike_pairs(shifts: Sequence[Shift], car: Car, ratios: Mapping[str, float]) -> list[Candidate]:
    """For each plane of two forward gears, both ways round; ratios : engine over vehicle speed by gear [rpm/(m/s)]."""
    planes = car.gate.planes if car.gate else ()
    pairs = [(p.forward, p.rear) for p in planes if all(g in ratios and g.isdecimal() for g in (p.forward, p.rear))]
    groups = _stood(shifts)
    kinds = sorted({(way, band) for _, way, band in groups})
    both = [(a, b) for pair in pairs for a, b in (pair, pair[::-1])]
    found = [
        _compare(pair, kind, groups.get((pair[0], *kind), []), groups.get((pair[1], *kind), []), car, ratios)
        for pair, kind in product(both, kinds)
    ]
    return [c for c in found if c is not None]


def _stood(shifts: Sequence[Shift]) -> dict[tuple[str, str, str], list[Shift]]:
    """By gear, way and warmth. Where teeth clashed the cone was passed: a short stand speaks against it, not for it."""
    groups: dict[tuple[str, str, str], list[Shift]] = {}
    for s in shifts:
        way, stand, apart = direction(s), s.value("baulk_time_s"), s.value(KEY)
        well = is_plain(s) and s.outcome == "clean" and not s.value("grind")
        if way and well and stand and apart and abs(apart) >= LEAST_APART_RPM:
            groups.setdefault((s.to_gear, way, temperature_band(s.value("gearbox_temp_c"))), []).append(s)
    return groups


def _compare(
    gears: tuple[str, str], kind: tuple[str, str], slow: list[Shift], quick: list[Shift], car: Car, ratios: Mapping
) -> Candidate | None:
    if min(len(slow), len(quick)) < LEAST:
        return None
    slower, quicker = (_Side(some, gear, car, ratios) for some, gear in zip((slow, quick), gears, strict=True))
    p = max(_p_slower(slower.stands(*how), quicker.stands(*how)) for how in product(COASTS_RPM, POWERS))
    medians = [np.median([1e6 * s.value("baulk_time_s") / abs(s.value(KEY)) for s in some]) for some in (slow, quick)]
    advice, used = ADVICE["baulk", "pair"], sorted([*slow, *quick], key=lambda s: s.number)
    where = {"up": "upshifts", "down": "downshifts"}[kind[0]]
    finding = Finding(
        what=f"In {where} the lever stands longer before {gears[0]} than before {gears[1]} on the same synchroniser: "
        f"{medians[0]:.0f} ms against {medians[1]:.0f} ms for each 1,000 rpm of difference "
        f"({len(slow)} and {len(quick)} shifts).",
        evidence=(*name_shifts(used), f"rank sum test of more than {APART:g} times, the worst case of what ratios and "
                  f"coasting explain, n = {len(slow)} and {len(quick)}"),
        look_at=advice.look_at, also_looks_like=advice.also_looks_like, next_test=advice.next_test,
        shifts=tuple(s.number for s in used), rule="baulk pair",
    )  # fmt: skip
    least = least_of_ranks(len(slow), len(quick))
    return Candidate(rule=f"baulk {'-'.join(gears)} {kind}", finding=finding, p=p, least_p=least)


def _p_slower(slow: np.ndarray, quick: np.ndarray) -> float:
    return float(mannwhitneyu(slow, APART * quick, alternative="greater").pvalue)


class _Side:
    """The shifts into one gear of a pair."""

    def __init__(self, shifts: Sequence[Shift], gear: str, car: Car, ratios: Mapping[str, float]) -> None:
        at_output = side_of(car, gear) == HUB and car.hub.get(gear, "output") == "output"
        to_engine = car.ratios[gear] if at_output else 1.0
        self._engine_rpm = np.abs([s.value(KEY) for s in shifts]) * to_engine
        self._stand_s = np.array([s.value("baulk_time_s") for s in shifts])
        self._loses = -1.0 if direction(shifts[0]) == "up" else 1.0
        self._ratio = ratios[gear]

    def stands(self, coasts_rpm: float, power: float) -> np.ndarray:
        """Stand over difference at the engine, times the ratio to a power; for comparing only.

        Coasting takes from the difference of an upshift and adds to that of a downshift.
        """
        met_rpm = np.maximum(self._engine_rpm + self._loses * coasts_rpm, LEAST_APART_RPM)
        return self._stand_s / met_rpm * self._ratio**power
