"""Presses home against a stop: the lever lies on one level when let go and on another, further out, when pressed."""

from dataclasses import dataclass

import numpy as np

from shiftlog.signal.crossing import find_runs
from shiftlog.signal.held_levels import HeldLevels, find_held_levels
from shiftlog.signal.robust import midmean
from shiftlog.signal.slope import slope

MOVING_MMPS, SLOPE_S = 25.0, 0.08
"""Faster than this the lever is still on its way into the gear, or out of it again."""
SHORTEST_S = 0.25
TRIM_S = 0.08
"""A press is still settling, and a hand still leaving, so near to its ends."""
LEAST_MM, SIGMAS = 0.15, 6.0
"""Two levels are two if they lie apart by both, in what their noise leaves uncertain."""
BEYOND_STEP = 1.2
"""A lever that hardly moves may show a whole step of the log's rounding; two levels lie further apart than that."""
ASKED_S = 1.0
"""What a press is asked to last: over this a level that is not seen is told to be less than so much."""
FLAT_MM = 0.02
"""No lever lies stiller over a twentieth of a second, whatever its sensor shows."""
SETTLED = 0.5
"""Where a lever that crept back to its place lies is read over this last share of the stretch."""
SMALL = 0.25
"""What rises by less than this share of the greatest press of a stay is where it came to lie, not a press."""


@dataclass(frozen=True, eq=False, kw_only=True)
class Press:
    """One push against a stop. rise_mm : how far beyond where the lever lies beside it; u_mm : its uncertainty."""

    start_s: float
    end_s: float
    rise_mm: float
    u_mm: float


@dataclass(frozen=True, eq=False, kw_only=True)
class Pressed:
    """A stay in gear. let_go_mm : where the lever lies when let go; presses : in order of time

    least_mm : a rise that would have been seen; longest_s : the longest that it lay where it lies when let go
    pulled : whether it was pulled the other way as well
    """

    let_go_mm: float
    presses: tuple[Press, ...]
    least_mm: float
    longest_s: float
    pulled: bool = False


def find_presses(
    time_s: np.ndarray,
    place_mm: np.ndarray,
    rate_hz: float,
    *,
    from_middle: bool = False,
    pulls: bool = False,
    rounding_mm: float = 0.0,
) -> Pressed:
    """The presses of one stay; time (n,), place (n,) growing towards the stop.

    from_middle : the lever may be pressed to the other side as well; pulls : this hand pulls between presses, so that a
    lever may lean on its stop and be pulled away from it alone; rounding_mm : what rounding leaves uncertain of a level
    """
    first, last = _arrived(place_mm, rate_hz)
    place_mm, time_s = place_mm[first:last], time_s[first:last]
    step = np.sqrt(12) * rounding_mm
    # Where a level lies between two steps of the rounding, readings flip from one to the other.
    held = find_held_levels(
        place_mm, rate_hz, shortest_s=SHORTEST_S, least=max(LEAST_MM, BEYOND_STEP * step), sigmas=SIGMAS,
        noise=max(FLAT_MM, step / 2),
    )  # fmt: skip
    seen = max(LEAST_MM, SIGMAS * np.sqrt(2) * held.u_of(ASKED_S * rate_hz))
    # What shows as one step may be close to two.
    least, seen = max(seen, BEYOND_STEP * step), max(seen, 2 * step)
    if not held.levels.size:
        return Pressed(let_go_mm=float(np.median(place_mm)), presses=(), least_mm=seen, longest_s=0.0)
    at_rest = _at_rest(held, least, from_middle=from_middle, pulls=pulls)
    lies = {k: _settled(place_mm, *held.spans[k], round(TRIM_S * rate_hz)) for k in np.flatnonzero(at_rest)}
    middle = float(np.median(list(lies.values())))
    rising = find_runs((held.levels - middle > least) & ~at_rest)
    tops = [(a, b, a + int(np.argmax(held.levels[a:b]))) for a, b in rising]
    presses = [_press(held, tops[k], lies, middle, (time_s, place_mm, rate_hz, rounding_mm)) for k in range(len(tops))]
    most = max((press.rise_mm for press in presses), default=0.0)
    lengths = [int(b - a) for a, b in held.spans[at_rest]]
    return Pressed(
        let_go_mm=middle, presses=tuple(p for p in presses if p.rise_mm >= SMALL * most), least_mm=seen,
        longest_s=max(lengths) / rate_hz, pulled=bool((held.levels < middle - least).any()),
    )  # fmt: skip


def _arrived(place_mm: np.ndarray, rate_hz: float) -> tuple[int, int]:
    """Index range from the end of the way in to the beginning of the way out."""
    moving = np.abs(slope(place_mm, rate_hz, SLOPE_S)) > MOVING_MMPS
    runs = find_runs(~moving)
    runs = [run for run in runs if run[1] - run[0] >= SHORTEST_S * rate_hz]
    return (int(runs[0][0]), int(runs[-1][1])) if runs else (0, place_mm.size)


def _at_rest(held: HeldLevels, least: float, *, from_middle: bool, pulls: bool) -> np.ndarray:
    """Which of the levels are where the lever lies when let go, (k,) bool.

    Every push and every pull begins and ends there: it is the level with the most ways to and from it. Of levels that
    serve alike it is the inner one along the gate, as a push goes outward; across it that of the longest time. A hand
    that pulls as well has pulled alone where the lever lay further out both first and last.
    """
    lengths = np.diff(held.spans, axis=1)[:, 0]
    near = np.abs(held.levels[:, None] - held.levels[None, :]) < least
    ways = (near[:, 1:] != near[:, :-1]).sum(axis=1)
    ends = near[0] & near[-1] if pulls else np.zeros(near.shape[0], bool)
    second = (near * lengths).sum(axis=1) if from_middle else -held.levels
    return near[max(range(near.shape[0]), key=lambda k: (ways[k], ends[k], second[k]))]


def _settled(place_mm: np.ndarray, first: int, last: int, trim: int) -> float:
    """Where the lever lay in the end of a stretch in which it was let go."""
    last = max(last - trim, first + 1)
    return midmean(place_mm[min(last - 1, first + round(SETTLED * (last - first))) : last])


def _press(
    held: HeldLevels, group: tuple[int, int, int], lies: dict[int, float], middle: float,
    course: tuple[np.ndarray, np.ndarray, float, float],
) -> Press:  # fmt: skip
    """The press whose levels are those from the first to the last of a group; its highest one is the stop's."""
    time_s, place_mm, rate_hz, rounding_mm = course
    before, after, top = group
    beside = [lies[k] for k in (before - 1, after) if k in lies]
    trim = round(TRIM_S * rate_hz)
    first, last = held.spans[top]
    inner = place_mm[first + trim : last - trim] if last - first > 2 * trim + 3 else place_mm[first:last]
    # The level beside it is read over half of its stretch.
    u = held.u_of(last - first) * np.sqrt(1 + 2 / max(len(beside), 1))
    return Press(
        start_s=float(time_s[first]), end_s=float(time_s[last - 1]), u_mm=float(np.hypot(u, np.sqrt(2) * rounding_mm)),
        rise_mm=midmean(inner) - float(np.mean(beside) if beside else middle),
    )  # fmt: skip
