"""Where the lever stands in a marked test: one piece for each place, cut where a hand comes on or goes off it."""

from dataclasses import dataclass, replace

import numpy as np

from shiftlog.detect.release import find_last_extreme
from shiftlog.model.lever import LeverPath
from shiftlog.signal.crossing import find_runs
from shiftlog.signal.slope import slope
from shiftlog.signal.sway import sway_of_noise, sway_power
from shiftlog.signal.tremor import BLOCK_S, band_power, find_touched, touch_odds, white_power

SLOPE_S = 0.2
"""Two periods of a hand's tremor: over so long it leaves no slope."""
STAND_MMPS, EASE = 5.0, 1.6
"""Speed below which a lever stands, as for a rest, and how many times that it may sway meanwhile."""
NOISE_TIMES, PLACE_NOISES, PLACE_MM = 2.5, 3.0, 0.5
LEAST_S, LEAST_PIECE_S = 0.1, 0.15
"""Shorter stands are turning points of a swing or of a hand; shorter pieces belong to their neighbour."""
RING_S = 0.3
"""So long after it ran the end of a swing is taken for a hand's tremor: it says nothing."""
SETTLES_S, SHARED = 1.0, 3
"""So long it may yet settle; so many neighbouring blocks share their readings of sway."""
TRIP_MM = 3.0
QUIETEST = 1 / 3
"""At least so much of what stands is a lever that nothing touches."""


@dataclass(frozen=True, eq=False, kw_only=True)
class Alone:
    """What a lever that nothing touches shows: power_mm2 in a hand's band, sway_mm2 its squared slope [mm²/s²]."""

    power_mm2: float
    sway_mm2: float


@dataclass(frozen=True, eq=False, kw_only=True)
class Stand:
    """Index range [start, stop) at one place; a turning point of a hand's trip is one of a single sample.

    select_mm : where; seconds : how long; power_mm2, sway_mm2 : means of so many ``blocks`` and ``sway_blocks`` of
    0.1 s, the end of a swing left out
    """

    start: int
    stop: int
    select_mm: float
    seconds: float
    power_mm2: float = 0.0
    blocks: int = 0
    sway_mm2: float = 0.0
    sway_blocks: int = 0


def find_stands(path: LeverPath, start: int, stop: int, alone: Alone) -> list[Stand]:
    """The stands within an index range in order of time, and the turning points of trips between them."""
    stands: list[Stand] = []
    arrived = start
    standing = _standing(path, start, stop)
    for k, (a, b) in enumerate(standing):
        if not stands or abs(_place(path, a, b) - stands[-1].select_mm) > TRIP_MM:
            arrived = a
        pieces = _cut(path, a, b, arrived, alone)
        until = standing[k + 1][0] if k + 1 < len(standing) else stop
        pieces[0] = replace(pieces[0], start=_reach(path, a, stands[-1].stop if stands else start, -1))
        pieces[-1] = replace(pieces[-1], stop=_reach(path, b - 1, until - 1, 1) + 1)
        if (turn := _turning_point(path, stands[-1] if stands else _begins(path, start), pieces[0])) is not None:
            stands.append(turn)
        stands += pieces
    return stands


def find_alone(path: LeverPath, spans: np.ndarray, noise_mm: float) -> Alone:
    """What white noise gives, or the quietest third of what stands; noise_mm : of one reading before smoothing."""
    standing = [run for a, b in spans for run in _standing(path, int(a), int(b))]
    power = [band_power(_places(path, *run), path.rate_hz) for run in standing]
    sway = [sway_power(_places(path, *run), path.rate_hz) for run in standing]
    return Alone(
        power_mm2=max(white_power(noise_mm, path.rate_hz), _quietest(power)),
        sway_mm2=max(sway_of_noise(noise_mm, path.rate_hz), _quietest(sway)),
    )  # fmt: skip


def _quietest(parts: list[np.ndarray]) -> float:
    every = np.concatenate(parts) if parts else np.zeros(0)
    return float(every[every <= np.quantile(every, QUIETEST)].mean()) if every.size else 0.0


def _place(path: LeverPath, start: int, stop: int) -> float:
    return float(np.median(path.select_mm[start:stop]))


