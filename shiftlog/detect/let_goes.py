"""Every let-go of a marked release test: held out to one side, then left to itself, whether it moves or not.

The lever's stands in neutral and the ways between them make the course of the test; its let-goes are the stands that
no hand is on. The side is where the lever was held: seen from where it came to lie, or, for one that stays, from the
middle of all places where it was held.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import pairwise

import numpy as np

from shiftlog.detect.hand_course import LED_THERE, LET_GO, LIES_ON, MOVED_MM, SHIFT_MM, Chain, Link, find_course
from shiftlog.detect.release import Approach, find_last_extreme, judge_approach, way_span
from shiftlog.detect.stands import SLOPE_S, Alone, Stand, find_alone, find_stands
from shiftlog.detect.way_home import WayHome, judge_way
from shiftlog.model.gate import GateMap
from shiftlog.model.lever import LeverPath
from shiftlog.model.settings import Settings
from shiftlog.signal.crossing import find_runs

TWO_SIDES = 0.5
"""Of a plane pitch: holds that leave so wide a gap between them were on two sides."""
LONG_TIMES = 2.5
"""A stuck stay so many times as long as the usual one may hold several let-goes."""


@dataclass(frozen=True, eq=False, kw_only=True)
class LetGo:
    """One let-go.

    side : ``left`` | ``right``, where it was held; held_mm : select there; moved : whether it ran 3 mm or more
    start, stop : index range in which it then lay; approach : the way there, as judged
    from_arrival : whether no hand was felt since it was brought there
    unsure : why it may be more than one let-go, or None
    """

    side: str
    held_mm: float
    moved: bool
    start: int
    stop: int
    approach: Approach
    from_arrival: bool = False
    unsure: str | None = None


@dataclass(frozen=True, eq=False, kw_only=True)
class _Lie:
    """The stands of one let-go, first to last; held : the stand before it, None where no hold was seen."""

    stands: tuple[Stand, ...]
    held: Stand | None

    @property
    def held_mm(self) -> float:
        return (self.held or self.stands[0]).select_mm

    @property
    def rest(self) -> Stand:
        """The longest of its stands: a pause on the way home, or the end of a creep, is shorter."""
        return max(self.stands, key=lambda stand: stand.stop - stand.start)


@lru_cache(maxsize=4)
def find_let_goes(
    path: LeverPath, gate: GateMap, span: tuple[float, float], settings: Settings
) -> tuple[LetGo, ...]:  # fmt: skip
    """The let-goes within a marked span, in order of time; none where the lever was never held out to a side.

    Kept for the last few spans asked for: the rests of a drive and its test ask for the same.
    """
    chains, alone = _chains(path, gate, span, settings)
    course = find_course(chains, alone, _built_home(gate))
    lies = [
        lie for chain, states in zip(chains, course, strict=True) for lie in _lies(chain.stands, states)
    ]  # fmt: skip
    middle = _middle([lie.held_mm for lie in lies], gate)
    found = [_let_go(path, lie, middle, settings) for lie in lies]
    return tuple(_with_doubts(found))


def _chains(path: LeverPath, gate: GateMap, span: tuple[float, float], settings: Settings) -> tuple[list[Chain], Alone]:
    first, last = path.index(span[0]), path.index(span[1]) + 1
    neutral = find_runs((path.depth[first:last] < settings.depth_mid) & path.valid[first:last]) + first
    alone = find_alone(path, neutral, gate.noise_mm)
    chains = []
    for a, b in neutral:
        stands = find_stands(path, int(a), int(b), alone)
        if stands:
            links = _links(path, stands)
            chains.append(Chain(stands=stands, links=links, opens=int(a) == first))
    return chains, alone


def _links(path: LeverPath, stands: Sequence[Stand]) -> list[Link]:
    links, since = [], stands[0].start
    for before, after in pairwise(stands):
        moved = after.select_mm - before.select_mm
        way = _way(path, before, after) if abs(moved) >= MOVED_MM else None
        links.append(
            Link(
                moved_mm=moved, odds=way.odds if way else 0.0, lay_s=(before.stop - since) / path.rate_hz,
                lasts_s=way.guided.duration_s if way else None,
            )
        )  # fmt: skip
        since = after.start if abs(moved) >= SHIFT_MM else since
    return links


def _way(path: LeverPath, before: Stand, after: Stand) -> WayHome | None:
    """How it went this way."""
    begin = max(before.start, before.stop - int(SLOPE_S * path.rate_hz))
    leaves = find_last_extreme(path, begin, after.start, after.select_mm)
    part = way_span(path, leaves, after.start, after.stop, after.select_mm)
    return judge_way(path.time_s[part], path.select_mm[part], noise_mm=path.noise_mm, rest_mm=after.select_mm)


def _lies(stands: Sequence[Stand], states: Sequence[int]) -> list[_Lie]:
    lies = []
    for k, state in enumerate(states):
        if state not in (LET_GO, LED_THERE):
            continue
        end = k + 1
        while end < len(states) and states[end] == LIES_ON:
            end += 1
        held = stands[k - 1] if state == LET_GO else None
        lies.append(_Lie(stands=tuple(stands[k:end]), held=held))
    return lies


def _middle(held_mm: Sequence[float], gate: GateMap) -> float:
    """Between the holds of the two sides; the home plane, or the middle of the gate, where they lie on one."""
    places = np.sort(held_mm)
    gaps = np.diff(places)
    if gaps.size and gaps.max() > TWO_SIDES * gate.layout.plane_pitch_mm:
        widest = int(np.argmax(gaps))
        return float(places[widest] + places[widest + 1]) / 2
    return _built_home(gate)


def _built_home(gate: GateMap) -> float:
    if gate.layout.home:
        return 0.0
    return (gate.layout.plane_mm(0) + gate.layout.plane_mm(len(gate.layout.planes) - 1)) / 2


def _let_go(path: LeverPath, lie: _Lie, middle: float, settings: Settings) -> LetGo:
    rest, held_mm = lie.rest, lie.held_mm
    moved = abs(held_mm - rest.select_mm) >= settings.return_least_mm
    side = "right" if held_mm > (rest.select_mm if moved else middle) else "left"
    earliest = lie.stands[0].start
    if lie.held is not None:
        earliest = max(lie.held.start, lie.held.stop - int(SLOPE_S * path.rate_hz))
    return LetGo(
        side=side, held_mm=held_mm, moved=moved, start=rest.start, stop=rest.stop,
        approach=judge_approach(path, rest.start, rest.stop, earliest, settings, let_go=True),
        from_arrival=lie.held is None,
    )  # fmt: skip


def _with_doubts(found: list[LetGo]) -> list[LetGo]:
    usual = float(np.median([g.stop - g.start for g in found])) if found else 0.0
    return [replace(g, unsure=_why_long(g, usual)) for g in found]


def _why_long(g: LetGo, usual: float) -> str | None:
    if g.moved or g.stop - g.start < LONG_TIMES * usual:
        return None
    return "the lever lay in one place for so long that several let-goes may hide in it"
