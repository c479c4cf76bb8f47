"""The instants of a journey: local seats, level crossings, attempts, and where the lever stood on its way in."""

from dataclasses import dataclass

import numpy as np

from shiftlog.detect.lever import Excursion
from shiftlog.model.lever import LeverPath
from shiftlog.model.settings import Settings
from shiftlog.signal.crossing import find_crossings, find_runs

# Two standing spans closer than this are one when the lever's mean speed across them is slow as well: chatter.
CHATTER_S = 0.06


@dataclass(frozen=True, eq=False, kw_only=True)
class Push:
    """One attempt at a gear: index range from its foot to its deepest point (or to the seat)."""

    gear: str | None
    foot: int
    top: int
    seat_mm: float
    refused: bool


def local_seat_leaving(path: LeverPath, stay: tuple[int, int], excursion: Excursion, settings: Settings) -> float:
    """Distance of the local seat from the neutral line [mm] before the lever leaves."""
    leave = _last_fall(path, stay[0], excursion.stop, 0.9 * excursion.seat_mm)
    seat = excursion.seat_mm
    for _ in range(2):
        end = leave - settings.seat_guard_s
        begin = max(end - settings.seat_window_s, path.time_s[stay[0]] + settings.seat_guard_s)
        seat = _median_between(path, begin, end, seat)
        leave = _last_fall(path, stay[0], excursion.stop, settings.depth_high * seat)
    return seat


def local_seat_arriving(path: LeverPath, stay: tuple[int, int], excursion: Excursion, settings: Settings) -> float:
    """Distance of the local seat from the neutral line [mm] after the lever has arrived."""
    seat = excursion.seat_mm
    arrive = path.time_s[stay[0]]
    for _ in range(2):
        begin = arrive + settings.seat_guard_s
        end = min(begin + settings.seat_window_s, path.time_s[min(stay[1], path.time_s.size) - 1])
        seat = _median_between(path, begin, end, seat)
        arrive = find_arrival(path, excursion, seat, stay, settings)
    return seat


def find_arrival(
    path: LeverPath, excursion: Excursion, seat_mm: float, stay: tuple[int, int], settings: Settings
) -> float:
    """When the depth by the local seat rises through 0.9 and stays there for the hold time [s]."""
    depth = np.abs(path.engage_mm[excursion.start : stay[1]]) / seat_mm
    time = path.time_s[excursion.start : stay[1]]
    hold = settings.in_gear_hold_s * path.rate_hz
    for a, b in find_runs(depth >= settings.depth_high):
        if (b - a) >= hold - 1 or b == depth.size:
            rises = find_crossings(time[: a + 1], depth[: a + 1], settings.depth_high, rising=True)
            return float(rises[-1]) if rises.size else float(time[a])
    return float(path.time_s[stay[0]])


def _median_between(path: LeverPath, begin_s: float, end_s: float, otherwise: float) -> float:
    inside = slice(path.index(begin_s), path.index(end_s))
    values = np.abs(path.engage_mm[inside])
    # Fewer than three samples say less than the map's own seat.
    return float(np.median(values)) if values.size >= 3 else otherwise


def _last_fall(path: LeverPath, start: int, stop: int, level_mm: float) -> float:
    window = slice(start, min(stop + 1, path.time_s.size))
    falls = find_crossings(path.time_s[window], np.abs(path.engage_mm[window]), level_mm, rising=False)
    return float(falls[-1]) if falls.size else float(path.time_s[min(stop, path.time_s.size) - 1])


def find_fall(path: LeverPath, excursion: Excursion, seat_mm: float, level: float, since: int) -> float:
    """Last fall of the depth by ``seat_mm`` through a level before the lever reaches neutral [s]."""
    return _last_fall(path, since, min(excursion.stop + 2, path.time_s.size), level * seat_mm)


def find_last_rise(path: LeverPath, excursion: Excursion, seat_mm: float, level: float, until_s: float) -> float:
    """Last rise through a level before ``until_s`` [s]."""
    window = slice(max(excursion.start - 2, 0), path.index(until_s) + 1)
    rises = find_crossings(path.time_s[window], np.abs(path.engage_mm[window]), level * seat_mm, rising=True)
    return float(rises[-1]) if rises.size else float(path.time_s[excursion.start])