def _standing(path: LeverPath, start: int, stop: int) -> list[tuple[int, int]]:
    """Where the slope over ``SLOPE_S`` is no more than sway and noise make it."""
    size = round(SLOPE_S * path.rate_hz)
    if stop - start <= size:
        return []
    speed = np.linalg.norm(slope(_places(path, start, stop), path.rate_hz, SLOPE_S), axis=1)
    # The slope of a straight line through so many readings of white noise, two axes.
    noise_mmps = path.noise_mm * path.rate_hz * np.sqrt(2 * 12 / max(size, 2) ** 3)
    calm = speed < np.hypot(EASE * STAND_MMPS, NOISE_TIMES * noise_mmps)
    runs = find_runs(calm & path.valid[start:stop])
    return [(int(start + a), int(start + b)) for a, b in runs if b - a >= LEAST_S * path.rate_hz]


def _reach(path: LeverPath, core: int, limit: int, way: int) -> int:
    """The furthest index from the edge of a stand towards a limit at which the lever was still at its place."""
    half = int(SLOPE_S * path.rate_hz)
    here = slice(core, core + half) if way < 0 else slice(max(core - half, 0), core + 1)
    near_mm = max(PLACE_MM, PLACE_NOISES * path.noise_mm)
    place, at = float(np.median(path.select_mm[here])), core
    while at != limit and abs(path.select_mm[at + way] - place) < near_mm and abs(at - core) < half:
        at += way
    return at


def _places(path: LeverPath, start: int, stop: int) -> np.ndarray:
    return np.stack([path.select_mm[start:stop], path.engage_mm[start:stop]], axis=1)


def _cut(path: LeverPath, start: int, stop: int, arrived: int, alone: Alone) -> list[Stand]:
    """One stand in pieces, alternately under a hand and alone."""
    places = _places(path, start, stop)
    power, sway = band_power(places, path.rate_hz), sway_power(places, path.rate_hz)
    block = BLOCK_S * path.rate_hz
    since = (start - arrived) / block
    rings, settles = (max(0, round(s / BLOCK_S - since)) for s in (RING_S, SETTLES_S))
    sway_odds = touch_odds(sway / alone.sway_mm2) / SHARED
    sway_odds[:settles] = 0.0
    touched = find_touched(
        places, path.rate_hz, floor_mm2=alone.power_mm2, noise_mm=path.noise_mm,
        sway_odds=sway_odds if sway_odds.size else None,
    )  # fmt: skip
    edges = _edges(touched, LEAST_PIECE_S * path.rate_hz)
    pieces = []
    for a, b in zip(edges[:-1], edges[1:], strict=True):
        first, last = int(round(a / block)), int(round(b / block))
        some, slow = power[max(first, rings) : last], sway[max(first, settles) : last]
        pieces.append(
            Stand(
                start=start + a, stop=start + b, seconds=(b - a) / path.rate_hz, blocks=some.size,
                select_mm=_place(path, start + a, start + b), power_mm2=float(some.mean()) if some.size else 0.0,
                sway_mm2=float(slow.mean()) if slow.size else 0.0, sway_blocks=slow.size,
            )
        )  # fmt: skip
    return pieces


def _edges(touched: np.ndarray, least: float) -> list[int]:
    """Indices at which a hand comes on or goes off, both ends included; no two nearer than ``least``."""
    edges = [0]
    for edge in np.flatnonzero(np.diff(touched.astype(int))) + 1:
        if edge - edges[-1] >= least:
            edges.append(int(edge))
        elif len(edges) > 1:
            edges.pop()
    if len(edges) > 1 and touched.size - edges[-1] < least:
        edges.pop()
    return [*edges, touched.size]


def _begins(path: LeverPath, start: int) -> Stand:
    """Where a range begins, with the lever on its way."""
    return Stand(start=start, stop=start + 1, select_mm=float(path.select_mm[start]), seconds=0.0)


def _turning_point(path: LeverPath, before: Stand, after: Stand) -> Stand | None:
    """Where a hand turned round that led the lever out and let it go at once."""
    begin = max(before.start, before.stop - int(SLOPE_S * path.rate_hz))
    turn = find_last_extreme(path, begin, after.start, after.select_mm)
    place = float(path.select_mm[turn])
    if min(abs(place - before.select_mm), abs(place - after.select_mm)) < TRIP_MM:
        return None
    return Stand(start=turn, stop=turn + 1, select_mm=place, seconds=0.0)
