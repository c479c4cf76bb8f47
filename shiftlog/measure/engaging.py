"""When teeth could clash: from the first touch of a gear by the lever to the moment before its dogs are in."""

import numpy as np

from shiftlog.measure.scene import Scene
from shiftlog.model.car import NEUTRAL
from shiftlog.model.lever import LeverPath
from shiftlog.model.shift import Shift
from shiftlog.signal.crossing import find_runs

TOUCH_DEPTH = 0.2
NEUTRAL_DEPTH = 0.1
IN_GEAR_DEPTH = 0.9
BEFORE_END_S = 0.010
"""The blow of the dogs begins here."""
SHORTEST_S = 0.015
"""Two windows of loudness side by side."""
TOO_SHORT = "the gear went in within a few milliseconds of being touched: too short for a grind to be heard"
WAITS_S = 2.5
"""A push that was refused and given up for neutral falls back within this (a stay there of 2 s ends the journey)."""


def find_engaging(shift: Shift, scene: Scene, *, apart_s: float) -> tuple[float, float] | str:
    """Where a grind is looked for, (start, end) [s], or why nowhere.

    From the first rise of any attempt through depth 0.2 to 10 ms before the end; for a gear that refused to the last
    fall below 0.2. apart_s : how far lever and recorder may lie apart in time; the end is kept clear by twice that.
    """
    if shift.seen_by != "lever" or scene.path is None:
        return "without a lever the moment the teeth meet is not known; fit a lever sensor"
    if shift.to_gear == NEUTRAL and shift.outcome != "missed":
        return "no gear was tried"
    path = scene.path
    pushes = _pushes(path, *_journey(shift, scene), from_gear=shift.from_gear)
    if pushes and shift.outcome == "missed" and _back_in_gear(path, shift, pushes[-1]):
        pushes = pushes[:-1]
    pushes = _after_the_last_gear_passed(path, pushes)
    if not pushes:
        return "the lever log does not show the push into gear"
    start_s = _crossing_s(path, pushes[0][0])
    given_up = shift.outcome == "missed" or shift.end_s is None
    end_s = _crossing_s(path, pushes[-1][1]) if given_up else shift.end_s - BEFORE_END_S
    start_s, end_s = start_s - 2 * apart_s, end_s - 2 * apart_s
    if end_s - start_s < SHORTEST_S:
        return TOO_SHORT
    return start_s, end_s


def _journey(shift: Shift, scene: Scene) -> tuple[int, int]:
    """Index range of the journey in the lever's path."""
    path = scene.path
    last_s = shift.end_s
    if last_s is None:
        last_s = min((s.start_s for s in scene.shifts if s.start_s > shift.start_s), default=np.inf)
        last_s = min(last_s, shift.start_s + WAITS_S)
    return path.index(shift.start_s), path.index(last_s) + 1


def _pushes(path: LeverPath, first: int, last: int, *, from_gear: str | None) -> list[tuple[int, int]]:
    """Stretches beyond the touch once the lever had been on the neutral line, index ranges.

    A hand that is quicker than the log may leave no sample there; then the least depth stands for it.
    """
    depth = path.depth[first:last]
    home = np.flatnonzero(depth < NEUTRAL_DEPTH)
    begin = 0 if from_gear == NEUTRAL else int(home[0]) if home.size else int(np.argmin(depth))
    return [(first + begin + int(a), first + begin + int(b)) for a, b in find_runs(depth[begin:] >= TOUCH_DEPTH)]


def _back_in_gear(path: LeverPath, shift: Shift, push: tuple[int, int]) -> bool:
    """Whether the last push of a refused shift is the one back into the gear left, and not the refused one."""
    return shift.end_s is not None and path.index(shift.end_s) <= push[1] and path.depth[push[1] - 1] > TOUCH_DEPTH * 2


def _after_the_last_gear_passed(path: LeverPath, pushes: list[tuple[int, int]]) -> list[tuple[int, int]]:
    """Pushes into the gear that was meant: rowing through others knocks as each of them goes in."""
    passed = [k for k, (a, b) in enumerate(pushes[:-1]) if path.depth[a:b].max() >= IN_GEAR_DEPTH]
    return pushes[passed[-1] + 1 :] if passed else pushes


def _crossing_s(path: LeverPath, index: int) -> float:
    """When the lever crossed the touch just before a sample [s]."""
    last = path.time_s.size - 1
    if index == 0 or index > last:
        return float(path.time_s[min(index, last)])
    before, after = path.depth[index - 1], path.depth[index]
    share = (TOUCH_DEPTH - before) / (after - before) if after != before else 1.0
    share = float(np.clip(share, 0.0, 1.0))
    return float(path.time_s[index - 1] + share * (path.time_s[index] - path.time_s[index - 1]))
