"""The straight push: let go, then a push forward with an open palm; which gear is found."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from shiftlog.detect.let_goes import LetGo, find_let_goes
from shiftlog.detect.lever import Excursion, find_excursions, plane_centres
from shiftlog.detect.phases import find_still
from shiftlog.errors import CannotMeasure
from shiftlog.guided.shares import say_share, share_figure
from shiftlog.guided.span import lever_of, scale_doubts
from shiftlog.measure.scene import Scene
from shiftlog.model.drive import MarkedTest
from shiftlog.model.gate import GateMap
from shiftlog.model.guided import Figure, GuidedResult
from shiftlog.model.lever import LeverPath
from shiftlog.model.result import DriveResult
from shiftlog.model.settings import Settings
from shiftlog.model.sign import ADJUST

KIND = "straight_push"
SIDES = ("right", "left")
LAY_S, WAITED_S = 0.2, 0.5
"""A palm pushes a lever that lies; one that came straight out of a gear was led by a hand. A
palm that pushes again at a gear that refused does not wait as long as the second."""
FULLY_IN = 0.8
DEEP_SHARE = 0.8
ASIDE_MM = 5.0
"""A lever that is taken to a side goes further than this."""
NONE_FOUND = (
    "no straight push was found in this span: let the lever go in neutral, wait two seconds, then push it forward with "
    "an open palm"
)
NO_HOME_GEAR = "no gear lies straight ahead of this lever's home"


@dataclass(frozen=True, eq=False, kw_only=True)
class PalmPush:
    """gear : what lies where it was pushed, None where the gate has none; depth : how far in; side : held before

    let_go : whether a let-go was seen before it
    """

    gear: str | None
    depth: float
    side: str | None
    let_go: bool


def measure_straight_push(test: MarkedTest, scene: Scene, result: DriveResult) -> GuidedResult:
    """Which gear a straight push finds. CannotMeasure where the gate is not known or nothing was pushed."""
    path, gate = lever_of(test, scene, result)
    span = (test.start_s, test.end_s)
    let_goes = find_let_goes(path, gate, span, scene.settings)
    forward = _forward(path, span, scene.settings)
    lying = [trip for trip in forward if _lay_before(path, trip, span, scene.settings)]
    pushes = _pushes(lying, let_goes, path, gate, path.index(span[0]), scene.settings)
    if not pushes:
        raise CannotMeasure(NONE_FOUND)
    home = next((p.forward for p in gate.layout.planes if p.name == gate.layout.home), None)
    figures = (*_home_figures(pushes, home), *_found(pushes, gate), _refused(pushes))
    return GuidedResult(
        kind=KIND, start_s=test.start_s, end_s=test.end_s, configuration=test.configuration, figures=figures,
        says=_say(pushes, home, figures), points_to=_points(pushes, home),
        doubts=(*_doubts(len(forward) - len(lying), let_goes, pushes), *scale_doubts(gate)),
    )  # fmt: skip


def _forward(path: LeverPath, span: tuple[float, float], settings: Settings) -> list[Excursion]:
    return [
        trip
        for trip in find_excursions(path, settings)
        if span[0] <= path.time_s[trip.start] <= span[1]
        and trip.peak >= settings.attempt_depth
        and path.engage_mm[_deepest(path, trip)] > 0
    ]


def _deepest(path: LeverPath, trip: Excursion) -> int:
    return trip.start + int(np.argmax(np.abs(path.engage_mm[trip.start : trip.stop])))


def _lay_before(path: LeverPath, trip: Excursion, span: tuple[float, float], settings: Settings) -> bool:
    """Whether the lever lay in neutral between whatever it was in before and this push."""
    first = path.index(span[0])
    left = np.flatnonzero(path.depth[first : trip.start] >= settings.depth_mid)
    since = first + int(left[-1]) + 1 if left.size else first
    return _lay(path, since, trip.start, LAY_S, settings)


def _pushes(
    trips: Sequence[Excursion], let_goes: Sequence[LetGo], path: LeverPath, gate: GateMap, since: int,
    settings: Settings,
) -> list[PalmPush]:  # fmt: skip
    """The first after each let-go; a second one of a lever that neither went aside nor lay is the same again."""
    pushes: list[PalmPush] = []
    for trip in trips:
        aside = path.select_mm[since : trip.start]
        before = [g for g in let_goes if since <= g.start < trip.start]
        taken = aside.size and float(np.ptp(aside)) > ASIDE_MM
        if before or taken or not pushes or _lay(path, since, trip.start, WAITED_S, settings):
            side = before[-1].side if before else _side(aside, gate) if aside.size else None
            pushes.append(PalmPush(gear=_gear(path, trip, gate), depth=trip.peak, side=side, let_go=bool(before)))
        since = trip.stop
    return pushes


def _lay(path: LeverPath, since: int, until: int, seconds: float, settings: Settings) -> bool:
    return any(b - a >= seconds * path.rate_hz for a, b in find_still(path, since, until, settings))


def _side(aside: np.ndarray, gate: GateMap) -> str | None:
    """The side to which the lever went furthest, or on which it stayed; None where it never left the middle."""
    furthest = float(aside[np.argmax(np.abs(aside))])
    if abs(furthest) < ASIDE_MM or gate.layout.home is None:
        return None
    return "right" if furthest > 0 else "left"


def _gear(path: LeverPath, trip: Excursion, gate: GateMap) -> str | None:
    """By where the lever was while it was deepest in: a slot leaves it no room to either side."""
    part = slice(trip.start, trip.stop)
    deep = path.depth[part] >= DEEP_SHARE * path.depth[part].max()
    select = float(np.median(path.select_mm[part][deep]))
    return gate.layout.planes[int(np.argmin(np.abs(plane_centres(gate) - select)))].forward


def _home_figures(pushes: Sequence[PalmPush], home: str | None) -> list[Figure]:
    figures = []
    for side in ("", *SIDES):
        some = [p for p in pushes if not side or p.side == side]
        label = f"found {home}" if home else "found the home gear"
        if home is None:
            figures.append(Figure(key="found_home", label=label, of=side, why=NO_HOME_GEAR))
            continue
        why = f"no push after a let-go from the {side}"
        figures.append(
            share_figure("found_home", label, sum(p.gear == home for p in some), len(some), of=side, why=why)
        )
    return figures


def _found(pushes: Sequence[PalmPush], gate: GateMap) -> list[Figure]:
    count = Counter(p.gear for p in pushes)
    gears: list[str | None] = [p.forward for p in gate.layout.planes if p.forward]
    gears += [None] if count[None] else []
    return [share_figure("found", "found", count[g], len(pushes), of=g or "no gear") for g in gears]


def _refused(pushes: Sequence[PalmPush]) -> Figure:
    short = sum(p.depth < FULLY_IN for p in pushes)
    return share_figure("not_fully_in", "did not go fully in", short, len(pushes))


def _say(pushes: Sequence[PalmPush], home: str | None, figures: Sequence[Figure]) -> tuple[str, ...]:
    shares = {(f.key, f.of): f.share for f in figures}
    others = ", ".join(
        f"{f.of} {f.share.k} times" for f in figures if f.key == "found" and f.share and f.share.k and f.of != home
    )
    if home is None:
        says = [f"A straight push found {others}; {NO_HOME_GEAR}."]
    else:
        says = [f"A straight push found {home} {say_share(shares['found_home', ''])}" + (f"; {others}." * bool(others))]
        says = [text if text.endswith(".") else f"{text}." for text in says]
    for side in SIDES:
        share = shares["found_home", side]
        if share and share.k < share.n:
            says.append(f"Let go from the {side} it found another gear {share.n - share.k} of {share.n} times.")
    refused = shares["not_fully_in", ""]
    if refused and refused.k:
        says.append(
            f"{refused.k} of {refused.n} did not go fully in: at standstill that is tooth on tooth; the plane counts."
        )
    return tuple(says)


def _points(pushes: Sequence[PalmPush], home: str | None) -> tuple[tuple[str, str], ...]:
    """A gear beside home, alike from both sides, is the select cable's first; one side alone is left open."""
    if home is None:
        return ()
    wrong = {side: Counter(p.gear for p in pushes if p.side == side and p.gear != home) for side in SIDES}
    many = {side: sum(p.side == side for p in pushes) for side in SIDES}
    both = [g for g in wrong["right"] if g in wrong["left"] and all(2 * wrong[s][g] > many[s] for s in SIDES)]
    return ((ADJUST, f"a straight push finds {both[0]} from both sides"),) if both else ()


def _doubts(left_out: int, let_goes: Sequence[LetGo], pushes: Sequence[PalmPush]) -> list[str]:
    doubts = []
    if left_out:
        doubts.append(f"{left_out} trips forward are left out: the lever did not lie in neutral before them")
    unseen = sum(p.side is None for p in pushes)
    if unseen:
        doubts.append(f"the side of {unseen} let-goes was not seen: hold the lever out before letting go")
    led = sum(not p.let_go for p in pushes)
    if led:
        doubts.append(
            f"before {led} of the {len(pushes)} pushes no let-go was seen: a hand may have led the lever; hold it out, "
            "let go, wait two seconds, then push"
        )
    idle = len({g.start for g in let_goes}) - (len(pushes) - led)
    if idle > 0:
        doubts.append(f"after {idle} let-goes no push came as far as a third into a gear")
    return doubts
