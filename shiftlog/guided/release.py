"""The release test: ten to twenty let-goes from each side, every one counted, moved or not."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from shiftlog.detect.let_goes import LetGo, find_let_goes
from shiftlog.detect.rests import rest_of_let_go
from shiftlog.errors import CannotMeasure
from shiftlog.guided.release_words import say_release
from shiftlog.guided.shares import median_figure, middle_figure, share_figure
from shiftlog.guided.span import lever_of, scale_doubts
from shiftlog.measure.neutral import NO_HOME
from shiftlog.measure.scene import Scene
from shiftlog.model.drive import MarkedTest
from shiftlog.model.gate import GateMap
from shiftlog.model.guided import Figure, GuidedResult
from shiftlog.model.rest import CREEPS, Rest
from shiftlog.model.result import DriveResult
from shiftlog.signal.middle import Middle, difference, middle_of
from shiftlog.signal.robust import robust_sigma

KIND = "release"
SIDES = ("right", "left")
ASKED = 10
"""Let-goes from each side."""
NONE_FOUND = (
    "no let-go was found in this span: hold the lever out to one side, let go, and leave it alone for two seconds; ten "
    "times from each side"
)


@dataclass(frozen=True, eq=False, kw_only=True)
class Lie:
    """A let-go and where the lever then lay."""

    let_go: LetGo
    rest: Rest


def measure_release(test: MarkedTest, scene: Scene, result: DriveResult) -> GuidedResult:
    """Where the lever lies when it is let go. CannotMeasure where the gate is not known or nothing was let go."""
    path, gate = lever_of(test, scene, result)
    lies = [
        Lie(let_go=g, rest=rest_of_let_go(path, g, gate, scene.signals, scene.settings))
        for g in find_let_goes(path, gate, (test.start_s, test.end_s), scene.settings)
    ]
    if not lies:
        raise CannotMeasure(NONE_FOUND)
    figures = (
        *_counts(lies, gate), *_places(lies, gate, path.noise_mm), *_returns(lies), *_planes(lies, gate),
    )  # fmt: skip
    says, points_to = say_release(figures, gate, configuration=test.configuration)
    return GuidedResult(
        kind=KIND, start_s=test.start_s, end_s=test.end_s, configuration=test.configuration, figures=figures,
        says=says, doubts=_doubts(lies, gate), points_to=points_to,
    )  # fmt: skip


def _of(lies: Sequence[Lie], side: str) -> list[Lie]:
    return [lie for lie in lies if not side or lie.let_go.side == side]


def _no(side: str) -> str:
    return f"no let-go from the {side} in this span"


def _counts(lies: Sequence[Lie], gate: GateMap) -> list[Figure]:
    """Shares not home, and without any motion, in all and from each side."""
    figures = []
    for side in ("", *SIDES):
        some = _of(lies, side)
        if gate.layout.home is None:
            figures.append(Figure(key="not_home", label="not home", of=side, why=NO_HOME))
        else:
            away = sum(lie.rest.plane != gate.layout.home for lie in some)
            figures.append(share_figure("not_home", "not home", away, len(some), of=side, why=_no(side)))
        unmoved = sum(not lie.let_go.moved for lie in some)
        figures.append(share_figure("no_motion", "made no motion", unmoved, len(some), of=side, why=_no(side)))
    told = [lie for lie in lies if lie.rest.manner is not None or not lie.let_go.moved]
    creeping = sum(lie.rest.manner == CREEPS for lie in told)
    return [*figures, share_figure("creeps", "crept home", creeping, len(told), why=_why_no_return(lies))]


def _why_no_return(lies: Sequence[Lie]) -> str:
    """Why a lever that ran has no return time, or that it did not run."""
    whys = [lie.rest.readings["return_time_s"].why for lie in lies if lie.let_go.moved]
    return next((why for why in whys if why), "the lever ran 3 mm or more in none of them")


def _places(lies: Sequence[Lie], gate: GateMap, noise_mm: float) -> list[Figure]:
    """Where it lay and how widely, from each side; hysteresis and what both sides have in common."""
    figures, middles = [], {}
    for side in SIDES:
        places = [lie.rest.select_mm for lie in _of(lies, side)]
        if not places:
            figures += [
                Figure(key=k, label=w, unit="mm", of=side, why=_no(side))
                for k, w in (("offset_mm", "offset"), ("spread_mm", "spread"))
            ]
            continue
        middles[side] = middle_of(places, least_u=max(noise_mm, gate.slow_mm))
        figures += [_offset(middles[side], side, gate), _spread(places, side)]
    if len(middles) < 2:
        why = "let-goes from both sides are needed"
        return [
            Figure(key="hysteresis_mm", label="hysteresis", unit="mm", why=why),
            Figure(key="offset_mm", label="offset", unit="mm", why=NO_HOME if gate.layout.home is None else why),
            *figures,
        ]
    apart = difference(middles["right"], middles["left"])
    middle = Middle(
        value=(middles["right"].value + middles["left"].value) / 2, u=apart.u and apart.u / 2, freedom=apart.freedom
    )
    return [middle_figure("hysteresis_mm", "hysteresis", "mm", apart), _offset(middle, "", gate), *figures]


def _offset(middle: Middle, side: str, gate: GateMap) -> Figure:
    if gate.layout.home is None:
        return Figure(key="offset_mm", label="offset", unit="mm", of=side, why=NO_HOME)
    return middle_figure("offset_mm", "offset", "mm", middle, of=side)


def _spread(places: Sequence[float], side: str) -> Figure:
    if len(places) < 3:
        why = f"{len(places)} let-goes from the {side}; a spread takes three"
        return Figure(key="spread_mm", label="spread", unit="mm", of=side, why=why)
    return Figure(
        key="spread_mm", label="spread", unit="mm", of=side, value=float(robust_sigma(np.array(places)))
    )  # fmt: skip


def _returns(lies: Sequence[Lie]) -> list[Figure]:
    """Return time from each side, and the swing of those that swung."""
    figures = []
    for side in SIDES:
        some = _of(lies, side)
        times = [v for lie in some if (v := lie.rest.value("return_time_s")) is not None]
        why = _why_no_return(some) if some else _no(side)
        figures.append(median_figure("return_time_s", "return time", "s", times, of=side, why=why))
    for key, label, unit in (
        ("frequency_hz", "natural frequency", "Hz"), ("damping", "damping ratio", ""), ("overshoot", "overshoot", ""),
    ):  # fmt: skip
        values = [v for lie in lies if (v := lie.rest.value(key)) is not None]
        why = "no return of 10 mm or more that a spring and a damper explain"
        figures.append(median_figure(key, label, unit, values, why=why))
    return figures


def _planes(lies: Sequence[Lie], gate: GateMap) -> list[Figure]:
    found = [lie.rest.plane for lie in lies]
    return [
        share_figure("lay_in", "lay in plane", found.count(plane.name), len(found), of=plane.name)
        for plane in gate.layout.planes
    ]  # fmt: skip


def _doubts(lies: Sequence[Lie], gate: GateMap) -> tuple[str, ...]:
    doubts = list(scale_doubts(gate))
    few = [f"{len(_of(lies, side))} from the {side}" for side in SIDES if 0 < len(_of(lies, side)) < ASKED]
    if few:
        doubts.append(f"let-goes: {' and '.join(few)}; {ASKED} from each side are asked for")
    hidden = sum(lie.let_go.unsure is not None for lie in lies)
    if hidden:
        doubts.append(
            f"{hidden} of the lies last so long that several let-goes may hide in one: where nothing moves and no hand "
            "is felt they cannot be told apart; bring the lever to the middle before each let-go"
        )
    silent = sum(not lie.let_go.moved and lie.let_go.from_arrival for lie in lies)
    if silent:
        doubts.append(
            f"{silent} let-goes without motion are counted from how the hand brought the lever there and took it away: "
            "no tremor of a hand was felt that then ceased"
        )
    return tuple(doubts)
