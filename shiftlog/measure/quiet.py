"""Stretches of the drive in which nothing is shifted: what the road and the driver do to a signal by themselves."""

from dataclasses import dataclass

import numpy as np

from shiftlog.measure.scene import Scene
from shiftlog.model.trace import Trace
from shiftlog.signal.crossing import find_runs

BEFORE_S = 0.5
"""The clutch goes down and the drive falls away before the lever moves."""
AFTER_S = 3.0
"""Take-up comes within a second or so, the swing after it dies within another two (common practice, no source)."""
LEAST_S = 1.5
"""What is shorter holds no window of any figure."""
SPEED_SHARE, SPEED_LEAST_MPS = 0.25, 3.0
"""Windows this near to a speed count as driven at that speed: the road's shaking grows with it."""

SLOWEST_MPS = 3.0
"""Below this a car's speed says nothing of how much the road shakes it."""


@dataclass(frozen=True, eq=False, kw_only=True)
class Windows:
    """Windows of one signal, all of one length, that begin in stretches without a shift.

    start_s : (m,) [s]; values : (m, n); speed_mps : (m,) mean speed, or None where speed was not logged
    """

    start_s: np.ndarray
    values: np.ndarray
    speed_mps: np.ndarray | None


def find_quiet_spans(scene: Scene, trace: Trace) -> tuple[tuple[float, float], ...]:
    """Stretches of a trace away from every shift, every rejected candidate and every use of the clutch, under way."""
    busy = [_about(shift.start_s, shift.gap and shift.gap[1], shift.end_s) for shift in scene.shifts]
    busy += [_about(one.start_s, one.end_s) for one in scene.rejected]
    busy += _clutch_down(scene) + _standing(scene)
    return tuple(span for whole in trace.spans for span in _without(whole, sorted(busy)))


def cut_windows(
    time_s: np.ndarray, values: np.ndarray, spans: tuple[tuple[float, float], ...], *, count: int, scene: Scene
) -> Windows:
    """All windows of ``count`` samples of an evenly sampled signal within spans, half a window apart."""
    step = max(count // 2, 1)
    places = [np.searchsorted(time_s, span) for span in spans]
    firsts = np.array([i for first, last in places for i in range(first, last - count + 1, step)], dtype=int)
    lasts = firsts + count - 1
    # Within a span the signal is even; a window across a hole would last longer than its samples.
    if firsts.size:
        even = time_s[lasts] - time_s[firsts] < 1.01 * np.median(time_s[lasts] - time_s[firsts])
        firsts, lasts = firsts[even], lasts[even]
    windows = values[firsts[:, None] + np.arange(count)] if firsts.size else np.empty((0, count))
    return Windows(start_s=time_s[firsts], values=windows, speed_mps=_speeds(scene, time_s[firsts], time_s[lasts]))


def at_speed(windows: Windows, speed_mps: float | None, *, least: int) -> np.ndarray:
    """Windows as they would be at a speed, (m, n): those driven near it; where they are too few, the next nearest.

    A road shakes a car the harder the faster it goes, about in proportion: windows from slower driving are scaled up,
    those from faster driving are left as they are, so that the bar is rather too high than too low.
    """
    if windows.speed_mps is None or speed_mps is None or not windows.speed_mps.size:
        return windows.values
    apart = np.abs(windows.speed_mps - speed_mps)
    near = apart <= max(SPEED_SHARE * speed_mps, SPEED_LEAST_MPS)
    if np.count_nonzero(near) < least:
        near = np.argsort(apart)[:least]
    slower = np.maximum(speed_mps / np.maximum(windows.speed_mps[near], SLOWEST_MPS), 1.0)
    return windows.values[near] * slower[:, None]


def count_near(windows: Windows, speed_mps: float | None) -> int:
    """How many windows were driven near a speed; all where speed is not known."""
    if windows.speed_mps is None or speed_mps is None:
        return len(windows.values)
    return int(np.count_nonzero(np.abs(windows.speed_mps - speed_mps) <= max(SPEED_SHARE * speed_mps, SPEED_LEAST_MPS)))


def _about(start_s: float, *ends: float | None) -> tuple[float, float]:
    return start_s - BEFORE_S, max([start_s, *(end for end in ends if end is not None)]) + AFTER_S


def _clutch_down(scene: Scene) -> list[tuple[float, float]]:
    """Stretches with the clutch pressed; none where it was not logged."""
    clutch = scene.signals.clutch
    return [] if clutch is None else [(a - BEFORE_S, b + AFTER_S) for a, b in _spans_of(clutch, clutch.values > 0.5)]


def _standing(scene: Scene) -> list[tuple[float, float]]:
    """Stretches in which the car stood; none where its speed was not logged."""
    speed = scene.signals.vehicle_speed
    return [] if speed is None else _spans_of(speed, speed.values < scene.settings.standing_mps)


def _spans_of(trace: Trace, flags: np.ndarray) -> list[tuple[float, float]]:
    last = trace.time_s.size - 1
    return [(float(trace.time_s[a]), float(trace.time_s[min(b, last)])) for a, b in find_runs(flags)]


def _without(whole: tuple[float, float], busy: list[tuple[float, float]]) -> list[tuple[float, float]]:
    """What is left of a span, in pieces long enough."""
    left, since = [], whole[0]
    for first, last in busy:
        if last <= since:
            continue
        if first - since >= LEAST_S:
            left.append((since, min(first, whole[1])))
        since = max(since, last)
    if whole[1] - since >= LEAST_S:
        left.append((since, whole[1]))
    return [(a, b) for a, b in left if b - a >= LEAST_S]


def _speeds(scene: Scene, first_s: np.ndarray, last_s: np.ndarray) -> np.ndarray | None:
    speed = scene.signals.vehicle_speed
    if speed is None or not speed.time_s.size:
        return None
    return np.interp((first_s + last_s) / 2, speed.time_s, speed.values)
