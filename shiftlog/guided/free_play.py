"""Free play in gear: light pushes and pulls, and what the lever gives for each newton where force is logged."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from shiftlog.cables.in_gear import find_stays, fit_scale
from shiftlog.detect.lever import find_excursions
from shiftlog.errors import CannotMeasure
from shiftlog.guided.play_touches import Touches, find_touches
from shiftlog.guided.shares import middle_figure
from shiftlog.guided.span import lever_of, scale_doubts
from shiftlog.measure.scene import Scene
from shiftlog.model.drive import MarkedTest
from shiftlog.model.guided import Figure, GuidedResult
from shiftlog.model.lever import LeverPath
from shiftlog.model.result import DriveResult
from shiftlog.model.settings import Settings
from shiftlog.model.sign import OUTSIDE
from shiftlog.model.trace import Trace
from shiftlog.signal.middle import Middle, difference, middle_of

KIND = "free_play"
IN_GEAR = 0.5
LEAST_STAY_S = 2.0
LARGE_MM = 4.0
"""More play than this at the knob, along the gate, is felt by every driver (common practice, no source)."""
NONE_FOUND = (
    "no light pushes and pulls in a gear were found in this span: put a gear in, then with one finger forward and "
    "back, a second and a half each, ten times; or fit a second sensor where the cables end (place = tower) and move "
    "the lever slowly through every gear"
)
TOWER_TELLS = (
    "the lever alone does not tell whose play it is: lever box, cables or gearbox; a second sensor where the cables "
    "end (place = tower) does"
)
NO_FORCE = "no lever_force channel: with a force gauge logged beside the lever the linkage's give is a line"


@dataclass(frozen=True, eq=False, kw_only=True)
class Line:
    """Free play and give of both sides by one line each, with one slope: play [mm], give [mm/N], their uncertainties"""

    play_mm: float
    u_play: float
    give: float
    u_give: float
    freedom: float


def measure_free_play(test: MarkedTest, scene: Scene, result: DriveResult) -> GuidedResult:
    """Free play of each gear that was tried. CannotMeasure where the gate is not known or no gear was in."""
    path, gate = lever_of(test, scene, result)
    span = (test.start_s, test.end_s)
    stays = find_stays(path, span, depth=IN_GEAR, least_s=LEAST_STAY_S)
    if not stays:
        raise CannotMeasure(NONE_FOUND)
    force = scene.signals.lever_force
    scale = fit_scale(gate, *_seats_outside(path, span, scene.settings))
    figures: list[Figure] = []
    for gear in [g for g in path.gears if g in stays]:
        figures += _of_gear(gear, stays[gear], path, gate.noise_mm, force, scale)
    if all(figure.value is None for figure in figures):
        raise CannotMeasure(NONE_FOUND)
    return GuidedResult(
        kind=KIND, start_s=test.start_s, end_s=test.end_s, configuration=test.configuration, figures=tuple(figures),
        says=tuple(_say(figures)), doubts=_doubts(force, scale_doubts(gate)), points_to=_points(figures),
    )  # fmt: skip


def _seats_outside(path: LeverPath, span: tuple[float, float], settings: Settings) -> tuple[list[float], list[float]]:
    """(forward, rearward) seats without sign of all stays beside the test: pushes and pulls drag those in it."""
    seats: dict[bool, list[float]] = {True: [], False: []}
    for trip in find_excursions(path, settings):
        for a, b in trip.stays:
            if path.time_s[b - 1] < span[0] or path.time_s[a] > span[1]:
                seat = float(np.median(path.engage_mm[a:b]))
                seats[seat > 0].append(abs(seat))
    return seats[True], seats[False]


def _of_gear(
    gear: str, stays: Sequence[slice], path: LeverPath, noise_mm: float, force: Trace | None, scale: float
) -> list[Figure]:
    along, across = (
        Touches.joined(
            [find_touches(path.time_s[s], place[s], path.rate_hz, noise_mm=noise_mm, force=force) for s in stays]
        )
        for place in (scale * path.engage_mm, path.select_mm)
    )
    side = _play("side_play_mm", "free play across", across.furthest(), gear)
    if force is None:
        give = Figure(key="give_mm_per_n", label="give", unit="mm/N", of=gear, why=NO_FORCE)
        return [_play("free_play_mm", "free play", along.light(), gear), give, side]
    line = _fit_line(along)
    if isinstance(line, str):
        give = Figure(key="give_mm_per_n", label="give", unit="mm/N", of=gear, why=line)
        return [_play("free_play_mm", "free play", along.light(), gear), give, side]
    return [*_of_line(line, gear), side]


def _play(key: str, label: str, levels: tuple[np.ndarray, np.ndarray] | str, gear: str) -> Figure:
    if isinstance(levels, str):
        return Figure(key=key, label=label, unit="mm", of=gear, why=levels)
    high, low = (middle_of(some) for some in levels)
    return middle_figure(key, label, "mm", difference(high, low), of=gear)


OUTLIER, SAME_MM = 5.0, 0.03
"""Touches further from the line than so many times the usual are left out; nearer than the second none are."""
FORCE_SPREAD_N, LEAST_TOUCHES = 5.0, 6
"""Over less force a line tells nothing; fewer touches leave it no scatter to be judged by."""


def _fit_line(touches: Touches) -> Line | str:
    """Place of each touch against its force, one slope and one start for each side (least squares)."""
    if len(touches.high) < 2 or len(touches.low) < 2 or len(touches.high) + len(touches.low) < LEAST_TOUCHES:
        return f"{len(touches.high)} pushes and {len(touches.low)} pulls; a line takes three of each"
    newton = np.concatenate([touches.high_n, touches.low_n])
    if np.ptp(newton) < FORCE_SPREAD_N:
        return f"all touches were within {np.ptp(newton):.1f} N of each other; push lightly and firmly by turns"
    sign = np.concatenate([np.ones(len(touches.high)), -np.ones(len(touches.low))])
    place = np.concatenate([touches.high, touches.low])
    design = np.column_stack([sign > 0, sign < 0, sign * newton]).astype(float)
    found, *_ = np.linalg.lstsq(design, place, rcond=None)
    apart = np.abs(place - design @ found)
    # A touch that slipped, or a hand at rest that looked like one.
    kept = apart <= OUTLIER * max(float(np.median(apart)), SAME_MM)
    design, place = design[kept], place[kept]
    if place.size < LEAST_TOUCHES or np.linalg.matrix_rank(design) < 3:
        return "the touches lie on no line; press as evenly as you can"
    found, *_ = np.linalg.lstsq(design, place, rcond=None)
    freedom = place.size - 3
    covariance = np.linalg.inv(design.T @ design) * float(np.sum((place - design @ found) ** 2)) / freedom
    apart = np.array([1.0, -1.0, 0.0])
    return Line(
        play_mm=float(apart @ found), u_play=float(np.sqrt(apart @ covariance @ apart)), give=float(found[2]),
        u_give=float(np.sqrt(covariance[2, 2])), freedom=float(freedom),
    )  # fmt: skip


def _of_line(line: Line, gear: str) -> list[Figure]:
    give = Middle(value=line.give, u=line.u_give, freedom=line.freedom)
    told = middle_figure("give_mm_per_n", "give", "mm/N", give, of=gear)
    if line.play_mm <= 0:
        why = f"none that stands out: less than {2 * line.u_play:.2f} mm"
        return [Figure(key="free_play_mm", label="free play", unit="mm", of=gear, why=why), told]
    play = Middle(value=line.play_mm, u=line.u_play, freedom=line.freedom)
    return [middle_figure("free_play_mm", "free play", "mm", play, of=gear), told]


def _say(figures: Sequence[Figure]) -> list[str]:
    says = []
    for f in figures:
        if f.key == "free_play_mm":
            told = f"{f.value:.1f} mm" if f.value is not None else f"not known: {f.why}"
            says.append(f"Free play in {f.of}: {told}.")
        elif f.key == "give_mm_per_n" and f.value is not None:
            sure = f" ± {f.uncertainty:.3f}" if f.uncertainty else ""
            says.append(f"Under force it gives {f.value:.3f}{sure} mm for each newton in {f.of}.")
    return says


def _points(figures: Sequence[Figure]) -> tuple[tuple[str, str], ...]:
    large = [f for f in figures if f.key == "free_play_mm" and f.value is not None and f.value > LARGE_MM]
    return tuple((OUTSIDE, f"{f.value:.1f} mm of free play in {f.of}: bushes, ends, brackets") for f in large)


def _doubts(force: Trace | None, scale: tuple[str, ...]) -> tuple[str, ...]:
    unforced = "without force in the log what the linkage gives under a light finger is part of the free play"
    return (*(() if force is not None else (unforced,)), TOWER_TELLS, *scale)
