"""The lock-out of reverse: tries without the collar; how many it held, and how near the lever came."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from shiftlog.detect.lever import plane_centres
from shiftlog.errors import CannotMeasure
from shiftlog.guided.shares import median_figure, say_share, share_figure
from shiftlog.guided.span import lever_of, scale_doubts
from shiftlog.measure.scene import Scene
from shiftlog.model.car import REVERSE
from shiftlog.model.drive import MarkedTest
from shiftlog.model.gate import GateMap
from shiftlog.model.guided import Figure, GuidedResult
from shiftlog.model.lever import LeverPath
from shiftlog.model.result import DriveResult
from shiftlog.model.settings import Settings
from shiftlog.model.sign import OUTSIDE
from shiftlog.signal.crossing import find_runs

KIND = "lockout"
NEAR_SHARE = 0.35
"""Of a plane pitch: nearer to a plane than this the lever is at it."""
BEYOND_MM = 1.5
"""From where it lies at home, where reverse lies right beside home: more is a try."""
AGAIN_MM, AGAIN_S = 3.0, 2.0
"""A lever that falls back by so much and comes on so much later is tried again."""
AT_PLANE_MM = 1.5
"""A lever past the lock-out comes to the centre of reverse's plane but for the gate's own room (common practice, no
source)."""
AWAY_SHARE = 0.2
"""At least so much of a test the lever is let go between tries: a hand that reaches as it is told holds it for most."""
PRESS_S = 0.1
"""A hand presses for longer; over this the noise of a cheap sensor is gone."""
CLOSE_MM = 4.0
"""Of what parts the lever from reverse's plane: less is little to rely on (common practice, no source)."""
NONE_FOUND = (
    "no try for reverse was found in this span: without the collar take the lever to the side of reverse and firmly "
    "towards it, let go, ten times"
)
SPRING_ALONE = "the profile names no lock-out: a spring alone yields to a firm hand, and that is no fault"


@dataclass(frozen=True, eq=False, kw_only=True)
class Reverse:
    """Where reverse lies. way : +1 right, −1 left; centre_mm : of its plane; own_plane : whether it is alone there

    beside_mm : centre of the plane next to it; forward : +1 where reverse is forward, −1 where rearward
    seat_mm : how far reverse's seat lies from the neutral line
    """

    way: int
    plane: int
    centre_mm: float
    beside_mm: float
    own_plane: bool
    forward: int
    seat_mm: float


@dataclass(frozen=True, eq=False, kw_only=True)
class Try:
    """One reach. left_mm : what was left to reverse (its plane's centre, or its seat in a plane it shares)

    elsewhere : whether the lever was put into another gear instead, which is no try
    """

    start_s: float
    left_mm: float
    crossed: bool
    went_in: bool
    elsewhere: bool


def measure_lockout(test: MarkedTest, scene: Scene, result: DriveResult) -> GuidedResult:
    """How often the lock-out held. CannotMeasure where the gate has no reverse, is not known, or nothing was tried."""
    path, gate = lever_of(test, scene, result)
    reverse = find_reverse(gate)
    reaches = _tries(path, (test.start_s, test.end_s), reverse, gate, scene.settings)
    tries = [one for one in reaches if not one.elsewhere]
    if not tries:
        raise CannotMeasure(NONE_FOUND)
    figures = _figures(tries, reverse)
    doubts = ([] if gate.layout.lockout else [SPRING_ALONE]) + list(scale_doubts(gate))
    if len(tries) < len(reaches):
        doubts.append(f"{len(reaches) - len(tries)} ways into another gear on that side are no tries, and are left out")
    lost = sum(t.crossed for t in tries)
    points = ((OUTSIDE, f"the lock-out gave way {lost} of {len(tries)} times"),) if lost and gate.layout.lockout else ()
    return GuidedResult(
        kind=KIND, start_s=test.start_s, end_s=test.end_s, configuration=test.configuration, figures=figures,
        says=_say(figures, reverse), doubts=tuple(doubts), points_to=points,
    )  # fmt: skip


def find_reverse(gate: GateMap) -> Reverse:
    """Where reverse lies in the gate. CannotMeasure where it has none."""
    layout = gate.layout
    if REVERSE not in layout.gears:
        raise CannotMeasure("the profile's gate has no reverse: add R to [gate] planes in car.toml")
    centres, index = plane_centres(gate), layout.plane_of(REVERSE)
    plane, seat = layout.planes[index], gate.seat(REVERSE)
    inner = index - 1 if index == len(centres) - 1 else index + 1
    origin = min(layout.origin, len(centres) - 1)
    way = int(np.sign(index - origin)) or int(np.sign(index - inner)) or 1
    place = seat.engage_mm if seat else layout.position_mm(REVERSE)[1]
    return Reverse(
        way=way, plane=index, centre_mm=float(centres[index]), own_plane=None in (plane.forward, plane.rear),
        beside_mm=float(centres[index - way]) if 0 <= index - way < len(centres) else float(centres[index]),
        forward=1 if plane.forward == REVERSE else -1, seat_mm=abs(float(place)),
    )  # fmt: skip


