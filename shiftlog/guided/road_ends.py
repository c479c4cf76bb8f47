"""Sensors at both ends of the cables on the road: what ordinary shifts tell of lost motion, friction and stretch."""

from dataclasses import dataclass, replace

import numpy as np

from shiftlog.errors import CannotMeasure
from shiftlog.measure.scene import Scene
from shiftlog.model.drive import MarkedTest
from shiftlog.model.guided import Figure
from shiftlog.model.lever import LeverPath
from shiftlog.model.reading import K95
from shiftlog.model.result import DriveResult
from shiftlog.model.shift import Shift
from shiftlog.signal.crossing import find_runs
from shiftlog.signal.driven_loop import DrivenLoop, fit_driven_loop
from shiftlog.signal.middle import middle_of
from shiftlog.signal.slope import slope

ENGAGE, SELECT = "engage", "select"
LEAST_RANGE_MM = 8.0
"""An axis along which the lever hardly goes gives no loop."""
METHOD_U_MM = 0.1
"""What cubic ways, a hand's acceleration and mounts leave in a loop, however many shifts there are (made cables)."""
WORTH_MM = 0.3
"""A loop that is not known to this (95 %) is not told."""
NARROWS_MM, SIGMAS = 0.4, 3.0
"""Where the loop at the edge of the gate's middle differs from that at its centre by both, it is none."""
QUICK_MMPS = 150.0
"""A usual hand in the gate's middle: what a late sensor looks like at it, half to either side of the loop."""
LEAST_RATE_HZ = 140.0
"""Of the tower: at 100 Hz a quick hand is through the gate's middle in five values, and a late sensor looks like play
(made cables)."""
STANDS_MMPS, STANDS_S, STANDS_DEPTH = 25.0, 0.04, (0.3, 0.85)
"""A lever that a cone holds: slower than this at least so long, between these depths."""
FREE_WHY = (
    "a hand that shifts never lets the cable slack, so that play without force stays within the loop; for play alone "
    "push and pull lightly in gear with the engine off (two fingers, three times to and fro), in a span of its own"
)


@dataclass(frozen=True, eq=False, kw_only=True)
class RoadAxis:
    """loop : as fitted, or None; why : what stands against telling it, or None; near_mm (n,)

    apart_s : by how much this axis is out in how late the tower's recorder is, as far as the other one tells
    """

    name: str
    near_mm: np.ndarray
    loop: DrivenLoop | None
    why: str | None = None
    apart_s: float = 0.0

    @property
    def u_mm(self) -> float:
        """Standard uncertainty of the loop."""
        if self.loop is None:
            return np.inf
        bent = max(abs(self.loop.narrows_mm) - self.loop.u_narrows_mm, 0.0) / 2
        return float(np.linalg.norm((self.loop.u_mm, METHOD_U_MM, bent, self.apart_s * QUICK_MMPS)))


def measure_road_ends(
    test: MarkedTest, scene: Scene, result: DriveResult, *, path: LeverPath, at: slice, far: np.ndarray
) -> tuple[tuple[RoadAxis, ...], tuple[Figure, ...]]:
    """Both axes over the span ``at`` of the path, the tower (n, 2) as logged on its grid, and all their figures."""
    rate = scene.signals.tower.rate_hz
    if rate < LEAST_RATE_HZ:
        raise CannotMeasure(
            f"the recorder at the tower writes {rate:.0f} values a second; quick shifts need {LEAST_RATE_HZ:.0f} and "
            "more; set it faster, or move the lever slowly through every gear with the engine off"
        )
    engage = _fit_axis(ENGAGE, path.engage_mm[at], far, path.time_s[at], lag_s=None)
    # One recorder has one clock: the longer way along the gate tells how late it is.
    lag = engage.loop.lag_s if engage.loop else None
    select = _fit_axis(SELECT, path.select_mm[at], far, path.time_s[at], lag_s=lag)
    # Detents lie along engage, and pull hardest where the lever is quickest: they look like a late sensor. Along
    # select there is the spring alone, which the way itself takes out.
    apart = abs(engage.loop.lag_s - select.loop.lag_s) if engage.loop and select.loop else 0.0
    engage, select = _judged(replace(engage, apart_s=apart)), _judged(select)
    inside = [s for s in result.shifts if test.start_s <= s.start_s and (s.end_s or np.inf) <= test.end_s]
    figures = (*_figures(engage), _stretch(engage, inside, path, at), *_figures(select))
    return (engage, select), figures


def _fit_axis(name: str, near_mm: np.ndarray, far: np.ndarray, time_s: np.ndarray, *, lag_s: float | None) -> RoadAxis:
    if np.ptp(near_mm) < LEAST_RANGE_MM:
        return RoadAxis(name=name, near_mm=near_mm, loop=None, why=f"the lever hardly moved along {name}")
    loop = fit_driven_loop(time_s, near_mm, far, lag_s=lag_s)
    if loop is None:
        why = (
            f"the tower slid behind the lever along {name} in too few shifts both ways; drive up and down through all "
            "gears three times"
        )
        return RoadAxis(name=name, near_mm=near_mm, loop=None, why=why)
    return RoadAxis(name=name, near_mm=near_mm, loop=loop)