def find_first_rise(path: LeverPath, excursion: Excursion, seat_mm: float, level: float) -> float:
    """First rise through a level within an excursion [s]."""
    window = slice(max(excursion.start - 2, 0), excursion.stop)
    rises = find_crossings(path.time_s[window], np.abs(path.engage_mm[window]), level * seat_mm, rising=True)
    return float(rises[0]) if rises.size else float(path.time_s[excursion.start])


def find_pushes(
    path: LeverPath, excursion: Excursion, seat_mm: float, settings: Settings, *, until_s: float | None = None
) -> tuple[Push, ...]:
    """Attempts within an excursion, refused ones first, the one that went in last (when ``until_s`` is given).

    A push is refused when it reached depth 0.35 or more and fell back by 0.2 or more.
    """
    start = max(excursion.start - 2, 0)
    stop = excursion.stop if until_s is None else path.index(until_s)
    depth = np.abs(path.engage_mm[start:stop]) / seat_mm
    pushes = []
    foot = top = 0
    for i, d in enumerate(depth):
        if d > depth[top]:
            top = i
        if depth[top] - d >= settings.attempt_fall:
            if depth[top] >= settings.attempt_depth:
                pushes.append(_push(excursion, start + foot, start + top, seat_mm, refused=True))
            foot = top = i
        elif top == foot and d < depth[foot]:
            foot = top = i
    if until_s is not None:
        pushes.append(_push(excursion, start + foot, stop, seat_mm, refused=False))
    return tuple(pushes)


def _push(excursion: Excursion, foot: int, top: int, seat_mm: float, *, refused: bool) -> Push:
    return Push(gear=excursion.gear, foot=foot, top=top, seat_mm=seat_mm, refused=refused)


def find_baulk(path: LeverPath, push: Push, settings: Settings) -> tuple[tuple[float, float], ...]:
    """Spans in which the lever stood on its way in: between depth 0.3 and 0.85, slower than 20 % of the push's peak."""
    part = slice(push.foot, push.top + 1)
    depth = np.abs(path.engage_mm[part]) / push.seat_mm
    if depth.size < 3:
        return ()
    inward = path.engage_mmps[part] * np.sign(path.engage_mm[push.top])
    slow = settings.baulk_speed_share * float(inward.max())
    inside = (depth >= settings.baulk_low) & (depth <= settings.baulk_high)
    runs = _join_chatter(find_runs(inside & (inward < slow)), depth * push.seat_mm, slow, path.rate_hz)
    least = 0.008 * path.rate_hz
    time = path.time_s[part]
    half = 0.5 / path.rate_hz
    return tuple((float(time[a] - half), float(time[b - 1] + half)) for a, b in runs if b - a >= max(least, 2))


def _join_chatter(runs: np.ndarray, position_mm: np.ndarray, slow: float, rate_hz: float) -> list[tuple[int, int]]:
    joined: list[tuple[int, int]] = []
    for a, b in runs:
        if joined:
            first, last = joined[-1]
            mean = (position_mm[b - 1] - position_mm[first]) / ((b - first) / rate_hz)
            if (a - last) <= CHATTER_S * rate_hz and mean < slow:
                joined[-1] = (first, int(b))
                continue
        joined.append((int(a), int(b)))
    return joined


def find_still(
    path: LeverPath, start: int, stop: int, settings: Settings, *, ease: float = 1.6
) -> tuple[tuple[int, int], ...]:
    """Index ranges within [start, stop) in which the lever lay still.

    Entered below 5 mm/s over 0.1 s, left above ``ease`` times that, and widened by half the window at both ends:
    a window that is still throughout began and ended still.
    """
    calm = path.still_mmps[start:stop] < ease * settings.still_mmps
    quiet = path.still_mmps[start:stop] < settings.still_mmps
    half = int(round(settings.still_window_s * path.rate_hz / 2))
    spans: list[tuple[int, int]] = []
    for a, b in find_runs(calm & path.valid[start:stop]):
        if not quiet[a:b].any():
            continue
        first, last = max(start + a - half, start), min(start + b + half, stop)
        if spans and first <= spans[-1][1]:
            spans[-1] = (spans[-1][0], last)
        else:
            spans.append((first, last))
    return tuple(spans)
