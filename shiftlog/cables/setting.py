"""The best setting of both cables over the clearances of all gears, and how far it can be trusted."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from shiftlog.cables.coupling import find_coupling
from shiftlog.cables.programme import (
    BINDS_MM,
    NAMES,
    TIE_MM,
    Ranges,
    Rows,
    build_rows,
    cable_ranges,
    find_best,
    free_ranges,
    knows_across,
)
from shiftlog.cables.stops import choose_counted, list_gears, list_stops
from shiftlog.cables.words import say_steps, say_verdict
from shiftlog.model.cables import CableAdvice, Clearance, Setting, Stop, Turned
from shiftlog.model.car import Car
from shiftlog.model.gate import GateMap

DRAWS, SEED = 200, 20
"""Clearances drawn anew within their uncertainty tell how sure the setting is."""
CERTAIN = 2.0
"""Standard uncertainties by which a limit must be passed to be beyond doubt."""
SLACK_MM = 2 * TIE_MM
"""The least moved of equally good settings may fall short of the best by so little."""
AT_END_MM = 0.01
"""A setting so near to where its adjuster ends lies there."""


def advise(clearances: Sequence[Clearance], car: Car, gate: GateMap | None = None) -> CableAdvice:
    """The change of both cables that makes the smallest margin as large as it can be, and what would come of it.

    margin = clearance − wanted. A forward gear loses what the engage cable moves forward, a rearward gear gains it;
    stops across the gate, where they were measured to both sides, do so for the select cable. gate : shows how far
    rows and planes are off square. CannotMeasure where no stop of the gate is left, or gears of one way alone.
    """
    counted = choose_counted(clearances, car)
    coupling = find_coupling(car, gate)
    stops = list_stops(counted, coupling)
    rows, ranges = build_rows(stops), cable_ranges(car, stops)
    best = find_best(rows, ranges)
    spread = _spread(rows, ranges)
    now, then = rows.smallest(np.zeros(2)), rows.smallest(best)
    advice = CableAdvice(
        car=car.name, clearances=tuple(clearances), setting=with_turns(best, car), sd_engage_mm=float(spread[0]),
        sd_select_mm=float(spread[1]), expected=_expect(stops, best), binding=_binding(stops, best),
        missing_mm=max(-then, 0.0), smallest_now_mm=now, smallest_then_mm=then,
        verdict=_verdict(now, then, best, spread), why="", scale=gate.scale if gate else "relative",
        turn_table=_turn_table(stops, best, car, ranges), stops=stops, ranges=ranges,
        mm_per_turn=_pitches(car),
        range_known=tuple(f"{name}_range_mm" in car.cables for name in NAMES),
        not_a_gate_stop=tuple(c.gear for c in clearances if c.soft), off_axis=coupling,
        not_pressed=tuple(g for g in list_gears(car) if g not in {c.gear for c in clearances}),
        coupling=(coupling.engage_per_select, coupling.select_per_engage),
        wanted_from="profile" if "clearance_mm" in car.limits else "assumed",
    )  # fmt: skip
    advice = _beyond_range(advice, rows, best, car)
    doubts = _doubts(advice, rows)
    advice = replace(advice, doubts=doubts, doubtful=bool(doubts))
    return replace(advice, why=say_verdict(advice), steps=say_steps(advice, car))


def _verdict(now: float, then: float, best: np.ndarray, spread: np.ndarray) -> str:
    """Beyond adjusting; good as it is, or the advice is smaller than it is sure; else adjust."""
    if then < -SLACK_MM:
        return "not_by_adjustment"
    small = np.all(np.abs(best) <= np.maximum(CERTAIN * spread, 1e-9))
    return "leave" if now >= 0 or small else "adjust"


def _beyond_range(advice: CableAdvice, rows: Rows, best: np.ndarray, car: Car) -> CableAdvice:
    """The same, with the setting that would be best if no adjuster ended, where one ends before it."""
    free = find_best(rows, free_ranges(advice.stops))
    if rows.smallest(free) <= advice.smallest_then_mm + BINDS_MM:
        return advice
    ends = tuple(
        name
        for name, mm, wanted, (low, high), known in zip(
            NAMES, best, free, advice.ranges, advice.range_known, strict=True
        )
        if known and (wanted < low and mm < low + AT_END_MM or wanted > high and mm > high - AT_END_MM)
    )
    if not ends:
        return advice
    # What an adjuster's end leaves over is taken up elsewhere: the whole is no number of its turns.
    turns = {f"{name}_turns": None for name in ends}
    return replace(
        advice, at_end=ends, beyond=replace(with_turns(free, car), **turns), beyond_smallest_mm=rows.smallest(free)
    )


def _doubts(advice: CableAdvice, rows: Rows) -> tuple[str, ...]:
    """Why the answer may be another: clearances as uncertain as the limit is near, a lever on its stop, and cables of
    which nobody knows how far they move the lever along each other's way."""
    u, limit = float(np.median(rows.u)), advice.smallest_then_mm
    found = ["uncertain"] if abs(limit) < CERTAIN * u else []
    short_for_sure = advice.verdict == "not_by_adjustment" and not advice.stopped_by_range
    if advice.leaning and not short_for_sure:
        found.append("leans")
    if not found and abs(limit) < CERTAIN * float(np.hypot(u, _drift(advice))):
        found.append("coupling")
    return tuple(found)


