"""Sensors at both ends of the cables: lost motion, friction loop and stretch under load, from lever minus tower."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from shiftlog.errors import CannotMeasure
from shiftlog.guided.road_ends import measure_road_ends
from shiftlog.measure.scene import Scene
from shiftlog.model.drive import MarkedTest
from shiftlog.model.gate import GateMap
from shiftlog.model.guided import PRACTICE, Figure, GuidedResult
from shiftlog.model.lever import LeverPath
from shiftlog.model.result import DriveResult
from shiftlog.model.sign import OUTSIDE
from shiftlog.model.trace import Trace
from shiftlog.signal.crossing import find_runs
from shiftlog.signal.held_levels import BLOCK_S, find_held_levels
from shiftlog.signal.play_loop import FASTEST, SLOWEST, STROKE_MOVES, PlayLoop, fit_play_loop, measure_free_play
from shiftlog.signal.robust import step_noise
from shiftlog.signal.slope import smooth

ENGAGE, SELECT = "engage", "select"
LEAST_RANGE_MM = 8.0
"""An axis along which the lever hardly goes gives no loop."""
IN_GEAR, ARRIVES_S, LEAST_ARRIVALS = 0.6, 0.4, 2
STANDS_MM, SIGMAS = 0.12, 4.0
SMOOTH_S = 0.028
STILL_MMPS, STRETCH_S = 4.0, 0.3
FIRMEST = 0.9
"""Of the holds, so that one odd reading does not count."""
ROLLS_MPS = 1.0
WIDE_MM = 2.0
"""A loop that a sound pair of cables leaves at the lever (common practice, no source)."""
ASK = (
    "fit a second sensor at the tower, where the cables end, logged with the lever on one clock (place = tower), and "
    "move the lever slowly through every gear and back"
)


DOUBTS = ("a sensor that is not firm on its lever shows as lost motion", "cold cables drag more than warm ones")
RELATIVE = (
    "the scale is that of the gate's travel in the profile, from where the lever lies as it arrives in gear; a ruler "
    "once (mm_per_unit in car.toml) makes it absolute"
)


Told = tuple[str, float | None, float | None, str | None]
"""An axis, its loop and its free play [mm], and why there is no loop."""


@dataclass(frozen=True, eq=False, kw_only=True)
class _Axis:
    """name : ``engage`` | ``select``; loop : as fitted, or None; free_mm : ranges of wiggles; stretch_mm : or None

    seen_mm : the least stroke to and fro that is told from noise
    """

    name: str
    loop: PlayLoop | None
    free_mm: tuple[float, ...] = ()
    stretch_mm: float | None = None
    noise_mm: float = 0.0
    seen_mm: float = 0.0


def measure_two_ended(test: MarkedTest, scene: Scene, result: DriveResult) -> GuidedResult:
    """Both axes over the marked span. CannotMeasure without a tower sensor or without the gate."""
    tower, path = scene.signals.tower, scene.path
    if tower is None:
        raise CannotMeasure(f"no sensor at the tower: {ASK}")
    if path is None:
        raise CannotMeasure(f"the lever's way through the gate is not known: {result.gate_why or 'no lever sensor'}")
    at = slice(path.index(test.start_s), path.index(test.end_s) + 1)
    far = _tower_on_grid(tower, path.time_s[at])
    if _is_driven(test, scene, path, at):
        axes, figures = measure_road_ends(test, scene, result, path=path, at=at, far=far)
        told = [(axis.name, None if axis.why else axis.loop.loop_mm, None, axis.why) for axis in axes]
    else:
        axes, figures, told = _at_standstill(path, at, far, result.gate)
    says, points = _say(told)
    return GuidedResult(
        kind=test.kind, start_s=test.start_s, end_s=test.end_s, configuration=test.configuration, figures=figures,
        says=says, points_to=points,
        doubts=(*DOUBTS, *(() if result.gate is None or result.gate.scale == "absolute" else (RELATIVE,))),
    )  # fmt: skip


def _is_driven(test: MarkedTest, scene: Scene, path: LeverPath, at: slice) -> bool:
    """Whether the span is one of ordinary shifts: the car rolls, or, where nothing tells, the lever goes quickly."""
    speed = scene.signals.vehicle_speed
    if speed is not None:
        inside = speed.values[(speed.time_s >= test.start_s) & (speed.time_s <= test.end_s)]
        if inside.size:
            return float(np.median(inside)) > ROLLS_MPS
    moving = np.abs(path.engage_mmps[at])
    return (
        bool(moving.size) and float(np.quantile(moving[moving > SLOWEST], 0.75)) > FASTEST
        if np.any(moving > SLOWEST)
        else False
    )


def _at_standstill(
    path: LeverPath, at: slice, far: np.ndarray, gate: GateMap | None
) -> tuple[tuple["_Axis", ...], tuple[Figure, ...], list[Told]]:
    near = ((ENGAGE, path.engage_mm[at] * _rescale(path, at, gate)), (SELECT, path.select_mm[at]))
    axes = tuple(_measure_axis(name, mm, far, path, at) for name, mm in near)
    told = [
        (a.name, a.loop.loop_mm if a.loop else None, float(np.median(a.free_mm)) if a.free_mm else None, None)
        for a in axes
    ]
    return axes, tuple(f for axis in axes for f in _figures(axis)), told


def _rescale(path: LeverPath, at: slice, gate: GateMap | None) -> float:
    """Gate mm for one of the map's along the gate; 1 where a ruler made the scale, or too few gears were gone into.

    The map's seats are medians over whole stays, pushes and pulls and presses among them; the layout's travel is from
    where the lever lies as it arrives.
    """
    if gate is None or gate.scale == "absolute":
        return 1.0
    arrived: dict[int, list[float]] = {1: [], -1: []}
    engage, count = path.engage_mm[at], round(ARRIVES_S * path.rate_hz)
    for a, b in find_runs((path.depth[at] > IN_GEAR) & path.valid[at]):
        still = np.flatnonzero(path.still_mmps[at][a:b] < STILL_MMPS)
        if b - a >= 2 * count and still.size:
            seat = float(np.median(engage[a + still[0] : a + still[0] + count]))
            arrived[1 if seat > 0 else -1].append(seat)
    if min(len(some) for some in arrived.values()) < LEAST_ARRIVALS:
        return 1.0
    return gate.layout.engage_travel_mm / (float(np.median(arrived[1])) - float(np.median(arrived[-1])))


def _tower_on_grid(tower: Trace, time_s: np.ndarray) -> np.ndarray:
    """The tower as logged on the lever's grid, smoothed alike, (n, 2). CannotMeasure where it was not logged then."""
    if time_s.size < 10 or not any(a <= time_s[0] + 0.5 and time_s[-1] - 0.5 <= b for a, b in tower.spans):
        raise CannotMeasure("the tower's sensor has a gap within the marked span; mark a stretch that it covers")
    columns = [np.interp(time_s, tower.time_s, column) for column in tower.values.T]
    return smooth(np.stack(columns, axis=1), 1 / float(np.median(np.diff(time_s))), SMOOTH_S)


