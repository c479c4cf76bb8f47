"""One journey's true phases and figures, read from the noise-free path by the definitions."""

import numpy as np

from shiftlog.model.reading import Reading, measured, unmeasured
from shiftlog.model.shift import Shift
from shiftlog.synth.levels import crossings, line_slope, runs, swings
from shiftlog.synth.path import ENGAGE, PATH_RATE_HZ, SELECT
from shiftlog.synth.scene import Scene
from shiftlog.synth.script import JourneyScript

HOLD_S = 0.1
LAY_S = 0.3
PAUSE_S = 0.15
STILL_MMPS = 5.0
STILL_WINDOW_S = 0.1
THIN = 4
"""Attempts and stands are read from every fourth point, 2 ms apart: they last tens of ms."""


def true_shift(scene: Scene, journey: JourneyScript, *, number: int, before_s: float, after_s: float) -> Shift:
    """The journey as the path shows it, between the end of the one before and the start of the one after."""
    start_s, out_s, left_s = _leaving(scene, journey, before_s)
    end_s, in_s = _arriving(scene, journey, start_s, left_s, after_s)
    way = _way_in(scene, journey, left_s, end_s)
    attempts, baulk = _pushes(scene, journey, *way)
    outcome = _outcome(journey, attempts)
    speed = scene.motion_at(np.abs(scene.motion.speed_mps), start_s)
    return Shift(
        number=number,
        from_gear=journey.from_gear,
        to_gear=journey.to_gear,
        via=journey.via,
        start_s=start_s,
        out_s=out_s,
        in_s=in_s if journey.kind == "through" else None,
        end_s=end_s,
        seen_by="lever",
        outcome=outcome,
        attempts=attempts,
        paused=_paused(scene, journey, left_s, way[1]),
        standing=speed < 1.0,
        baulk=baulk,
        readings=_readings(scene, journey, (start_s, out_s, in_s, end_s), outcome, baulk, way),
    )


def _depth(scene: Scene, gear: str, seat_mm: float | None = None) -> np.ndarray:
    return scene.path[:, ENGAGE] / (seat_mm or scene.seats[gear][ENGAGE])


def _leaving(scene: Scene, journey: JourneyScript, before_s: float) -> tuple[float, float | None, float]:
    """(start, out, when the old gear is left for good: depth 0.1); from neutral the start alone."""
    if journey.from_gear == "N":
        start_s = _first_rise(scene, journey)
        return start_s, None, start_s
    seat = scene.seats[journey.from_gear][ENGAGE]
    for _ in range(2):
        start_s, out_s, left_s = _falls(scene, journey, seat)
        window = scene.span(max(start_s - 0.55, before_s), start_s - 0.05)
        seat = float(np.median(scene.path[window, ENGAGE])) if window.stop - window.start > 10 else seat
    return _falls(scene, journey, seat)


def _falls(scene: Scene, journey: JourneyScript, seat: float) -> tuple[float, float, float]:
    span = scene.span(journey.begin_s - 0.1, journey.neutral_s + 0.4)
    time_s, depth = scene.time_s[span], scene.path[span, ENGAGE] / seat
    left_s = float(crossings(time_s, depth, 0.1, rising=False)[0])
    levels = [crossings(time_s, depth, level, rising=False) for level in (0.9, 0.5)]
    start_s, out_s = (float(found[found <= left_s][-1]) for found in levels)
    return start_s, out_s, left_s


def _first_rise(scene: Scene, journey: JourneyScript) -> float:
    """From neutral: depth rises through 0.1 for the first time after the lever last lay there."""
    spans = still_runs(scene, journey.begin_s - 0.5, journey.settle_s)
    lain = [end - STILL_WINDOW_S / 2 for begin, end in spans if end - begin >= LAY_S]
    since_s = max([journey.begin_s - 0.02, *lain])
    span = scene.span(since_s, journey.settle_s)
    depth = _depth(scene, journey.to_gear)[span]
    return float(crossings(scene.time_s[span], depth, 0.1, rising=True)[0])


def _arriving(
    scene: Scene, journey: JourneyScript, start_s: float, left_s: float, after_s: float
) -> tuple[float | None, float | None]:
    """(end, in): in for good; for a journey to neutral the end alone."""
    if journey.kind == "stuck":
        return None, None
    if journey.kind == "neutral":
        return left_s, None
    gear = journey.to_gear if journey.kind == "through" else journey.from_gear
    seat = scene.seats[gear][ENGAGE]
    for _ in range(2):
        end_s, in_s = _rises(scene, journey, gear, seat, start_s)
        window = scene.span(end_s + 0.05, min(end_s + 0.55, after_s))
        seat = float(np.median(scene.path[window, ENGAGE])) if window.stop - window.start > 10 else seat
    return _rises(scene, journey, gear, seat, start_s)


def _rises(scene: Scene, journey: JourneyScript, gear: str, seat: float, start_s: float) -> tuple[float, float]:
    span = scene.span(start_s, journey.settle_s + 0.6)
    time_s, depth = scene.time_s[span], scene.path[span, ENGAGE] / seat
    low = time_s[(depth < 0.1) & (time_s <= journey.settle_s)]
    since_s = low[-1] if low.size else start_s
    hold = int(HOLD_S * PATH_RATE_HZ)
    for end_s in crossings(time_s, depth, 0.9, rising=True):
        first = np.searchsorted(time_s, end_s)
        if end_s >= since_s and np.all(depth[first : first + hold] >= 0.9):
            break
    halves = crossings(time_s, depth, 0.5, rising=True)
    return float(end_s), float(halves[halves <= end_s][-1])


