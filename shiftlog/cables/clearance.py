"""Clearances from a marked test at standstill: in each gear let go, pushed home against the stop, let go."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from shiftlog.cables.in_gear import find_stays, fit_scale
from shiftlog.cables.presses import Press
from shiftlog.cables.sides import Side, Stay, measure_sides, read_stay
from shiftlog.errors import CannotMeasure
from shiftlog.model.cables import Clearance
from shiftlog.model.car import Car
from shiftlog.model.drive import MarkedTest
from shiftlog.model.gate import GateMap
from shiftlog.model.lever import LeverPath
from shiftlog.model.trace import Trace

KIND = "clearance"
IN_GEAR = 0.6
"""Depth beyond which a lever that stays there is in a gear, pushed home or not."""
LEAST_STAY_S = 1.0
WANTED_MM = 1.0
"""Where the profile says nothing (common practice, no source)."""
REPEATS_MM = 0.15
"""How evenly a hand presses home against a hard stop, where a gear was pressed only once (common practice, no
source)."""
FORCE_SPREAD_N, GIVES_MM = 15.0, 0.3
"""A stop gives if it moves by this over a spread of force of at least so many newtons."""
UNLIKE_MM = 0.25
"""Without force: presses in one gear that scatter by this while those in others repeat met a stop that gives."""
UNLIKE_TIMES = 4.0
ALIKE_PRESSES = 4
"""How evenly a hand presses in the gears at large counts as much as so many presses in this one."""
MEDIAN_OF_FEW = 1.16
"""Standard deviation of the median of three to five normal values over that of their mean, 1.16 to 1.20."""
SCALE_SHARE = 0.015
"""How well a scale fitted to the seats holds: their scatter of 0.3 mm over 30 mm, and axes that lean (common practice,
no source)."""
ASK = (
    'mark the span of the test in drive.toml: [[test]] kind = "clearance", with start_s and end_s; in each gear let go '
    "for a second, push home against the stop for a second, let go"
)


@dataclass(frozen=True, eq=False, kw_only=True)
class _Tried:
    """A gear in the test. stays : index ranges; pressed : what was found in each"""

    gear: str
    way: int
    stays: list[slice]
    pressed: list[Stay]

    @property
    def presses(self) -> list[Press]:
        return [press for one in self.pressed for press in one.along.presses]

    @property
    def let_go_mm(self) -> float:
        return float(np.median([one.along.let_go_mm for one in self.pressed]))


def measure_clearances(
    path: LeverPath, gate: GateMap, tests: Sequence[MarkedTest], force: Trace | None, car: Car
) -> tuple[Clearance, ...]:
    """One clearance for each gear that was tried in the marked spans, by the order of the gate.

    CannotMeasure, with what to do, where no span is marked or no gear was tried in one.
    """
    spans = [(t.start_s, t.end_s) for t in tests if t.kind == KIND]
    if not spans:
        raise CannotMeasure(f"no clearance test is marked in this drive; {ASK}")
    stays: dict[str, list[slice]] = {}
    for span in spans:
        for gear, some in find_stays(path, span, depth=IN_GEAR, least_s=LEAST_STAY_S).items():
            stays.setdefault(gear, []).extend(some)
    tried = [_try(gear, stays[gear], path, gate, pulls=False) for gear in gate.layout.gears if gear in stays]
    if not tried:
        raise CannotMeasure(f"the marked clearance test holds no stay in a gear; {ASK}")
    if any(stay.along.pulled for one in tried for stay in one.pressed):
        tried = [_try(one.gear, one.stays, path, gate, pulls=True) for one in tried]
    scale = fit_scale(gate, *([one.let_go_mm for one in tried if one.way == way] for way in (1, -1)))
    sides = measure_sides({one.gear: one.pressed for one in tried}, repeats_mm=REPEATS_MM)
    found = [_measure(one, path, force, car, scale) for one in tried]
    found = [_with_sides(one, sides[one.gear]) for one in found]
    return _without_soft(_with_repeats(found, absolute=gate.scale == "absolute"))


def _try(gear: str, stays: list[slice], path: LeverPath, gate: GateMap, *, pulls: bool) -> _Tried:
    way = int(np.sign(path.engage_mm[stays[0]].mean()))
    return _Tried(
        gear=gear,
        way=way,
        stays=stays,
        pressed=[read_stay(path, s, way, rounding_mm=gate.rounding_mm, pulls=pulls) for s in stays],
    )


def _measure(one: _Tried, path: LeverPath, force: Trace | None, car: Car, scale: float) -> Clearance:
    presses = one.presses
    rises = scale * np.array([press.rise_mm for press in presses])
    sd = float(rises.std(ddof=1)) if rises.size > 1 else REPEATS_MM
    # A lever that no press moves leans on its stop; less than two levels need to be told apart may be left.
    clearance = float(np.median(rises)) if rises.size else 0.0
    bound = None if rises.size else scale * min(stay.along.least_mm for stay in one.pressed)
    u = float(np.hypot(sd / np.sqrt(rises.size), np.median([p.u_mm for p in presses]))) if bound is None else bound
    gives = _gives(path, presses, one.stays, one.way, force)
    return Clearance(
        gear=one.gear, way=one.way, clearance_mm=clearance, sd_mm=sd, u_mm=u, presses=len(presses), bound_mm=bound,
        wanted_mm=wanted_clearance(car.limits, one.gear), gives_mm_per_n=None if gives is None else gives[0],
        soft=gives is not None and gives[0] * gives[1] > GIVES_MM,
    )  # fmt: skip


def _with_sides(one: Clearance, sides: tuple[Side, Side]) -> Clearance:
    left, right = sides
    return replace(
        one, left_mm=left.mm, left_u_mm=left.u_mm, left_bound_mm=left.bound_mm, right_mm=right.mm,
        right_u_mm=right.u_mm, right_bound_mm=right.bound_mm,
    )  # fmt: skip


def _gives(
    path: LeverPath, presses: list[Press], stays: list[slice], way: int, force: Trace | None
) -> tuple[float, float] | None:
    """(mm per newton, spread of force) of the stop, from force logged while it was pressed; None where it was not."""
    if force is None or not presses:
        return None
    pressed = np.zeros(path.time_s.size, bool)
    for press in presses:
        pressed[path.index(press.start_s) : path.index(press.end_s)] = True
    within = np.zeros(path.time_s.size, bool)
    for stay in stays:
        within[stay] = True
    rows = np.flatnonzero(pressed & within)
    newton = np.abs(np.interp(path.time_s[rows], force.time_s, force.values))
    spread = float(np.ptp(np.quantile(newton, (0.05, 0.95)))) if rows.size else 0.0
    if spread < FORCE_SPREAD_N:
        return None
    return max(float(np.polyfit(newton, path.engage_mm[rows] * way, 1)[0]), 0.0), spread


def _with_repeats(found: list[Clearance], *, absolute: bool) -> list[Clearance]:
    """The same, with uncertainties that do not hang on how well three presses happened to agree: one hand presses alike
    in every gear, and a scale fitted to the seats is as uncertain as they are."""
    several = [c for c in found if c.presses > 1]
    usual = float(np.median([c.sd_mm for c in several])) if several else REPEATS_MM
    share = 0.0 if absolute else SCALE_SHARE
    return [replace(c, u_mm=_uncertainty(c, usual, share * c.clearance_mm)) if c.presses else c for c in found]


def _uncertainty(one: Clearance, usual_mm: float, of_scale_mm: float) -> float:
    spare = one.presses - 1
    hand = np.sqrt((spare * one.sd_mm**2 + ALIKE_PRESSES * usual_mm**2) / (spare + ALIKE_PRESSES))
    wider = MEDIAN_OF_FEW if one.presses > 2 else 1.0
    reading2 = max(one.u_mm**2 - one.sd_mm**2 / one.presses, 0.0)
    return float(np.sqrt(reading2 + (wider * hand) ** 2 / one.presses + of_scale_mm**2))


def _without_soft(found: list[Clearance]) -> tuple[Clearance, ...]:
    """The same, with stops marked that give: by their force, or as presses in one gear differ and in the others not."""
    usual = float(np.median([c.sd_mm for c in found if c.presses > 1] or [REPEATS_MM]))
    return tuple(
        replace(c, soft=c.soft or (c.presses > 1 and c.sd_mm > max(UNLIKE_MM, UNLIKE_TIMES * usual))) for c in found
    )


def wanted_clearance(limits: Mapping[str, object], gear: str) -> float:
    """What the shop wants in a gear [mm]. limits : of the car's profile"""
    wanted = limits.get("clearance_mm", WANTED_MM)
    if isinstance(wanted, float | int):
        return float(wanted)
    return float(wanted.get(gear, wanted.get("default", WANTED_MM)))