def _measure_axis(name: str, near_mm: np.ndarray, far: np.ndarray, path: LeverPath, at: slice) -> _Axis:
    if np.ptp(near_mm) < LEAST_RANGE_MM:
        return _Axis(name=name, loop=None)
    loop = fit_play_loop(near_mm, far, path.rate_hz)
    if loop is None:
        return _Axis(name=name, loop=None)
    noise = float(step_noise(loop.far_mm))
    moves_mm = max(STANDS_MM, SIGMAS * noise)
    free = measure_free_play(near_mm, loop.far_mm, path.rate_hz, moves_mm=moves_mm)
    return _Axis(
        name=name, loop=loop, free_mm=tuple(free), stretch_mm=_stretch(near_mm - loop.far_mm, loop, path, at),
        noise_mm=float(np.hypot(noise, path.noise_mm)), seen_mm=STROKE_MOVES * moves_mm,
    )  # fmt: skip


def _stretch(lead_mm: np.ndarray, loop: PlayLoop, path: LeverPath, at: slice) -> float | None:
    """How far the lever leads beyond the loop's half while it is held against something; None where it never is.

    A press that stretches the cable by half a millimetre is as slow as a lever at rest: stays are cut into levels.
    """
    noise = float(step_noise(lead_mm)) / np.sqrt(BLOCK_S * path.rate_hz)
    holds = [
        abs(float(level))
        for a, b in find_runs((path.still_mmps[at] < STILL_MMPS) & path.valid[at])
        for level in find_held_levels(
            lead_mm[a:b], path.rate_hz, shortest_s=STRETCH_S, least=STANDS_MM, sigmas=SIGMAS, noise=noise
        ).levels
    ]
    return max(float(np.quantile(holds, FIRMEST)) - abs(loop.loop_mm) / 2, 0.0) if holds else None