def _tries(
    path: LeverPath, span: tuple[float, float], reverse: Reverse, gate: GateMap, settings: Settings
) -> list[Try]:  # fmt: skip
    first, last = path.index(span[0]), path.index(span[1]) + 1
    if last - first < PRESS_S * path.rate_hz:
        return []
    across = reverse.way * path.select_mm[first:last]
    at = _reached(across, reverse, gate, path.noise_mm)
    runs = [part for a, b in find_runs((across > at) & path.valid[first:last]) for part in _again(across, a, b, path)]
    least = PRESS_S * path.rate_hz
    return [_try(path, first + a, first + b, reverse, gate, settings) for a, b in runs if b - a >= least]


def _reached(across: np.ndarray, reverse: Reverse, gate: GateMap, noise_mm: float) -> float:
    """From where on, towards reverse, the lever is at the lock-out."""
    goal = reverse.beside_mm if reverse.own_plane else reverse.centre_mm
    near = reverse.way * goal - NEAR_SHARE * gate.layout.plane_pitch_mm
    lies = float(np.quantile(across, AWAY_SHARE))
    return max(near, lies + max(BEYOND_MM, 8 * noise_mm)) if abs(near - lies) < gate.layout.plane_pitch_mm / 2 else near


def _again(across: np.ndarray, start: int, stop: int, path: LeverPath) -> list[tuple[int, int]]:
    """A run cut where the lever fell back and was tried again without having left."""
    cuts, peak, valley = [start], start, start
    for i in range(start, stop):
        if across[i] > across[peak] and valley <= peak:
            peak = valley = i
        elif across[i] < across[valley] or valley <= peak:
            valley = i if across[i] < across[valley] else valley
        fell, rose = across[peak] - across[valley], across[i] - across[valley]
        if valley > peak and fell >= AGAIN_MM and rose >= AGAIN_MM and i - peak >= AGAIN_S * path.rate_hz:
            cuts.append(valley)
            peak = valley = i
    return list(zip(cuts, [*cuts[1:], stop], strict=True))


def _try(path: LeverPath, start: int, stop: int, reverse: Reverse, gate: GateMap, settings: Settings) -> Try:
    part, least = slice(start, stop), PRESS_S * path.rate_hz / 2
    plane = np.argmin(np.abs(path.select_mm[part, None] - plane_centres(gate)), axis=1)
    towards = reverse.forward * path.engage_mm[part] / reverse.seat_mm
    there = plane == reverse.plane
    deep = float(np.max(towards[there], initial=0.0))
    pressed = _pressed(reverse.way * path.select_mm[part], path.rate_hz)
    if reverse.own_plane:
        left = reverse.way * reverse.centre_mm - pressed
        crossed = left < AT_PLANE_MM or bool(np.sum(there & (towards >= settings.attempt_depth)) >= least)
    else:
        left = reverse.seat_mm * (1 - (_pressed(np.where(there, towards, 0.0), path.rate_hz)))
        crossed = deep >= settings.attempt_depth
    others = (path.depth[part] >= settings.attempt_depth) & ~(there & (towards > 0))
    return Try(
        start_s=float(path.time_s[start]), left_mm=max(left, 0.0), crossed=crossed, went_in=deep >= settings.depth_high,
        elsewhere=not crossed and bool(np.sum(others) >= least),
    )  # fmt: skip


def _pressed(values: np.ndarray, rate_hz: float) -> float:
    """The furthest that was held for a tenth of a second."""
    size = min(max(round(PRESS_S * rate_hz), 1), values.size)
    return float(np.max(np.convolve(values, np.full(size, 1 / size), mode="valid")))


def _figures(tries: Sequence[Try], reverse: Reverse) -> tuple[Figure, ...]:
    held = [t.left_mm for t in tries if not t.crossed]
    goal = "reverse's plane" if reverse.own_plane else "reverse"
    why = "the lock-out held in none of the tries"
    nearest = (
        Figure(key="nearest_mm", label=f"least left to {goal}", unit="mm", value=min(held))
        if held
        else Figure(key="nearest_mm", label=f"least left to {goal}", unit="mm", why=why)
    )
    return (
        share_figure("held", "held", len(held), len(tries)),
        share_figure("went_in", "went into reverse", sum(t.went_in for t in tries), len(tries)),
        nearest,
        median_figure("left_mm", f"left to {goal}, usually", "mm", held, why=why),
    )


def _say(figures: Sequence[Figure], reverse: Reverse) -> tuple[str, ...]:
    held, went_in, nearest, _ = figures
    assert held.share is not None and went_in.share is not None
    says = [f"The lock-out held {say_share(held.share)} tries."]
    lost = held.share.n - held.share.k
    if lost:
        says.append(f"The lever came past it {lost} times, and {went_in.share.k} times into reverse.")
    if nearest.value is None:
        return tuple(says)
    goal = "the centre of reverse's plane" if reverse.own_plane else "reverse's seat"
    close = nearest.value < CLOSE_MM
    says.append(
        f"Where it held, the lever came to within {nearest.value:.1f} mm of {goal}"
        + (": little to rely on; check it again after any change of the select cable." if close else ".")
    )
    return tuple(says)