def _drift(advice: CableAdvice) -> float:
    """By how much a tightest stop may move on account of what is not known of the coupling [mm]."""
    moved, tight = advice.setting, advice.smallest_then_mm + BINDS_MM
    along, across = advice.off_axis.u[0] * abs(moved.select_mm), advice.off_axis.u[1] * abs(moved.engage_mm)
    margins = [(s, s.margin(moved.engage_mm, moved.select_mm)) for s in advice.stops]
    return max(along if s.side == "home" else across for s, margin in margins if margin <= tight)


def _expect(stops: Sequence[Stop], setting: np.ndarray) -> dict[str, float]:
    """Clearance of each gear after a setting [mm]."""
    return {stop.gear: stop.left_over(*map(float, setting)) for stop in stops if stop.side == "home"}


def _pitches(car: Car) -> tuple[float | None, float | None]:
    """Millimetres a turn, where the cable ends in a threaded adjuster and they are known."""
    engage, select = (car.cables.get(f"{name}_mm_per_turn") or None for name in NAMES)
    return (engage, select) if car.cables.get("end") == "turn" else (None, None)


def with_turns(setting: np.ndarray, car: Car) -> Setting:
    """The setting with its turns, where they are known."""
    turns = [float(mm) / pitch if pitch else None for mm, pitch in zip(setting, _pitches(car), strict=True)]
    return Setting(
        engage_mm=float(setting[0]), select_mm=float(setting[1]), engage_turns=turns[0], select_turns=turns[1]
    )


def _binding(stops: Sequence[Stop], best: np.ndarray) -> tuple[str, ...]:
    margins = [stop.margin(*best) for stop in stops]
    return tuple(dict.fromkeys(s.gear for s, m in zip(stops, margins, strict=True) if m <= min(margins) + BINDS_MM))


def _spread(rows: Rows, ranges: Ranges) -> np.ndarray:
    """Standard deviation of the best setting over clearances drawn within their uncertainty, (2,) [mm]."""
    rng = np.random.default_rng(SEED)
    drawn = [
        find_best(replace(rows, room=rows.room + rng.normal(0, 1, rows.u.size) * rows.u), ranges) for _ in range(DRAWS)
    ]
    return np.std(drawn, axis=0)


def _turn_table(stops: Sequence[Stop], best: np.ndarray, car: Car, ranges: Ranges) -> tuple[Turned, ...]:
    """What one turn of either cable, either way, does from the best setting; empty where a turn is not known, and
    without the select cable where nothing across the gate shows what it does."""
    shown = _pitches(car)[: 2 if knows_across(stops) else 1]
    return tuple(
        _turned(stops, best, axis, turns, pitch, ranges[axis])
        for axis, pitch in enumerate(shown)
        if pitch
        for turns in (-1, 1)
    )


def _turned(
    stops: Sequence[Stop], best: np.ndarray, axis: int, turns: int, pitch: float, reach: tuple[float, float]
) -> Turned:  # fmt: skip
    setting = best + turns * pitch * np.eye(2)[axis]
    by = [float(turns) if axis == k else 0.0 for k in (0, 1)]
    tightest = min(stops, key=lambda stop: stop.margin(*setting))
    return Turned(
        setting=Setting(
            engage_mm=float(setting[0]), select_mm=float(setting[1]), engage_turns=by[0], select_turns=by[1]
        ),
        smallest_mm=float(tightest.margin(*setting)), clearances=_expect(stops, setting), tightest=tightest,
        within=bool(reach[0] - AT_END_MM <= setting[axis] <= reach[1] + AT_END_MM),
    )  # fmt: skip
