"""Every let-go of a marked release test: held out to one side, then left to itself, whether it moves or not.

The lever's stays in neutral are gathered into stations, places it did not leave by 3 mm. From one station to the next
it went by a hand or by itself. Away from where its returns lead, or across to the other side, only a hand takes it.
Towards there it ran by itself if a second-order return fits the way better than a hand's move, or if the two fit alike
and the lever was not lying free before. A station out on a side that a hand brought it to and took it from holds one
let-go for each calm stretch: a hand trembles, and what follows the tremor is a lever left alone. A hand that presses
so hard against a stop that nothing trembles leaves one calm stretch, which counts once.
"""

from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import pairwise

import numpy as np

from shiftlog.detect.phases import find_still
from shiftlog.detect.release import Approach, judge_approach
from shiftlog.model.gate import GateMap
from shiftlog.model.lever import LeverPath
from shiftlog.model.settings import Settings
from shiftlog.signal.crossing import find_runs
from shiftlog.signal.tremor import band_power, find_touched, white_power

LEAST_STAY_S = 0.2
"""Shorter stands are turning points of a swing or of a hand."""
LEFT_ALONE_S = 0.4
"""A lever that nothing touches for so long was let go; between two pushes of one hand it is shorter."""
TOUCHED_S = 0.15
QUIETEST = 1 / 3
"""At least so much of what lies still is a lever that nothing touches."""
OUT_SHARE = 0.35
"""Of a plane pitch: nearer to where its returns lead, a lever was not held out to a side."""
TAIL_S, GRAB_S = 0.6, 0.25
"""Whether a lever lay free is looked for in this time before it leaves, and a hand grips it in the last of it."""
AS_LONG, HALF_AS_LONG = 0.7, 0.4
"""Of the usual lie: what a hold that does not tremble seldom lasts, and what a pause of the hand seldom lasts."""
SAME_PLACE_MM = 3.0
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
class _Station:
    """Index range at one place; select_mm : where; calm : runs left alone [start, stop); approach : the way there.

    known_in : whether it was brought there across the gate, not pulled out of a gear there
    """

    start: int
    stop: int
    select_mm: float
    calm: tuple[tuple[int, int], ...]
    tail_calm: bool
    approach: Approach
    known_in: bool


@lru_cache(maxsize=4)
def find_let_goes(
    path: LeverPath, gate: GateMap, span: tuple[float, float], settings: Settings
) -> tuple[LetGo, ...]:  # fmt: skip
    """The let-goes within a marked span, in order of time; none where the lever was never held out to a side.

    Kept for the last few spans asked for: the rests of a drive and its test ask for the same.
    """
    first, last = path.index(span[0]), path.index(span[1]) + 1
    neutral = find_runs((path.depth[first:last] < settings.depth_mid) & path.valid[first:last]) + first
    floor = _floor(path, gate, neutral, settings)
    chains = [_stations(path, int(a), int(b), floor, settings) for a, b in neutral]
    home, felt = _home(chains, gate), _is_felt(chains)
    out = OUT_SHARE * gate.layout.plane_pitch_mm
    found = [let_go for chain in chains for let_go in _of_chain(chain, home, out, felt)]
    return tuple(_without_holds(found))


def _floor(path: LeverPath, gate: GateMap, neutral: np.ndarray, settings: Settings) -> float:
    """In-band power of a lever that nothing touches: of white noise, or of the quietest third of what lies still."""
    power = [
        band_power(_places(path, a, b), path.rate_hz)
        for start, stop in neutral
        for a, b in find_still(path, int(start), int(stop), settings)
        if b - a >= LEFT_ALONE_S * path.rate_hz
    ]
    white = white_power(gate.noise_mm, path.rate_hz)
    every = np.concatenate(power) if power else np.zeros(0)
    return max(white, float(every[every <= np.quantile(every, QUIETEST)].mean()) if every.size else 0.0)


def _places(path: LeverPath, start: int, stop: int) -> np.ndarray:
    return np.stack([path.select_mm[start:stop], path.engage_mm[start:stop]], axis=1)


def _stations(path: LeverPath, start: int, stop: int, floor: float, settings: Settings) -> list[_Station]:
    """The stations of one stretch in neutral."""
    least = LEAST_STAY_S * path.rate_hz
    stays = [s for s in find_still(path, start, stop, settings) if s[1] - s[0] >= least]
    groups: list[list[tuple[int, int]]] = []
    for stay in stays:
        if groups and _same_place(path, groups[-1][-1], stay, settings):
            groups[-1].append(stay)
        else:
            groups.append([stay])
    stations, earliest = [], start
    for group in groups:
        stations.append(_station(path, group, earliest, start, floor, settings))
        earliest = max(group[-1][1] - int(TOUCHED_S * path.rate_hz), start)
    return stations


def _same_place(path: LeverPath, before: tuple[int, int], after: tuple[int, int], settings: Settings) -> bool:
    here = float(np.median(path.select_mm[before[0] : before[1]]))
    way = path.select_mm[before[1] : after[1]]
    return bool(np.max(np.abs(way - here), initial=0.0) < settings.return_least_mm)


