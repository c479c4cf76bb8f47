"""Clearances from a marked test at standstill: in each gear let go, pushed home against the stop, let go."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from shiftlog.cables.presses import LEAST_MM, Press, Pressed, find_presses
from shiftlog.errors import CannotMeasure
from shiftlog.model.cables import Clearance
from shiftlog.model.car import Car
from shiftlog.model.drive import MarkedTest
from shiftlog.model.gate import GateMap
from shiftlog.model.lever import LeverPath
from shiftlog.model.trace import Trace
from shiftlog.signal.crossing import find_runs

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
SIDE_LEAST = 2
"""Once may be a hand on its way."""
ASK = (
    'mark the span of the test in drive.toml: [[test]] kind = "clearance", with start_s and end_s; in each gear let go '
    "for a second, push home against the stop for a second, let go"
)


@dataclass(frozen=True, eq=False, kw_only=True)
class _Tried:
    """A gear in the test. stays : index ranges; pressed : what was found in each, along the gate"""

    gear: str
    way: int
    stays: list[slice]
    pressed: list[Pressed]

    @property
    def presses(self) -> list[Press]:
        return [press for one in self.pressed for press in one.presses]

    @property
    def let_go_mm(self) -> float:
        return float(np.median([one.let_go_mm for one in self.pressed]))


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
        for stay in _stays(path, span):
            stays.setdefault(path.gears[path.gear[stay.start]], []).append(stay)
    tried = [_try(gear, stays[gear], path) for gear in gate.layout.gears if gear in stays]
    if not tried:
        raise CannotMeasure(f"the marked clearance test holds no stay in a gear; {ASK}")
    scale = 1.0 if gate.scale == "absolute" else _rescale(tried, gate)
    found = _with_repeats([_measure(one, path, force, car, scale) for one in tried], absolute=gate.scale == "absolute")
    return _without_soft(found)


def _try(gear: str, stays: list[slice], path: LeverPath) -> _Tried:
    way = int(np.sign(path.engage_mm[stays[0]].mean()))
    pressed = [find_presses(path.time_s[s], path.engage_mm[s] * way, path.rate_hz) for s in stays]
    return _Tried(gear=gear, way=way, stays=stays, pressed=pressed)


def _rescale(tried: list[_Tried], gate: GateMap) -> float:
    """Gate mm for one of the map's: its seats hold the presses too, the layout's travel is from let go to let go."""
    sides = [[one.let_go_mm for one in tried if one.way == way] for way in (1, -1)]
    if not all(sides):
        return 1.0
    return gate.layout.engage_travel_mm / sum(float(np.mean(side)) for side in sides)


def _stays(path: LeverPath, span: tuple[float, float]) -> list[slice]:
    """Index ranges in which the lever stayed in one gear within a marked span."""
    first, last = path.index(span[0]), path.index(span[1]) + 1
    inside = (path.depth[first:last] > IN_GEAR) & path.valid[first:last] & (path.gear[first:last] >= 0)
    stays = []
    for a, b in find_runs(inside):
        for gear in np.unique(path.gear[first + a : first + b]):
            for c, d in find_runs(path.gear[first + a : first + b] == gear):
                if d - c >= LEAST_STAY_S * path.rate_hz:
                    stays.append(slice(int(first + a + c), int(first + a + d)))
    return stays


def _measure(one: _Tried, path: LeverPath, force: Trace | None, car: Car, scale: float) -> Clearance:
    presses = one.presses
    rises = scale * np.array([press.rise_mm for press in presses])
    sd = float(rises.std(ddof=1)) if rises.size > 1 else REPEATS_MM
    # A lever that no press moves leans on its stop; less than two levels need to be told apart may be left.
    clearance = float(np.median(rises)) if rises.size else 0.0
    u = float(np.hypot(sd / np.sqrt(rises.size), np.median([p.u_mm for p in presses]))) if rises.size else LEAST_MM
    left, right = (_side(path, one.stays, sign, scale) for sign in (-1, 1))
    gives = _gives(path, presses, one.stays, one.way, force)
    return Clearance(
        gear=one.gear, way=one.way, clearance_mm=clearance, sd_mm=sd, u_mm=u, presses=len(presses),
        wanted_mm=wanted_clearance(car, one.gear), gives_mm_per_n=None if gives is None else gives[0],
        soft=gives is not None and gives[0] * gives[1] > GIVES_MM, left_mm=left, right_mm=right,
    )  # fmt: skip


def _side(path: LeverPath, stays: list[slice], sign: int, scale: float) -> float | None:
    """Room across the gate to one side, median over the presses that went there."""
    rises = [
        press.rise_mm * scale
        for stay in stays
        for press in find_presses(
            path.time_s[stay], path.select_mm[stay] * sign, path.rate_hz, from_middle=True
        ).presses
    ]  # fmt: skip
    return float(np.median(rises)) if len(rises) >= SIDE_LEAST else None


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


def pool_clearances(found: Sequence[tuple[Clearance, ...]]) -> tuple[Clearance, ...]:
    """Clearances of one car and one fitting from several tests, by gear: those of more presses count the more."""
    by_gear: dict[str, list[Clearance]] = {}
    for test in found:
        for one in test:
            by_gear.setdefault(one.gear, []).append(one)
    return tuple(some[0] if len(some) == 1 else _pool(some) for some in by_gear.values())


def _pool(some: list[Clearance]) -> Clearance:
    weights = np.array([max(c.presses, 1) for c in some], float)
    values = np.array([c.clearance_mm for c in some])
    return replace(
        some[0], clearance_mm=float(np.average(values, weights=weights)), presses=sum(c.presses for c in some),
        sd_mm=float(np.sqrt(np.average([c.sd_mm**2 for c in some], weights=weights))),
        u_mm=float(np.hypot(np.sqrt(np.average([c.u_mm**2 for c in some], weights=weights) / len(some)), values.std())),
        soft=any(c.soft for c in some),
    )  # fmt: skip


def wanted_clearance(car: Car, gear: str) -> float:
    """What the shop wants in a gear [mm]."""
    wanted = car.limits.get("clearance_mm", WANTED_MM)
    if isinstance(wanted, float | int):
        return float(wanted)
    return float(wanted.get(gear, wanted.get("default", WANTED_MM)))