def _judged(axis: RoadAxis) -> RoadAxis:
    """The axis, and why its loop is not told where it is not."""
    return axis if axis.loop is None else replace(axis, why=_why_not(axis))


def _why_not(axis: RoadAxis) -> str | None:
    loop = axis.loop
    if abs(loop.narrows_mm) > NARROWS_MM and abs(loop.narrows_mm) > SIGMAS * loop.u_narrows_mm:
        return (
            f"along {axis.name} the lead of the lever changes on its way through neutral by {abs(loop.narrows_mm):.1f} "
            "mm: detents or springs pull harder than friction holds, so that the shifts do not load the cable the same "
            "way throughout; move the lever slowly through every gear and back with the engine off"
        )
    if K95 * axis.u_mm > WORTH_MM and axis.apart_s * QUICK_MMPS > axis.u_mm / 2:
        return (
            f"the detents lead the shifts along {axis.name} so far that they tell the loop to {K95 * axis.u_mm:.1f} mm "
            f"only, {WORTH_MM:g} are asked; move the lever slowly through every gear and back with the engine off"
        )
    if K95 * axis.u_mm > WORTH_MM:
        return (
            f"the shifts tell the loop along {axis.name} to {K95 * axis.u_mm:.1f} mm only, {WORTH_MM:g} are asked: "
            "they load the cable too unevenly, or are too few; drive more of them, with an even hand"
        )
    if loop.loop_mm < K95 * axis.u_mm:
        return (
            f"less than {max(loop.loop_mm, 0.0) + K95 * axis.u_mm:.1f} mm along {axis.name}: the shifts do not load "
            "the cable enough to show a loop"
        )
    return None


def _figures(axis: RoadAxis) -> tuple[Figure, ...]:
    loop = {"key": "loop_mm", "label": "Friction loop, lever against tower", "unit": "mm", "of": axis.name}
    free = {"key": "free_play_mm", "label": "Lever moves while the tower stands", "unit": "mm", "of": axis.name}
    if axis.why:
        return Figure(**loop, why=axis.why), Figure(**free, why=FREE_WHY)
    value, u = axis.loop.loop_mm, axis.u_mm
    interval = (max(value - K95 * u, 0.0), value + K95 * u)
    return Figure(**loop, value=value, uncertainty=u, interval95=interval), Figure(**free, why=FREE_WHY)


def _stretch(axis: RoadAxis, shifts: list[Shift], path: LeverPath, at: slice) -> Figure:
    """Lead of a lever that a cone holds, over its lead as it comes back over the same place of the tower, less the loop

    Both are read at one place of the tower in one plane, so that neither gain nor linkage counts.
    """
    shared = {"key": "stretch_mm", "label": "Stretch while a cone holds the lever", "unit": "mm", "of": ENGAGE}
    if axis.why:
        return Figure(**shared, why=axis.why)
    held = [lead for s in shifts if (lead := _held_lead(axis, s, path, at)) is not None]
    if len(held) < 3:
        why = f"in {len(held)} shifts a cone held the lever and the same gear was left again; three are needed"
        return Figure(**shared, why=why)
    middle = middle_of(np.array(held) - axis.loop.loop_mm)
    return Figure(**shared, value=max(middle.value, 0.0), uncertainty=float(np.hypot(middle.u or 0.0, axis.u_mm)))


def _held_lead(axis: RoadAxis, shift: Shift, path: LeverPath, at: slice) -> float | None:
    """Lever [mm] between the stand before the gear and the way out of it, at one place of the tower."""
    if shift.end_s is None:
        return None
    first, last = path.index(shift.start_s) - at.start, path.index(shift.end_s) - at.start
    depth, rate = path.depth[at], path.rate_hz
    speed = np.abs(slope(axis.near_mm[first:last], rate, 0.02)) if last - first > 10 else np.zeros(0)
    inside = depth[first:last]
    stands = (
        (speed < STANDS_MMPS) & (inside > STANDS_DEPTH[0]) & (inside < STANDS_DEPTH[1]) if speed.size else speed > 0
    )
    runs = [(a, b) for a, b in find_runs(stands) if b - a >= STANDS_S * rate]
    if not runs:
        return None
    a, b = max(runs, key=lambda run: run[1] - run[0])
    rows = slice(first + a + (b - a) // 4, first + b - (b - a) // 4)
    side, place = np.sign(axis.near_mm[last]), float(np.median(axis.loop.far_mm[rows]))
    after = side * (axis.loop.far_mm[last:] - place)
    back = int(np.argmax(after < 0)) if np.any(after < 0) else 0
    if back == 0:
        return None
    left = float(np.interp(0.0, after[[back, back - 1]], axis.near_mm[last:][[back, back - 1]]))
    return float(side * (np.median(axis.near_mm[rows]) - left))
