"""How the lever came to a rest: let go and run home by itself, guided there by a hand, or neither can be known."""

from dataclasses import dataclass

import numpy as np
from scipy import signal

from shiftlog.detect.way_home import judge_way, refine_swing
from shiftlog.model.lever import LeverPath
from shiftlog.model.settings import Settings
from shiftlog.signal.crossing import find_reversals
from shiftlog.signal.free_motion import FreeReturn, GuidedMove

LOOK_BACK_S = 2.5
# A hand on a lever wanders slowly and trembles at 8 to 12 Hz (physiological tremor, common knowledge, no source).
# Wander is counted in what noise alone would give, tremor in the power next to its band, so that a shaking road or
# engine raises both sides; a lever by itself stays near 2 for the product.
HELD_PRODUCT = 4.8
TREMOR_HZ, BESIDE_HZ = (7.0, 13.0), (14.0, 20.0)
HELD_LEAST_S = 0.5
# No lever sensor reads finer than this.
LEAST_NOISE_MM = 0.005
# Half the number of readings (smoothing ties neighbours together) times the logarithm of the ratio of what the two
# models leave unexplained: from here on, about seven to one, the better one is believed.
DECISIVE = 2.0
# Each reversal of a free swing is at least this much smaller than the one before (ζ of 0.05 and more).
LEAST_DECAY = 0.86
# A half swing leaves this share of its turning point a fifth of its time after it.
NEAR_TOP = 0.8
# A lever that strikes the end of the gate turns this near to where it comes to rest, and comes back by less than this
# share of its way (a third of its speed is a ninth of its energy; common practice, no source).
AT_WALL_MM, MOST_REBOUND = 1.0, 0.33
# Where the two models fit alike, the time of the way tells: a spring is done sooner than the first or quicker than the
# third, a hand that leads a lever to rest takes longer than the second (common practice, no source).
SPRING_S, HAND_S = 0.18, 0.25
SPRING_MMPS = 120.0
# A creep is over this near to the rest, or so long after its speed fell below that of a rest.
THERE_MM, CREEPS_ON_S = 1.0, 2.0


@dataclass(frozen=True, eq=False, kw_only=True)
class Approach:
    """The way in to a rest.

    released : True, False or None; came_from : ``left`` | ``right`` | None; motion_mm : how far it ran in select
    extreme_s : last extreme of select on the side it was held, or None; free : the fitted return, or None
    """

    released: bool | None
    came_from: str | None
    motion_mm: float
    extreme_s: float | None
    free: FreeReturn | None


def judge_approach(
    path: LeverPath, start: int, stop: int, earliest: int, settings: Settings, *, let_go: bool = False
) -> Approach:  # fmt: skip
    """Judge the rest at index range [start, stop); nothing before index ``earliest`` belongs to it.

    let_go : whether it is known from elsewhere that the lever was let go
    """
    begin = max(earliest, start - int(LOOK_BACK_S * path.rate_hz))
    rest = float(np.median(path.select_mm[start:stop]))
    extreme = find_last_extreme(path, begin, start, rest)
    motion = abs(path.select_mm[extreme] - rest)
    if motion < settings.return_least_mm:
        held = False if _is_held(path, start, stop) else None
        return Approach(released=held, came_from=None, motion_mm=motion, extreme_s=None, free=None)
    side = "right" if path.select_mm[extreme] > rest else "left"
    free, released = _run_home(path, extreme, start, stop, rest, let_go=let_go)
    if released is None and _is_held(path, start, stop):
        released = False
    return Approach(
        released=released, came_from=side, motion_mm=float(motion), free=free,
        extreme_s=float(path.time_s[extreme]),
    )  # fmt: skip


def _is_held(path: LeverPath, start: int, stop: int) -> bool:
    """Whether a hand is felt on the lying lever: slow wander and tremor above what a lever by itself shows."""
    # The end of a swing is no hand: the first part of a rest says nothing.
    start = start + min(int(0.4 * (stop - start)), int(0.6 * path.rate_hz))
    if (stop - start) < HELD_LEAST_S * path.rate_hz or path.rate_hz < 3 * BESIDE_HZ[1]:
        return False
    axes = np.stack([path.select_mm[start:stop], path.engage_mm[start:stop]], axis=1)
    return _wander(axes, path) * _tremor(axes, path.rate_hz) > HELD_PRODUCT


def _wander(axes: np.ndarray, path: LeverPath) -> float:
    """Spread of 0.2 s means, in units of what reading noise alone gives."""
    block = int(0.2 * path.rate_hz)
    count = len(axes) // block
    means = axes[: count * block].reshape(count, block, 2).mean(axis=1)
    return float(np.hypot(*means.std(axis=0)) / (max(path.noise_mm, LEAST_NOISE_MM) * np.sqrt(2 / block)))