def _way_in(scene: Scene, journey: JourneyScript, left_s: float, end_s: float | None) -> tuple[float, float]:
    """The stretch in which pushes into the new gear can lie."""
    first = left_s
    if journey.via:
        span = scene.span(left_s, end_s)
        depth = _depth(scene, journey.to_gear)[span]
        first = float(scene.time_s[span][depth < 0.1][-1])
    return first, journey.settle_s if end_s is None else end_s


def _pushes(
    scene: Scene, journey: JourneyScript, first_s: float, last_s: float
) -> tuple[int | None, tuple[tuple[float, float], ...]]:
    """How many pushes, and where the lever stood in them."""
    if journey.kind in ("neutral", "same"):
        return None, ()
    span = scene.span(first_s, last_s)
    depth = scene.steady[span, ENGAGE][::THIN] / scene.seats[journey.to_gear][ENGAGE]
    time_s = scene.time_s[span][::THIN]
    pushes = [(low, high) for low, high in swings(depth, least=0.2) if depth[high] >= 0.35]
    slope = line_slope(depth, rate_hz=PATH_RATE_HZ / THIN, window_s=0.02)
    stood = [span for push in pushes for span in _stood(time_s, depth, slope, push)]
    return len(pushes), tuple(stood)


def _stood(
    time_s: np.ndarray, depth: np.ndarray, slope: np.ndarray, push: tuple[int, int]
) -> list[tuple[float, float]]:
    low, high = push
    rising = slice(low, high + 1)
    slow = (slope[rising] < 0.2 * slope[rising].max()) & (depth[rising] > 0.3) & (depth[rising] < 0.85)
    return [(float(time_s[low + a]), float(time_s[low + b - 1])) for a, b in runs(slow) if b - a > 1]


def still_runs(scene: Scene, start_s: float, end_s: float) -> list[tuple[float, float]]:
    """Spans in which the lever lies still in neutral: every window of 0.1 s whose line is flat is still as a whole."""
    half = int(STILL_WINDOW_S * PATH_RATE_HZ / 2)
    span = scene.span(start_s, end_s)
    wide = scene.span(start_s - 2 * STILL_WINDOW_S, end_s + 2 * STILL_WINDOW_S)
    slopes = [
        line_slope(scene.steady[wide, axis], rate_hz=PATH_RATE_HZ, window_s=STILL_WINDOW_S) for axis in (SELECT, ENGAGE)
    ]
    flat = np.hypot(*slopes) < STILL_MMPS
    covered = np.convolve(flat, np.ones(2 * half + 1), mode="same") > 0.5
    in_neutral = np.abs(scene.steady[wide, ENGAGE]) < 0.3 * scene.car.gate.engage_travel_mm / 2
    still = (covered & in_neutral)[span.start - wide.start :][: span.stop - span.start]
    time_s = scene.time_s[span]
    return [(float(time_s[a]), float(time_s[b - 1])) for a, b in runs(still)]


def _paused(scene: Scene, journey: JourneyScript, left_s: float, last_s: float) -> bool | None:
    if journey.kind in ("neutral", "stuck"):
        return None
    lain = still_runs(scene, left_s, last_s)
    return any(end - start > PAUSE_S for start, end in lain)


def _outcome(journey: JourneyScript, attempts: int | None) -> str:
    by_kind = {"back": "missed", "stuck": "missed", "same": "out_and_back", "neutral": "to_neutral"}
    if journey.outcome:
        return journey.outcome
    if journey.kind in by_kind:
        return by_kind[journey.kind]
    return "second_push" if (attempts or 0) > 1 else "clean"


def _readings(
    scene: Scene,
    journey: JourneyScript,
    phases: tuple[float, float | None, float | None, float | None],
    outcome: str,
    baulk: tuple[tuple[float, float], ...],
    way: tuple[float, float],
) -> dict[str, Reading]:
    start_s, out_s, in_s, end_s = phases
    motion = scene.motion
    speed = np.abs(motion.speed_mps)
    figures = [
        measured("engine_speed_rpm", scene.motion_at(motion.engine_rpm, start_s)),
        measured("vehicle_speed_mps", scene.motion_at(speed, start_s)),
    ]
    if journey.kind in ("through", "back", "stuck"):
        figures.append(measured("baulk_time_s", sum(end - begin for begin, end in baulk)))
    if journey.kind == "through":
        figures += [measured("shift_time_s", end_s - start_s), _neutral_time(out_s, in_s)]
        figures += [_approach_speed(scene, journey, way), *_over_rev(scene, journey, end_s)]
    return {reading.key: reading for reading in figures}


def _neutral_time(out_s: float | None, in_s: float) -> Reading:
    if out_s is None:
        return unmeasured("neutral_time_s", "the journey began in neutral")
    return measured("neutral_time_s", in_s - out_s)


def _approach_speed(scene: Scene, journey: JourneyScript, way: tuple[float, float]) -> Reading:
    span = scene.span(*way)
    depth = scene.steady[span, ENGAGE] / scene.seats[journey.to_gear][ENGAGE]
    slope = line_slope(scene.steady[span, ENGAGE], rate_hz=PATH_RATE_HZ, window_s=0.02)
    near = (depth > 0.0) & (depth < 0.3)
    return measured("approach_speed_mmps", float(np.abs(slope[near]).max()))


def _over_rev(scene: Scene, journey: JourneyScript, end_s: float) -> list[Reading]:
    factor, redline = scene.car.rpm_per_mps(journey.to_gear), scene.car.redline_rpm
    would = scene.motion_at(np.abs(scene.motion.speed_mps), end_s) * factor
    return [measured("over_rev", bool(would > redline))]
