"""Presses home against a stop: the lever lies on one level when let go and on another, further out, when pressed."""

from dataclasses import dataclass

import numpy as np

from shiftlog.signal.crossing import find_runs
from shiftlog.signal.robust import step_noise
from shiftlog.signal.slope import slope, smooth

MOVING_MMPS, SLOPE_S = 25.0, 0.08
"""Faster than this the lever is still on its way into the gear, or out of it again."""
SMOOTH_S = 0.12
"""Asked for is a second of each; over this the noise of a cheap sensor is a third of a count."""
SHORTEST_S = 0.25
TRIM_S = 0.08
"""A press is still settling, and a hand still leaving, so near to its ends."""
LEAST_MM, SIGMAS = 0.15, 6.0
"""Two levels are two if they lie apart by both, in noise after smoothing."""
OUT, BACK = 0.65, 0.35
"""A press begins and ends where the lever passes these shares of the way between the two levels."""
ROUNDS = 20


@dataclass(frozen=True, eq=False, kw_only=True)
class Press:
    """One push against a stop. rise_mm : how far beyond where the lever lies beside it; u_mm : its uncertainty."""

    start_s: float
    end_s: float
    rise_mm: float
    u_mm: float


@dataclass(frozen=True, eq=False, kw_only=True)
class Pressed:
    """A stay in gear. let_go_mm : where the lever lies when let go; presses : in order of time"""

    let_go_mm: float
    presses: tuple[Press, ...]


def find_presses(time_s: np.ndarray, place_mm: np.ndarray, rate_hz: float, *, from_middle: bool = False) -> Pressed:
    """The presses of one stay; time (n,), place (n,) growing towards the stop.

    from_middle : the lever is pressed to the other side as well; only what lies beyond its middle counts
    """
    steady, noise = smooth(place_mm, rate_hz, SMOOTH_S), step_noise(place_mm)
    first, last = _arrived(place_mm, rate_hz)
    steady, time_s = steady[first:last], time_s[first:last]
    if steady.size < SHORTEST_S * rate_hz:
        return Pressed(let_go_mm=float(np.median(place_mm)), presses=())
    if from_middle:
        steady = np.maximum(steady, np.median(steady))
    low, high = _two_levels(steady)
    quiet = noise / np.sqrt(SMOOTH_S * rate_hz / 2.25)
    if high - low < max(LEAST_MM, SIGMAS * quiet):
        return Pressed(let_go_mm=float(np.median(steady)), presses=())
    spans = _spans(steady, low + OUT * (high - low), low + BACK * (high - low))
    trim, least = round(TRIM_S * rate_hz), SHORTEST_S * rate_hz
    held = [(a + trim, b - trim, pressed) for a, b, pressed in spans if b - a >= max(least, 2 * trim + 3)]
    levels = [(a, b, pressed, float(np.median(steady[a:b]))) for a, b, pressed in held]
    return Pressed(
        let_go_mm=float(np.median([level for *_, pressed, level in levels if not pressed] or [low])),
        presses=tuple(
            _press(levels, k, time_s, quiet) for k, (*_, out, _) in enumerate(levels) if out and _beside(levels, k)
        ),
    )  # fmt: skip


def _arrived(place_mm: np.ndarray, rate_hz: float) -> tuple[int, int]:
    """Index range from the end of the way in to the beginning of the way out."""
    moving = np.abs(slope(place_mm, rate_hz, SLOPE_S)) > MOVING_MMPS
    runs = find_runs(~moving)
    runs = [run for run in runs if run[1] - run[0] >= SHORTEST_S * rate_hz]
    return (int(runs[0][0]), int(runs[-1][1])) if runs else (0, 0)


def _two_levels(values: np.ndarray) -> tuple[float, float]:
    """Two means (Lloyd, 1982) from the outermost tenths."""
    low, high = (float(q) for q in np.quantile(values, (0.05, 0.95)))
    for _ in range(ROUNDS):
        middle = (low + high) / 2
        above = values > middle
        if above.all() or not above.any():
            break
        low, high = float(values[~above].mean()), float(values[above].mean())
    return low, high


def _spans(values: np.ndarray, out: float, back: float) -> list[tuple[int, int, bool]]:
    """(first, last, pressed) of stretches by two levels of hysteresis."""
    sure = np.where(values > out, 1, np.where(values < back, 0, -1))
    known = np.flatnonzero(sure >= 0)
    states = sure[known[np.clip(np.searchsorted(known, np.arange(values.size), side="right") - 1, 0, None)]] == 1
    edges = [0, *(np.flatnonzero(np.diff(states)) + 1), values.size]
    return [(int(a), int(b), bool(states[a])) for a, b in zip(edges[:-1], edges[1:], strict=True)]


def _beside(levels: list[tuple[int, int, bool, float]], k: int) -> list[float]:
    return [levels[j][3] for j in (k - 1, k + 1) if 0 <= j < len(levels) and not levels[j][2]]


def _press(levels: list[tuple[int, int, bool, float]], k: int, time_s: np.ndarray, quiet: float) -> Press:
    first, last, _, level = levels[k]
    beside = _beside(levels, k)
    return Press(
        start_s=float(time_s[first]), end_s=float(time_s[last - 1]), rise_mm=level - float(np.mean(beside)),
        u_mm=quiet * np.sqrt(1 + 1 / len(beside)) / 2,
    )  # fmt: skip
