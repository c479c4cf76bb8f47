"""The detent: let go at stepped depths, from where does the lever run in by itself, and how quickly?"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from shiftlog.detect.idle import STALLED_RPM
from shiftlog.errors import CannotMeasure
from shiftlog.guided.own_map import trace_beside
from shiftlog.measure.scene import Scene
from shiftlog.model.drive import MarkedTest
from shiftlog.model.guided import PRACTICE, Figure, GuidedResult
from shiftlog.model.lever import LeverPath
from shiftlog.model.result import DriveResult
from shiftlog.model.sign import INSIDE
from shiftlog.signal.crossing import find_runs

LEAST_HELD_S = 0.3
DEPTHS = (0.12, 0.88)
"""Held between these, a lever is let go on its way in."""
HOME, IN_S = 0.9, 0.35
"""A lever that runs in is home within this time (common practice, no source)."""
SPRING_SHARE = 0.55
"""A spring is quickest towards the end of the way, a hand in its middle, at a half."""
LATE, SLOW_MMPS = 0.75, 60.0
"""A detent that pulls only from here on, or slower than that, hardly holds (common practice, no source)."""


@dataclass(frozen=True, eq=False, kw_only=True)
class LetGo:
    """gear; depth : where it was held; ran_in : by itself; speed_mmps : the fastest on its way in, or None"""

    gear: str
    depth: float
    ran_in: bool
    speed_mmps: float | None


def measure_detent(test: MarkedTest, scene: Scene, result: DriveResult) -> GuidedResult:
    """Depth from which each gear runs in, and its speed. CannotMeasure without the gate, or with no hold on the way."""
    # Places at which the lever was held for the test are no gears, and would drag a map that knows of them.
    tries = find_let_goes(trace_beside(test.kind, scene, result), test.start_s, test.end_s)
    if not tries:
        raise CannotMeasure(
            "the lever was never held on its way into a gear within the marked span; hold it for half a second at "
            "growing depths and let go"
        )
    gears = sorted({t.gear for t in tries})
    by_gear = {gear: [t for t in tries if t.gear == gear] for gear in gears}
    says, points = _say(by_gear)
    doubts = ["a stiff boot, a dry cable and a hand that lingers hold a lever back as well"]
    engine = scene.signals.engine_speed
    inside = np.zeros(0)
    if engine is not None:
        inside = engine.values[(engine.time_s >= test.start_s) & (engine.time_s <= test.end_s)]
    if np.any(inside > STALLED_RPM):
        doubts.append("the engine ran: its shaking helps a lever in; do it with the engine off")
    return GuidedResult(
        kind=test.kind, start_s=test.start_s, end_s=test.end_s, configuration=test.configuration,
        figures=tuple(f for gear, some in by_gear.items() for f in _figures(gear, some)), says=says, points_to=points,
        doubts=tuple(doubts),
    )  # fmt: skip


def find_let_goes(path: LeverPath, start_s: float, end_s: float) -> tuple[LetGo, ...]:
    """Each hold on the way into a gear and what became of it, in order of time."""
    first, last = path.index(start_s), path.index(end_s) + 1
    depth = path.depth[first:last]
    held = (path.still_mmps[first:last] < 8.0) & path.valid[first:last] & (depth > DEPTHS[0]) & (depth < DEPTHS[1])
    found = []
    for a, b in find_runs(held & (path.gear[first:last] >= 0)):
        if b - a >= LEAST_HELD_S * path.rate_hz:
            found.append(_let_go(path, first + int(a), first + int(b)))
    return tuple(found)


def _let_go(path: LeverPath, a: int, b: int) -> LetGo:
    depth = float(np.median(path.depth[a:b]))
    gear = path.gears[int(np.bincount(path.gear[a:b]).argmax())]
    after = path.depth[b : b + round(IN_S * path.rate_hz)]
    home = np.flatnonzero(after >= HOME)
    if not home.size:
        return LetGo(gear=gear, depth=depth, ran_in=False, speed_mmps=None)
    way = slice(b, b + int(home[0]) + round(0.03 * path.rate_hz))
    speed = np.abs(path.engage_mmps[way])
    fastest = int(np.argmax(speed))
    share = (path.depth[b + fastest] - depth) / max(1.0 - depth, 1e-6)
    ran = share > SPRING_SHARE
    return LetGo(gear=gear, depth=depth, ran_in=bool(ran), speed_mmps=float(speed[fastest]) if ran else None)


def bracket(tries: Sequence[LetGo]) -> tuple[float, float]:
    """(low, high) depth between which the lever begins to run in; 0 and 1 where no try lies on that side.

    Where tries overlap, as friction varies, the depth that puts the fewest on the wrong side, and what lies alike.
    """
    edges = np.array([0.0, *sorted(t.depth for t in tries), 1.0])
    middles = (edges[1:] + edges[:-1]) / 2
    wrong = np.array([sum((t.depth > m) != t.ran_in for t in tries) for m in middles])
    best = np.flatnonzero(wrong == wrong.min())
    return float(edges[best[0]]), float(edges[best[-1] + 1])


def _figures(gear: str, tries: Sequence[LetGo]) -> tuple[Figure, ...]:
    low, high = bracket(tries)
    shared = {"key": "runs_in_from", "label": "Runs in from a depth of", "of": gear}
    ran = [t.speed_mmps for t in tries if t.ran_in and t.speed_mmps is not None]
    if not ran:
        deepest = max(t.depth for t in tries)
        why = f"it ran in from no depth tried; the deepest was {deepest:.2f}"
        speed = Figure(key="run_in_mmps", label="Runs in at up to, over 20 ms", unit="mm/s", of=gear, why=why)
        return Figure(**shared, why=why), speed
    u = float((high - low) / np.sqrt(12))
    depth = Figure(**shared, value=(low + high) / 2, uncertainty=u, interval95=(low, high))
    spread = float(np.std(ran, ddof=1) / np.sqrt(len(ran))) if len(ran) > 1 else None
    return depth, Figure(
        key="run_in_mmps",
        label="Runs in at up to, over 20 ms",
        unit="mm/s",
        of=gear,
        value=float(np.median(ran)),
        uncertainty=spread,
    )


def _say(by_gear: dict[str, list[LetGo]]) -> tuple[tuple[str, ...], tuple[tuple[str, str], ...]]:
    says, points = [], []
    for gear, tries in by_gear.items():
        low, high = bracket(tries)
        ran = [t.speed_mmps for t in tries if t.ran_in and t.speed_mmps is not None]
        if not ran:
            told = f"Gear {gear} runs in from no depth tried."
        else:
            told = f"Gear {gear} runs in from {low:.2f} to {high:.2f} of its depth, at {np.median(ran):.0f} mm/s."
        says.append(told)
        if not ran or low > LATE or np.median(ran) < SLOW_MMPS:
            points.append((INSIDE, f"{told} A weak or stuck detent; the tower by hand, cables off, first ({PRACTICE})"))
    return tuple(says), tuple(points)