def _station(
    path: LeverPath, group: list[tuple[int, int]], earliest: int, begin: int, floor: float, settings: Settings
) -> _Station:  # fmt: skip
    start, stop = group[0][0], group[-1][1]
    touched = find_touched(_places(path, start, stop), path.rate_hz, floor_mm2=floor, noise_mm=path.noise_mm)
    for a, b in zip(group[:-1], group[1:], strict=True):
        touched[a[1] - start : b[0] - start] = True
    calm = [(int(start + a), int(start + b)) for a, b in find_runs(~touched)]
    tail = touched[-int(TAIL_S * path.rate_hz) : -int(GRAB_S * path.rate_hz) or None]
    widest = max(calm, key=lambda run: run[1] - run[0], default=(start, stop))
    return _Station(
        start=start, stop=stop, select_mm=float(np.median(path.select_mm[widest[0] : widest[1]])),
        calm=tuple(run for run in calm if run[1] - run[0] >= LEFT_ALONE_S * path.rate_hz),
        tail_calm=bool(tail.size and not tail.any()),
        approach=judge_approach(path, start, stop, earliest, settings),
        known_in=bool(np.ptp(path.select_mm[begin : start + 1]) > settings.return_least_mm),
    )  # fmt: skip


def _home(chains: list[list[_Station]], gate: GateMap) -> float:
    """Where the lever's own returns lead: the median of stations it ran in to; the home plane where it never ran."""
    middle = (
        0.0 if gate.layout.home else (gate.layout.plane_mm(0) + gate.layout.plane_mm(len(gate.layout.planes) - 1)) / 2
    )
    ran = [
        s.select_mm
        for chain in chains
        for s in chain
        if s.approach.released and abs(_extreme(s) - middle) > abs(s.select_mm - middle)
    ]
    return float(np.median(ran)) if ran else middle


def _extreme(station: _Station) -> float:
    """Where it was held before it came to this station [mm]; the station itself where it hardly moved."""
    if station.approach.came_from is None:
        return station.select_mm
    return station.select_mm + (1 if station.approach.came_from == "right" else -1) * station.approach.motion_mm


def _is_felt(chains: list[list[_Station]]) -> bool:
    """Whether this hand is felt: most of the stations that the lever left by itself tremble until then."""
    tails = [
        not before.tail_calm
        for chain in chains
        for before, after in pairwise(chain)
        if after.approach.released and abs(_extreme(after) - before.select_mm) < SAME_PLACE_MM
    ]
    return not tails or float(np.mean(tails)) >= 0.5


def _of_chain(chain: list[_Station], home: float, out: float, felt: bool) -> list[LetGo]:
    found: list[LetGo] = []
    free = [_came_free(chain, k, home, out, felt) for k in range(len(chain))]
    for k, station in enumerate(chain):
        if free[k]:
            found.append(_ran(station))
        elif station.known_in and abs(station.select_mm - home) > out:
            leaves_free = k + 1 < len(chain) and free[k + 1] and _left_from(chain, k)
            found += _stuck(station, home, leaves_free=leaves_free)
    return found


def _came_free(chain: list[_Station], k: int, home: float, out: float, felt: bool) -> bool:
    """Whether the lever came to this station by itself."""
    station, approach = chain[k], chain[k].approach
    if approach.came_from is None:
        return False
    before, after = _extreme(station) - home, station.select_mm - home
    if abs(after) > abs(before) or (before * after < 0 and abs(after) > out):
        return False
    if approach.released:
        return True
    if not felt:
        return approach.released is None
    lay_free = k > 0 and _left_from(chain, k - 1) and chain[k - 1].tail_calm
    return not lay_free and bool(station.calm)


def _left_from(chain: list[_Station], k: int) -> bool:
    """Whether the next station was reached straight from this one, with no trip of the hand between."""
    after = chain[k + 1]
    if after.approach.came_from is None:
        return True
    return abs(_extreme(after) - chain[k].select_mm) < SAME_PLACE_MM


def _ran(station: _Station) -> LetGo:
    approach = station.approach
    assert approach.came_from is not None
    return LetGo(
        side=approach.came_from, held_mm=_extreme(station), moved=True,
        start=station.start, stop=station.stop, approach=approach,
    )  # fmt: skip


def _stuck(station: _Station, home: float, *, leaves_free: bool) -> list[LetGo]:
    """One for each calm stretch; the last before a free return is the hold itself."""
    runs = station.calm[:-1] if leaves_free and station.tail_calm else station.calm
    return [
        LetGo(
            side="right" if station.select_mm > home else "left", held_mm=station.select_mm, moved=False,
            start=a, stop=b, approach=station.approach, from_arrival=a == station.start,
        )
        for a, b in runs
    ]  # fmt: skip


def _without_holds(found: list[LetGo]) -> list[LetGo]:
    """Without the calm stretches that were a hand which hardly trembled.

    The hand that brought the lever is on it as it arrives: a calm stretch from there on is the hold, unless it lasts
    like a lie or nothing else follows it.
    """
    lies = [g.stop - g.start for g in found if not g.from_arrival]
    usual = float(np.median(lies or [g.stop - g.start for g in found] or [0.0]))
    alone = {id(g) for g in found if g.from_arrival and not _followed(found, g)}

    def counts(g: LetGo) -> bool:
        if g.moved or id(g) in alone:
            return True
        return g.stop - g.start >= (AS_LONG if g.from_arrival else HALF_AS_LONG) * usual

    return [replace(g, unsure=_why_long(g, usual)) for g in found if counts(g)]


def _followed(found: list[LetGo], g: LetGo) -> bool:
    return any(o.approach is g.approach and o.start > g.start for o in found)


def _why_long(g: LetGo, usual: float) -> str | None:
    if g.moved or g.stop - g.start < LONG_TIMES * usual:
        return None
    return "the lever lay in one place for so long that several let-goes may hide in it"
