"""The lever's stays in gear within a marked span, and gate millimetres where pushes in gear stretched the map."""

from collections.abc import Sequence

import numpy as np

from shiftlog.model.gate import GateMap
from shiftlog.model.lever import LeverPath
from shiftlog.signal.crossing import find_runs


def find_stays(
    path: LeverPath, span: tuple[float, float], *, depth: float, least_s: float
) -> dict[str, list[slice]]:  # fmt: skip
    """Index ranges by gear in which the lever stayed beyond a depth for so long.

    It changes gears through neutral alone: a push aside that comes near the next plane is in the same gear still.
    """
    first, last = path.index(span[0]), path.index(span[1]) + 1
    inside = (path.depth[first:last] > depth) & path.valid[first:last] & (path.gear[first:last] >= 0)
    stays: dict[str, list[slice]] = {}
    for a, b in find_runs(inside) + first:
        if b - a >= least_s * path.rate_hz:
            gear = path.gears[int(np.bincount(path.gear[a:b]).argmax())]
            stays.setdefault(gear, []).append(slice(int(a), int(b)))
    return stays


def fit_scale(gate: GateMap, forward_mm: Sequence[float], rearward_mm: Sequence[float]) -> float:
    """Gate mm for one of the map's, from where the lever lies when let go on both sides of neutral, without sign.

    Seats that a map was fitted to hold pushes too; the layout's travel is from let go to let go. 1 with a ruler, or
    where one side is not known.
    """
    if gate.scale == "absolute" or not len(forward_mm) or not len(rearward_mm):
        return 1.0
    return gate.layout.engage_travel_mm / float(np.median(forward_mm) + np.median(rearward_mm))
