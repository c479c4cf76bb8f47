"""How the lever came to a rest: let go and run home by itself, guided there by a hand, or neither can be known."""

from dataclasses import dataclass

import numpy as np

from shiftlog.model.lever import LeverPath
from shiftlog.model.settings import Settings
from shiftlog.signal.free_motion import FreeReturn, fit_free_return, fit_guided_move

LOOK_BACK_S = 2.5
# A rest that wanders more than this, slower than 5 Hz, has a hand on it: nobody holds a lever stiller, and road and
# engine shake it faster than that (common practice, no source).
HELD_WANDER_MM = 0.25
# One model must leave this many times less unexplained than the other before it is believed.
CLEARER = 1.1
# The quickest that a hand guides a lever across one plane; a spring is quicker (common practice, no source).
HAND_FASTEST_MMPS = 450.0


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


def judge_approach(path: LeverPath, start: int, stop: int, earliest: int, settings: Settings) -> Approach:
    """Judge the rest at index range [start, stop); nothing before index ``earliest`` belongs to it."""
    begin = max(earliest, start - int(LOOK_BACK_S * path.rate_hz))
    rest = float(np.median(path.select_mm[start:stop]))
    held = _is_held(path, start, stop)
    extreme = _last_extreme(path, begin, start, rest)
    motion = abs(path.select_mm[extreme] - rest)
    if motion < settings.return_least_mm:
        return Approach(released=False if held else None, came_from=None, motion_mm=motion, extreme_s=None, free=None)
    side = "right" if path.select_mm[extreme] > rest else "left"
    free, released = _run_home(path, extreme, start, stop, rest)
    if held:
        released = False
    return Approach(
        released=released, came_from=side, motion_mm=float(motion), free=free,
        extreme_s=float(path.time_s[extreme]),
    )  # fmt: skip


def _is_held(path: LeverPath, start: int, stop: int) -> bool:
    """Slow wander of the lying lever, averaged over 0.2 s, above what a lever by itself shows."""
    # The end of a swing is no hand: the first part of a rest says nothing.
    start = start + min(int(0.4 * (stop - start)), int(0.6 * path.rate_hz))
    block = max(int(0.2 * path.rate_hz), 1)
    count = (stop - start) // block
    if count < 3:
        return False
    inside = slice(start, start + count * block)
    mean = [v[inside].reshape(count, block).mean(axis=1) for v in (path.select_mm, path.engage_mm)]
    wander = float(np.hypot(np.std(mean[0]), np.std(mean[1])))
    return wander > HELD_WANDER_MM + path.noise_mm / np.sqrt(block)


def _last_extreme(path: LeverPath, begin: int, start: int, rest: float) -> int:
    """Index of the last time select lay within reach of its extreme on the side it was held."""
    way = path.select_mm[begin : start + 1] - rest
    if way.size < 3:
        return start
    side = _held_side(way)
    toward = way * side
    top = float(toward.max())
    near = np.flatnonzero(toward >= top - max(3 * path.noise_mm, 0.02 * top))
    return begin + int(near[-1])


def _held_side(way: np.ndarray) -> float:
    """+1 right, -1 left: the side of the longest trip from the rest (a swing past it is shorter)."""
    return 1.0 if way.max() >= -way.min() else -1.0


def _run_home(
    path: LeverPath, extreme: int, start: int, stop: int, rest: float
) -> tuple[FreeReturn | None, bool | None]:
    lead = int(0.03 * path.rate_hz)
    first = max(extreme - lead, 0)
    last = min(max(start + int(0.15 * path.rate_hz), extreme + 10), stop)
    time, values = path.time_s[first:last], path.select_mm[first:last]
    if time.size < 12:
        return None, None
    free, guided = fit_free_return(time, values), fit_guided_move(time, values)
    if free is None or guided is None:
        return free, None
    floor = 0.5 * path.noise_mm
    free_rms, guided_rms = max(free.rms_mm, floor), max(guided.rms_mm, floor)
    if free_rms * CLEARER < guided_rms:
        return free, True
    if guided_rms * CLEARER < free_rms:
        return free, False
    fastest = float(np.max(np.abs(np.diff(values)))) * path.rate_hz
    return free, True if fastest > HAND_FASTEST_MMPS else None