def _figures(axis: _Axis) -> tuple[Figure, ...]:
    loop, of = axis.loop, axis.name
    names = (
        ("loop_mm", "Friction loop, lever against tower"), ("free_play_mm", "Lever moves while the tower stands"),
        ("stretch_mm", "Stretch under load"),
    )  # fmt: skip
    if loop is None:
        why = f"the lever was not moved slowly to and fro along {of}; go through the gate slowly and back, twice"
        return tuple(Figure(key=key, label=label, unit="mm", of=of, why=why) for key, label in names)
    u = float(np.hypot(loop.u_mm, 2 * axis.noise_mm / np.sqrt(loop.sweeps)))
    shared = [{"key": key, "label": label, "unit": "mm", "of": of} for key, label in names]
    first = Figure(**shared[0], value=loop.loop_mm, uncertainty=u)
    return first, _free_play(shared[1], axis), _stretch_figure(shared[2], axis)


def _free_play(shared: dict[str, str], axis: _Axis) -> Figure:
    if not axis.free_mm:
        why = (
            f"in no gear was the lever pushed and pulled lightly, by {axis.seen_mm:.1f} mm or more, while the tower "
            "stood; do so three times, two fingers: with less there is no play that these sensors show"
        )
        return Figure(**shared, why=why)
    spread = float(np.std(axis.free_mm)) / np.sqrt(len(axis.free_mm))
    return Figure(
        **shared, value=float(np.median(axis.free_mm)), uncertainty=float(np.hypot(spread, 2 * axis.noise_mm))
    )


def _stretch_figure(shared: dict[str, str], axis: _Axis) -> Figure:
    if axis.stretch_mm is None:
        return Figure(**shared, why="the lever was never held still; press it home for a second in each gear")
    return Figure(**shared, value=axis.stretch_mm, uncertainty=float(np.hypot(axis.loop.u_mm, 2 * axis.noise_mm)))


def _say(told: Sequence[Told]) -> tuple[tuple[str, ...], tuple[tuple[str, str], ...]]:
    says, points = [], []
    for name, loop_mm, free_mm, why in told:
        if loop_mm is None:
            says.append(f"Not known along {name}: {why or 'the lever was not moved slowly to and fro'}.")
            continue
        free = f", of which {free_mm:.1f} mm are lost without force" if free_mm is not None else ""
        words = f"Along {name} the lever leads the tower by {loop_mm:.1f} mm to and fro{free}."
        says.append(words)
        if loop_mm > WIDE_MM:
            points.append((OUTSIDE, f"{words} Bushes, ends, brackets and the cable's own friction ({PRACTICE})"))
    known = [words for words in says if not words.startswith("Not known")]
    if len(known) == len(told) and not points:
        known.append(f"The two ends go together: the fault, if there is one, lies beyond the tower ({PRACTICE}).")
    return (*known, *(words for words in says if words.startswith("Not known"))), tuple(points)
