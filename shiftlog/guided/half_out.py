"""Gears that let go while the lever hangs on its way out: it never reaches neutral, so that no journey begins."""

from dataclasses import dataclass

import numpy as np

from shiftlog.detect.outcomes import lets_go
from shiftlog.measure.scene import Scene
from shiftlog.signal.crossing import find_runs

NEUTRAL, HALF, HOME = 0.1, 0.5, 0.9
"""Depths, as the definitions have them: on the neutral line, where a gear lets go, and in gear."""


@dataclass(frozen=True, eq=False, kw_only=True)
class LetGo:
    """gear : that let go; start_s : when its lever left its place"""

    gear: str
    start_s: float


def find_half_out(scene: Scene, start_s: float, end_s: float) -> tuple[LetGo, ...]:
    """Falls through half with the clutch up, no hand and the engine leaving the ratio, after which the lever goes home
    again without having been in neutral."""
    path = scene.path
    assert path is not None
    first, last = path.index(start_s), path.index(end_s) + 1
    depth = np.where(path.valid & (path.gear >= 0), path.depth, 0.0)[first:last]
    found = []
    for a, b in find_runs(depth > NEUTRAL):
        home = np.flatnonzero(depth[a:b] >= HOME)
        for one, after in zip(home[:-1], home[1:], strict=True):
            below = np.flatnonzero(depth[a + one : a + after] < HALF)
            if below.size:
                left, out = first + a + one, first + a + one + below[0]
                gear = path.gears[int(path.gear[left])]
                times = {"start_s": float(path.time_s[left]), "out_s": float(path.time_s[out])}
                if lets_go(scene.signals, scene.car, gear=gear, **times):
                    found.append(LetGo(gear=gear, start_s=times["start_s"]))
    return tuple(found)
