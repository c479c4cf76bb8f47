"""Pushes and pulls in gear: the levels at which the lever turned round, light ones told from firm ones."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from shiftlog.model.trace import Trace
from shiftlog.signal.crossing import find_reversals
from shiftlog.signal.slope import smooth

SMOOTH_S = 0.2
LEAST_MM, SIGMAS = 0.3, 7.0
"""A turn is one if it is greater than both, in noise after smoothing."""
AT_LEVEL = 0.3
"""Within this share of the smaller way beside it the lever is at the level of a turn."""
SHORTEST_S = 0.2
LEAST_TURNS = 6
"""From so many on the first and the last may go: they may be the way into the gear and out of it."""
APART_MM, APART_TIMES = 0.4, 4.0
"""Light and firm levels are two if they lie apart by both, in what each scatters by."""
LEAST_SHARE = 0.3
FURTHEST_SHARE = 0.25
"""Of the way between both sides: levels nearer to the uppermost third are those of pushes that met something."""
LEAST_EACH = 2


@dataclass(frozen=True, eq=False, kw_only=True)
class Touches:
    """Levels of pushes (high) and pulls (low), (k,) mm; high_n, low_n (k,) the force there without sign [N], or empty

    least_mm : what could have been seen
    """

    high: np.ndarray
    low: np.ndarray
    high_n: np.ndarray
    low_n: np.ndarray
    least_mm: float

    @classmethod
    def joined(cls, parts: Sequence["Touches"]) -> "Touches":
        """Touches of several stays in one gear."""
        names = ("high", "low", "high_n", "low_n")
        return cls(
            **{name: np.concatenate([getattr(p, name) for p in parts]) for name in names},
            least_mm=max(p.least_mm for p in parts),
        )

    def light(self) -> tuple[np.ndarray, np.ndarray] | str:
        """(pushes, pulls) of the light ones, or why there are none."""
        if len(self.high) < LEAST_EACH or len(self.low) < LEAST_EACH:
            return f"fewer than {LEAST_EACH} pushes and pulls were seen: none, or less play than {self.least_mm:.2f} mm"
        return _inner(self.high, 1), _inner(self.low, -1)

    def furthest(self) -> tuple[np.ndarray, np.ndarray] | str:
        """(pushes, pulls) that went furthest, or why there are none: let go, a lever lies anywhere in its play."""
        why = self.light()
        if isinstance(why, str):
            return why
        right, left = (_uppermost(levels) for levels in (self.high, -self.low))
        least = right - FURTHEST_SHARE * (right + left), left - FURTHEST_SHARE * (right + left)
        return self.high[self.high >= least[0]], self.low[-self.low >= least[1]]


def find_touches(
    time_s: np.ndarray, place_mm: np.ndarray, rate_hz: float, *, noise_mm: float, force: Trace | None
) -> Touches:
    """The touches of one stay; time (n,), place (n,) along one axis; noise_mm : of one reading as the sensor has it."""
    steady = smooth(place_mm, rate_hz, SMOOTH_S)
    quiet = noise_mm * np.sqrt(2.25 / max(SMOOTH_S * rate_hz, 2.25))
    least = max(LEAST_MM, SIGMAS * quiet)
    turns = find_reversals(steady, least)
    ends = [0, *turns, steady.size - 1]
    triples = list(zip(ends[:-2], turns, ends[2:], strict=True))
    found: dict[int, list[tuple[float, float]]] = {1: [], -1: []}
    for before, at, after in triples[1:-1] if len(turns) >= LEAST_TURNS else triples:
        if not before < at < after:
            continue
        rows = _level_rows(steady, before, at, after)
        if rows.size < SHORTEST_S * rate_hz:
            continue
        high = steady[at] > (steady[before] + steady[after]) / 2
        middle = rows[rows.size // 4 : rows.size - rows.size // 4]
        newton = np.nan if force is None else float(np.median(np.abs(_at(force, time_s[middle]))))
        found[1 if high else -1].append((float(np.median(steady[middle])), newton))
    columns = {side: np.array(rows).reshape(-1, 2) for side, rows in found.items()}
    return Touches(
        high=columns[1][:, 0], low=columns[-1][:, 0], high_n=columns[1][:, 1], low_n=columns[-1][:, 1], least_mm=least
    )  # fmt: skip


def _at(force: Trace, time_s: np.ndarray) -> np.ndarray:
    return np.interp(time_s, force.time_s, force.values)


def _level_rows(steady: np.ndarray, before: int, at: int, after: int) -> np.ndarray:
    """Rows round a turn at which the lever is at its level."""
    reach = AT_LEVEL * min(abs(steady[at] - steady[before]), abs(steady[at] - steady[after]))
    near = np.abs(steady[before : after + 1] - steady[at]) <= reach
    local = at - before
    first = local - int(np.argmin(near[local::-1])) + 1 if not near[: local + 1].all() else 0
    last = local + int(np.argmin(near[local:])) if not near[local:].all() else near.size
    return before + np.arange(first, last)


def _uppermost(levels: np.ndarray) -> float:
    """Median of the uppermost third."""
    return float(np.median(np.sort(levels)[-max(levels.size // 3, LEAST_EACH) :]))


def _inner(levels: np.ndarray, way: int) -> np.ndarray:
    """The light ones: the inner of two groups of levels where there are two, else all."""
    outward = np.sort(levels * way)
    best: tuple[float, int] | None = None
    least = max(int(np.ceil(LEAST_SHARE * outward.size)), LEAST_EACH)
    for k in range(least, outward.size - least + 1):
        inner, outer = outward[:k], outward[k:]
        within = float(np.sum((inner - inner.mean()) ** 2) + np.sum((outer - outer.mean()) ** 2))
        if best is None or within < best[0]:
            best = (within, k)
    if best is None or outward.size < 4:
        return levels
    inner, outer = outward[: best[1]], outward[best[1] :]
    scatter = np.sqrt(best[0] / max(outward.size - 2, 1))
    apart = float(outer.mean() - inner.mean())
    return inner * way if apart > max(APART_MM, APART_TIMES * scatter) else levels