def _tremor(axes: np.ndarray, rate_hz: float) -> float:
    """Power in the tremor band over the power beside it, mean of both axes."""
    frequency, power = signal.periodogram(axes, rate_hz, axis=0, detrend="constant")
    inside = (frequency >= TREMOR_HZ[0]) & (frequency <= TREMOR_HZ[1])
    beside = (frequency >= BESIDE_HZ[0]) & (frequency < BESIDE_HZ[1])
    floor = np.maximum(power[beside].mean(axis=0), 1e-12)
    return float(np.mean(power[inside].mean(axis=0) / floor))


def find_last_extreme(path: LeverPath, begin: int, start: int, rest: float) -> int:
    """Index at which the lever was let go: the first of the reversals that one free swing explains.

    Going back from the rest, a swing's reversals grow and are half a period apart; a bigger trip at another pace
    before them was the hand.
    """
    way = path.select_mm[begin : start + 1] - rest
    if way.size < 3:
        return start
    turns = find_reversals(way, max(0.5, 4 * path.noise_mm))
    chosen = turns[-1]
    for k in range(len(turns) - 2, -1, -1):
        if not _one_swing(way, turns, k):
            break
        chosen = turns[k]
    top = abs(way[chosen])
    flat = max(3 * path.noise_mm, 0.02 * top)
    later = np.flatnonzero(np.abs(way[chosen:]) < top - flat)
    return begin + chosen + (max(int(later[0]) - 1, 0) if later.size else 0)


def _one_swing(way: np.ndarray, turns: list[int], k: int) -> bool:
    """Whether the reversal before number k + 1 belongs to the same free swing."""
    before, after = way[turns[k]], way[turns[k + 1]]
    if abs(after) < 0.5 and abs(before) > abs(after):
        return True
    if k > 0 and abs(before) < AT_WALL_MM:
        return _rebounds(way, turns, k)
    smaller = before * after < 0 and abs(after) < LEAST_DECAY * abs(before)
    if not smaller:
        return False
    following = turns[k + 2] if k + 2 < len(turns) else None
    # A hand may hold the lever out for long before it lets go.
    near_top = np.flatnonzero(np.abs(way[turns[k] : turns[k + 1]]) > NEAR_TOP * abs(before))
    gap = turns[k + 1] - turns[k] - int(near_top[-1])
    return following is None or gap < 2 * max(following - turns[k + 1], 1)


def _rebounds(way: np.ndarray, turns: list[int], k: int) -> bool:
    """Whether the lever struck a wall at reversal k: it comes back the way it ran, quicker and much less far."""
    run_in, after = way[turns[k - 1]], way[turns[k + 1]]
    near_top = np.flatnonzero(np.abs(way[turns[k - 1] : turns[k]]) > NEAR_TOP * abs(run_in))
    ran = turns[k] - turns[k - 1] - (int(near_top[-1]) if near_top.size else 0)
    return run_in * after > 0 and abs(after) < MOST_REBOUND * abs(run_in) and turns[k + 1] - turns[k] < ran


def _run_home(
    path: LeverPath, extreme: int, start: int, stop: int, rest: float, *, let_go: bool
) -> tuple[FreeReturn | None, bool | None]:
    part = way_span(path, extreme, start, stop, rest)
    time, values = path.time_s[part], path.select_mm[part]
    way = judge_way(time, values, noise_mm=path.noise_mm, rest_mm=rest)
    if way is None:
        return None, None
    if let_go:
        return refine_swing(time, values, way.free), True
    released = bool(way.swing_odds > 0) if abs(way.swing_odds) > DECISIVE else _by_time(values, way.guided, rest)
    return way.free if released is False else refine_swing(time, values, way.free), released


def way_span(path: LeverPath, extreme: int, start: int, stop: int, rest_mm: float) -> slice:
    """Index range of the way from an extreme to a rest at [start, stop), with a little of both ends.

    A lever that creeps ever more slowly counts as still while some of its way is yet to come: that belongs to it.
    """
    first = max(extreme - int(0.03 * path.rate_hz), 0)
    creep = path.select_mm[start : min(stop, start + int(CREEPS_ON_S * path.rate_hz))]
    near = np.abs(creep - rest_mm) <= max(THERE_MM, 3 * path.noise_mm)
    there = start + (int(np.argmax(near)) if near.any() else near.size)
    return slice(first, min(max(there + int(0.15 * path.rate_hz), extreme + 10), stop))


def _by_time(values: np.ndarray, guided: GuidedMove, rest: float) -> bool | None:
    quick = abs(values[0] - rest) / guided.duration_s > SPRING_MMPS
    return True if quick or guided.duration_s < SPRING_S else False if guided.duration_s > HAND_S else None
