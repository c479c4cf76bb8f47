"""Pushes at gears within a marked span, with the gate's map where there is one, else from the lever as logged."""

from dataclasses import dataclass

import numpy as np

from shiftlog.errors import CannotMeasure
from shiftlog.measure.scene import Scene
from shiftlog.model.gate import GateMap
from shiftlog.model.lever import LeverPath
from shiftlog.model.trace import Trace
from shiftlog.signal.crossing import find_runs
from shiftlog.signal.slope import slope, smooth

LEAVES, TOUCHES, ATTEMPT, HOME = 0.1, 0.2, 0.35, 0.9
"""Depths at which a push leaves neutral, may meet teeth, counts as a push, and is in."""
ANOTHER = "another gear"
"""Without a map gears have no names, but a push at another place than the one stayed at furthest off is told apart."""
LEAST_SEATS = 4
SEAT_SHARE = 0.35
"""So near to its seat a lever moves along its slot, whatever way it came before."""
BESIDE_SHARE = 0.15
SMOOTH_S = 0.028
STAYS_S = 0.1
ONE_TRY_S = 0.5
"""Pushes that follow one another within this time are one try."""
STANDS = (0.25, 0.85)
STAND_SHARE = 0.2


@dataclass(frozen=True, eq=False, kw_only=True)
class Push:
    """One try at a gear.

    gear : where it is known, else None, or ``ANOTHER`` for one at another place
    leaves_s, touches_s : off the neutral line, and where teeth may meet
    in_s : home, or None where it was refused; over_s : home, or back in neutral; refusals : pushes that fell back
    stands_s : how long the lever stood on its way in; approaches : from when to when each push of the try lasted
    """

    gear: str | None
    leaves_s: float
    touches_s: float
    in_s: float | None
    over_s: float
    refusals: int
    stands_s: float
    approaches: tuple[tuple[float, float], ...] = ()


@dataclass(frozen=True, eq=False, kw_only=True)
class _Depths:
    time_s: np.ndarray
    depth: np.ndarray
    gear: np.ndarray | None
    gears: tuple[str, ...]
    rate_hz: float


def find_pushes(scene: Scene, gate: GateMap | None, start_s: float, end_s: float) -> tuple[Push, ...]:
    """Tries at gears in order of time. CannotMeasure where no lever is logged or it does not move.

    A map that few gears bear out is not used: neutral and one gear look like any two gears.
    """
    path = scene.path if gate is not None and len(gate.seats) >= LEAST_SEATS else None
    depths = _depths(scene, path, start_s, end_s)
    runs = [(a, b) for a, b in find_runs(depths.depth > LEAVES) if depths.depth[a:b].max() >= ATTEMPT]
    tries: list[list[tuple[int, int]]] = []
    for run in runs:
        joins = tries and not _is_in(depths, tries[-1][-1]) and run[0] - tries[-1][-1][1] < ONE_TRY_S * depths.rate_hz
        if joins and _gear(depths, tries[-1][-1]) == _gear(depths, run):
            tries[-1].append(run)
        else:
            tries.append([run])
    return tuple(_push(depths, some) for some in tries)


def _depths(scene: Scene, path: LeverPath | None, start_s: float, end_s: float) -> _Depths:
    if path is not None:
        at = slice(path.index(start_s), path.index(end_s) + 1)
        return _Depths(
            time_s=path.time_s[at], depth=path.depth[at] * path.valid[at], gear=path.gear[at], gears=path.gears,
            rate_hz=path.rate_hz,
        )  # fmt: skip
    if scene.signals.lever is None:
        raise CannotMeasure(
            "no lever sensor is logged, so that nothing tells when the gear was pushed; fit the lever sensor"
        )
    return _raw_depths(scene.signals.lever, start_s, end_s)


