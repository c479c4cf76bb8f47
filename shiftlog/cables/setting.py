"""The best setting of both cables: a linear programme over the clearances of all gears."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from scipy.optimize import linprog

from shiftlog.cables.words import say_steps, say_verdict
from shiftlog.errors import CannotMeasure
from shiftlog.model.cables import CableAdvice, Clearance, Setting, Turned
from shiftlog.model.car import Car
from shiftlog.model.gate import GateMap

FURTHEST_MM = 15.0
"""No adjuster of a car goes further; taken where the profile gives no range."""
BINDS_MM = 0.02
"""A gear binds if its margin lies so near to the smallest."""
SIDE_WANTED_MM = 0.5
"""Room across the gate that a lever in gear should keep (common practice, no source)."""
DRAWS, SEED = 200, 20
"""Clearances drawn anew within their uncertainty tell how sure the setting is."""
TIE_MM = 1e-4
"""Of settings that are equally good the smallest is taken; better by less than this is equally good."""
CERTAIN = 2.0
"""Standard uncertainties by which a limit must be passed to be beyond doubt."""
HALF_SURE_MM = 0.05
"""A coupling that shifts a gear by less than this over the whole range is none."""


@dataclass(frozen=True, eq=False, kw_only=True)
class Rows:
    """One row for each stop: margin after a setting x is ``room`` − ``takes`` · x.

    room : (r,) [mm]; takes : (r, 2) by (engage, select); u : (r,) [mm]; gears : by row
    """

    room: np.ndarray
    takes: np.ndarray
    u: np.ndarray
    gears: tuple[str, ...]

    def smallest(self, setting: np.ndarray) -> float:
        """Smallest margin at a setting [mm]."""
        return float((self.room - self.takes @ setting).min())


def advise(clearances: Sequence[Clearance], car: Car, gate: GateMap | None = None) -> CableAdvice:
    """The change of both cables that makes the smallest margin as large as it can be, and what would come of it.

    margin = clearance − wanted. A forward gear loses what the engage cable moves forward, a rearward gear gains it;
    rows across the gate, where they were measured, do so for the select cable. gate : shows how the axes are coupled.
    CannotMeasure where no stop of the gate is left.
    """
    counted = [c for c in clearances if not c.soft]
    if not counted:
        raise CannotMeasure("every stop gives with force: none of them is the gate's, and there is nothing to set by")
    coupling = find_coupling(gate)
    rows, ranges = build_rows(counted, coupling), cable_ranges(car, counted)
    best = find_best(rows, ranges)
    spread = _spread(rows, ranges)
    now, then = rows.smallest(np.zeros(2)), rows.smallest(best)
    advice = CableAdvice(
        car=car.name, clearances=tuple(clearances), setting=with_turns(best, car), sd_engage_mm=float(spread[0]),
        sd_select_mm=float(spread[1]), expected=expect(counted, best, coupling), binding=_binding(rows, best),
        missing_mm=max(-then, 0.0), smallest_now_mm=now, smallest_then_mm=then,
        verdict=_verdict(now, then, best, spread), why="",
        doubtful=abs(then) < CERTAIN * float(np.median(rows.u)), scale=gate.scale if gate else "relative",
        turn_table=_turn_table(counted, rows, best, car, coupling),
        not_a_gate_stop=tuple(c.gear for c in clearances if c.soft),
        coupling=coupling, wanted_from="profile" if "clearance_mm" in car.limits else "assumed",
    )  # fmt: skip
    return replace(advice, why=say_verdict(advice), steps=say_steps(advice, car))


def _verdict(now: float, then: float, best: np.ndarray, spread: np.ndarray) -> str:
    """Beyond adjusting; good as it is, or the advice is smaller than it is sure; else adjust."""
    if then < 0:
        return "not_by_adjustment"
    small = np.all(np.abs(best) <= np.maximum(CERTAIN * spread, 1e-9))
    return "leave" if now >= 0 or small else "adjust"


def build_rows(counted: Sequence[Clearance], coupling: tuple[float, float]) -> Rows:
    """Stops along the gate, and across it where the lever was pushed there."""
    along, across = coupling
    rows = [(c.margin_mm, (c.way, c.way * along), c.u_mm, c.gear) for c in counted]
    for c in counted:
        for room, sign in ((c.left_mm, -1), (c.right_mm, 1)):
            if room is not None:
                rows.append((room - SIDE_WANTED_MM, (sign * across, sign), c.u_mm, c.gear))
    room, takes, u, gears = zip(*rows, strict=True)
    return Rows(room=np.array(room), takes=np.array(takes, float), u=np.array(u), gears=gears)


def cable_ranges(car: Car, counted: Sequence[Clearance]) -> tuple[tuple[float, float], tuple[float, float]]:
    """(low, high) of each cable [mm]; the select cable stays where nothing across the gate was measured."""
    both = {name: car.cables.get(f"{name}_range_mm", (-FURTHEST_MM, FURTHEST_MM)) for name in ("engage", "select")}
    return tuple(both["engage"]), tuple(both["select"])


def find_best(rows: Rows, ranges: tuple[tuple[float, float], tuple[float, float]]) -> np.ndarray:
    """(engage, select) [mm] of the greatest smallest margin; of equals the least moved."""
    count = rows.room.size
    bounds = [*ranges, (None, None)]
    over = np.column_stack([rows.takes, np.ones(count)])
    best = linprog([0, 0, -1], A_ub=over, b_ub=rows.room, bounds=bounds, method="highs")
    # Least moved: each change as the difference of two that are not negative.
    split = np.column_stack([rows.takes[:, :1], -rows.takes[:, :1], rows.takes[:, 1:], -rows.takes[:, 1:]])
    sides = [(max(b, 0.0), max(-a, 0.0)) for a, b in ranges]
    least = linprog(
        np.ones(4), A_ub=split, b_ub=rows.room - (best.x[2] - TIE_MM),
        bounds=[(0.0, top) for pair in sides for top in pair], method="highs",
    )  # fmt: skip
    return np.array([least.x[0] - least.x[1], least.x[2] - least.x[3]]) if least.success else best.x[:2]


def expect(counted: Sequence[Clearance], setting: np.ndarray, coupling: tuple[float, float]) -> dict[str, float]:
    """Clearance of each gear after a setting [mm]."""
    moved = float(setting[0] + coupling[0] * setting[1])
    return {c.gear: c.clearance_mm - c.way * moved for c in counted}


def find_coupling(gate: GateMap | None) -> tuple[float, float]:
    """(engage per select, select per engage): how far one axis moves the other, as the seats of the gate show it.

    Along the gate: the slope of seats against select, forward and rearward rows alike; across it: how far the forward
    seats of all planes lie to one side of the rearward ones. Without enough seats, none.
    """
    seats = {} if gate is None else {s.gear: s for s in gate.seats}
    if gate is None or len(seats) < 4:
        return 0.0, 0.0
    rows = [
        [(seats[g].select_mm, seats[g].engage_mm) for g in names if g in seats]
        for names in ([p.forward for p in gate.layout.planes], [p.rear for p in gate.layout.planes])
    ]
    slopes = [np.polyfit(*np.array(row).T, 1)[0] for row in rows if len(row) >= 2]
    pairs = [(seats[p.forward], seats[p.rear]) for p in gate.layout.planes if p.forward in seats and p.rear in seats]
    leans = [(a.select_mm - b.select_mm) / (a.engage_mm - b.engage_mm) for a, b in pairs]
    along = float(np.mean(slopes)) if slopes else 0.0
    across = float(np.mean(leans)) if leans else 0.0
    return tuple(0.0 if abs(value) * FURTHEST_MM < HALF_SURE_MM else value for value in (along, across))


def with_turns(setting: np.ndarray, car: Car) -> Setting:
    """The setting with its turns, where the cable ends in a threaded adjuster whose pitch is known."""
    threaded = car.cables.get("end") == "turn"
    turns = [
        float(mm) / pitch if threaded and (pitch := car.cables.get(f"{name}_mm_per_turn")) else None
        for mm, name in zip(setting, ("engage", "select"), strict=True)
    ]
    return Setting(
        engage_mm=float(setting[0]), select_mm=float(setting[1]), engage_turns=turns[0], select_turns=turns[1]
    )


def _binding(rows: Rows, best: np.ndarray) -> tuple[str, ...]:
    margins = rows.room - rows.takes @ best
    return tuple(dict.fromkeys(g for g, m in zip(rows.gears, margins, strict=True) if m <= margins.min() + BINDS_MM))


def _spread(rows: Rows, ranges: tuple[tuple[float, float], tuple[float, float]]) -> np.ndarray:
    """Standard deviation of the best setting over clearances drawn within their uncertainty, (2,) [mm]."""
    rng = np.random.default_rng(SEED)
    drawn = [
        find_best(replace(rows, room=rows.room + rng.normal(0, 1, rows.u.size) * rows.u), ranges) for _ in range(DRAWS)
    ]
    return np.std(drawn, axis=0)


def _turn_table(
    counted: Sequence[Clearance], rows: Rows, best: np.ndarray, car: Car, coupling: tuple[float, float]
) -> tuple[Turned, ...]:
    """What one turn of either cable, either way, does from the best setting; empty where a turn is not known."""
    table = []
    for axis, name in enumerate(("engage", "select")):
        pitch = car.cables.get(f"{name}_mm_per_turn")
        if car.cables.get("end") != "turn" or not pitch:
            continue
        for turns in (-1, 1):
            setting = best + turns * pitch * np.eye(2)[axis]
            by = [turns if axis == k else 0 for k in (0, 1)]
            table.append(
                Turned(
                    setting=Setting(engage_mm=float(setting[0]), select_mm=float(setting[1]),
                                    engage_turns=float(by[0]), select_turns=float(by[1])),
                    smallest_mm=rows.smallest(setting), clearances=expect(counted, setting, coupling),
                )
            )  # fmt: skip
    return tuple(table)