def _raw_depths(lever: Trace, start_s: float, end_s: float) -> _Depths:
    """Without a map: the lever lies longest in neutral, and the furthest place it stays at is the gear pushed."""
    inside = (lever.time_s >= start_s) & (lever.time_s <= end_s)
    if inside.sum() < 3 * STAYS_S * lever.rate_hz:
        raise CannotMeasure("the lever was not logged within the marked span; mark the span again")
    time_s = np.arange(lever.time_s[inside][0], lever.time_s[inside][-1], 1 / lever.rate_hz)
    raw = np.stack([np.interp(time_s, lever.time_s, column) for column in lever.values.T], axis=1)
    raw = smooth(raw, lever.rate_hz, SMOOTH_S)
    ways = raw - np.median(raw, axis=0)
    seat = ways[_furthest_stay(ways, lever.rate_hz)]
    off = ways - seat
    near = np.linalg.norm(off, axis=1) < SEAT_SHARE * np.linalg.norm(seat)
    moving = near & (np.linalg.norm(off, axis=1) > 0.05 * np.linalg.norm(seat))
    if moving.sum() < 5:
        raise CannotMeasure("the lever makes no push within the marked span; mark the span again")
    axis = np.linalg.svd(off[moving], full_matrices=False)[2][0]
    axis = axis * np.sign(axis @ seat)
    along = ways @ axis
    neutral = _neutral_beside(ways, axis, seat, lever.rate_hz)
    depth = (along - neutral) / max(float(seat @ axis) - neutral, 1e-9)
    elsewhere = (np.abs(off @ np.array([-axis[1], axis[0]])) > SEAT_SHARE * np.linalg.norm(seat)) | (depth < -ATTEMPT)
    return _Depths(
        time_s=time_s, depth=np.where(elsewhere, np.abs(depth), depth), gear=np.where(elsewhere, 0, -1),
        gears=(ANOTHER,), rate_hz=lever.rate_hz,
    )  # fmt: skip


def _neutral_beside(ways: np.ndarray, axis: np.ndarray, seat: np.ndarray, rate_hz: float) -> float:
    """Where the lever lies along its slot as it waits in front of the gear; 0 where it never waited there."""
    across = np.array([-axis[1], axis[0]])
    still = np.linalg.norm(slope(ways, rate_hz, STAYS_S), axis=1) < 0.2 * np.linalg.norm(seat)
    beside = np.abs((ways - seat) @ across) < BESIDE_SHARE * np.linalg.norm(seat)
    waits = still & beside & (ways @ axis < 0.6 * (seat @ axis))
    return float(np.median((ways @ axis)[waits])) if waits.sum() > STAYS_S * rate_hz else 0.0


def _furthest_stay(ways: np.ndarray, rate_hz: float) -> int:
    """Index of a sample in the stay that lies furthest from neutral."""
    far = np.linalg.norm(ways, axis=1)
    still = np.linalg.norm(slope(ways, rate_hz, STAYS_S), axis=1) < 0.5 * far.max()
    return int(np.argmax(np.where(still, far, -1.0)))


def _is_in(depths: _Depths, run: tuple[int, int]) -> bool:
    home = find_runs(depths.depth[run[0] : run[1]] >= HOME)
    return bool(len(home) and np.max(home[:, 1] - home[:, 0]) >= STAYS_S * depths.rate_hz)


def _gear(depths: _Depths, run: tuple[int, int]) -> str | None:
    if depths.gear is None:
        return None
    deep = depths.gear[run[0] : run[1]][depths.depth[run[0] : run[1]] >= ATTEMPT]
    deep = deep[deep >= 0]
    return depths.gears[int(np.bincount(deep).argmax())] if deep.size else None


def _push(depths: _Depths, runs: list[tuple[int, int]]) -> Push:
    first, last = runs[0], runs[-1]
    went_in = _is_in(depths, last)
    inside = depths.depth[last[0] : last[1]]
    home = last[0] + int(np.argmax(inside >= HOME)) if went_in else last[1] - 1
    touches = first[0] + int(np.argmax(depths.depth[first[0] : first[1]] >= TOUCHES))
    return Push(
        gear=_gear(depths, last), leaves_s=float(depths.time_s[first[0]]), touches_s=float(depths.time_s[touches]),
        in_s=float(depths.time_s[home]) if went_in else None, over_s=float(depths.time_s[home]),
        refusals=_refusals(depths, runs, went_in), stands_s=_stands(depths, first[0], home),
        approaches=tuple((float(depths.time_s[a]), float(depths.time_s[b - 1])) for a, b in runs),
    )  # fmt: skip


def _refusals(depths: _Depths, runs: list[tuple[int, int]], went_in: bool) -> int:
    """Pushes that fell back to neutral, and those that fell back a fifth of the way on the way in."""
    back = len(runs) - went_in
    inside = depths.depth[runs[-1][0] : runs[-1][1]]
    highest = np.maximum.accumulate(np.where(inside >= HOME, 0.0, inside))
    before = inside[: int(np.argmax(inside >= HOME))] if went_in else inside[:0]
    fell = before.size and np.any((highest[: before.size] - before > 0.2) & (highest[: before.size] >= ATTEMPT))
    return int(back + bool(fell))


def _stands(depths: _Depths, first: int, home: int) -> float:
    way = depths.depth[first : home + 1]
    if way.size < 5:
        return 0.0
    speed = np.abs(slope(way, depths.rate_hz, 0.02))
    stood = (way > STANDS[0]) & (way < STANDS[1]) & (speed < STAND_SHARE * speed.max())
    return float(stood.sum() / depths.rate_hz)
