"""Where the lever lay still in neutral."""

import numpy as np

from shiftlog.detect.let_goes import LetGo, find_let_goes
from shiftlog.detect.lever import SMOOTH_S, plane_centres
from shiftlog.detect.phases import find_still
from shiftlog.detect.release import Approach, judge_approach
from shiftlog.model.car import NEUTRAL
from shiftlog.model.drive import MarkedTest, Signals
from shiftlog.model.gate import GateMap
from shiftlog.model.lever import LeverPath
from shiftlog.model.reading import Reading, measured, unmeasured
from shiftlog.model.rest import CREEPS, RUNS_IN, SWINGS, Rest
from shiftlog.model.settings import Settings
from shiftlog.model.shift import Shift
from shiftlog.signal.crossing import find_runs
from shiftlog.signal.free_motion import FreeReturn

# Two still spans with less than this between them, and no more of a move, are one rest that a knock cut in two.
ONE_REST_MM = 0.6
ONE_REST_S = 0.2
# A return that a second-order system leaves more than this share of its way unexplained, beside the noise, is none:
# jerks and creep leave twice as much and more, swings through dry friction less than half.
BRAKED_SHARE = 0.03
# A lever that comes home in under half a second is sound, one that takes longer without swinging is dragged by friction
# (common practice, no source). Less than the second is no swing past the rest that a technician would see.
CREEPS_S = 0.5
PAST_MM = 0.5
# So strongly damped, one of the two times of a second-order return is six times the other and alone decides: frequency
# and damping cannot be told apart.
MOST_SWING_DAMPING = 1.5
# A run that comes so near to the outermost plane may meet the wall of the gate; a second-order swing leaves less than
# this share of its way unexplained beside the noise, a blow against a wall more.
END_MM = 1.5
KINK_SHARE = 0.008
SETTLES_S = 0.3
# Readings are averaged until their noise is a fifth of the band of a return time, which then no stray one leaves; over
# longer than the second the end of a quick swing is averaged away.
STEADY_MM, MOST_BLUR_S = 0.2, 0.12
# Where no swing tells when the lever was let go, it is known to half a period of a hand's tremor.
TREMBLES_S = 0.06
TOO_NOISY = (
    "the lever's sensor scatters by {noise:.1f} mm, which hides when the lever comes within {band:g} mm of its rest: "
    "log it faster, or with less noise"
)


def find_rests(
    path: LeverPath, gate: GateMap, signals: Signals, shifts: tuple[Shift, ...], tests: tuple[MarkedTest, ...],
    settings: Settings,
) -> tuple[Rest, ...]:  # fmt: skip
    """Every rest in order of time, with how it came about and the figures of the return.

    A pause on the way from one gear to another is a rest only where the lever ran to it by itself. In a marked release
    test the rests are its let-goes, moved or not, and nothing else: while a hand holds the lever out it lies still too.
    """
    spans = [(t.start_s, t.end_s) for t in tests if t.kind == "release"]
    rests = _find_unmarked(path, gate, signals, shifts, spans, settings)
    let_goes = {g.start: g for span in spans for g in find_let_goes(path, gate, span, settings)}
    rests += [rest_of_let_go(path, let_go, gate, signals, settings) for let_go in let_goes.values()]
    return tuple(sorted(rests, key=lambda r: r.start_s))


def rest_of_let_go(path: LeverPath, let_go: LetGo, gate: GateMap, signals: Signals, settings: Settings) -> Rest:
    """Where the lever lay after a let-go of a marked test, which is a release whatever it looks like."""
    approach = Approach(
        released=True, came_from=let_go.side, motion_mm=let_go.approach.motion_mm if let_go.moved else 0.0,
        extreme_s=let_go.approach.extreme_s, free=let_go.approach.free if let_go.moved else None,
    )  # fmt: skip
    return _rest(path, let_go.start, let_go.stop, let_go.side, approach, gate, signals, settings)


def _find_unmarked(
    path: LeverPath, gate: GateMap, signals: Signals, shifts: tuple[Shift, ...],
    marked: list[tuple[float, float]], settings: Settings,
) -> list[Rest]:  # fmt: skip
    neutral = find_runs((path.depth < settings.neutral_depth) & path.valid)
    rests = []
    for begin, end in neutral:
        spans = _join(path, find_still(path, int(begin), int(end), settings))
        earliest = int(begin)
        for start, stop in spans:
            begin_s, end_s = path.time_s[start], path.time_s[stop - 1]
            inside = any(begin_s < until and since < end_s for since, until in marked)
            if inside or (stop - start) < settings.lay_s * path.rate_hz:
                continue
            approach = judge_approach(path, start, stop, earliest, settings)
            side = approach.came_from or _side_left(path, earliest, gate)
            rest = _rest(path, start, stop, side, approach, gate, signals, settings)
            if rest.released or not _on_the_way(rest, shifts):
                rests.append(rest)
            earliest = stop
    return rests


def _on_the_way(rest: Rest, shifts: tuple[Shift, ...]) -> bool:
    """Whether it is a pause within a journey that ends in a gear."""
    return any(
        s.to_gear != NEUTRAL and s.end_s and s.start_s < rest.start_s and rest.end_s < s.end_s for s in shifts
    )  # fmt: skip


def _join(path: LeverPath, spans: tuple[tuple[int, int], ...]) -> list[tuple[int, int]]:
    joined: list[tuple[int, int]] = []
    for start, stop in spans:
        if joined:
            before = slice(joined[-1][0], joined[-1][1])
            between = slice(joined[-1][1], start)
            near = [np.median(v[before]) for v in (path.select_mm, path.engage_mm)]
            away = [np.abs(v[between] - m) for v, m in zip((path.select_mm, path.engage_mm), near, strict=True)]
            moved = max((float(a.max()) for a in away if a.size), default=0.0)
            if start - joined[-1][1] < ONE_REST_S * path.rate_hz and moved < ONE_REST_MM:
                joined[-1] = (joined[-1][0], stop)
                continue
        joined.append((start, stop))
    return joined


def _rest(
    path: LeverPath, start: int, stop: int, side: str | None, approach: Approach, gate: GateMap, signals: Signals,
    settings: Settings,
) -> Rest:  # fmt: skip
    select = float(np.median(path.select_mm[start:stop]))
    engage = float(np.median(path.engage_mm[start:stop]))
    begin_s, end_s = float(path.time_s[start]), float(path.time_s[stop - 1])
    plane = gate.layout.planes[int(np.argmin(np.abs(plane_centres(gate) - select)))].name
    centres = plane_centres(gate)
    ends_mm = (float(np.min(centres)), float(np.max(centres)))
    middle = (start + stop) // 2
    readings = [_offset(select, gate), *_return_figures(path, approach, select, middle, settings, ends_mm)]
    return Rest(
        start_s=begin_s, end_s=end_s, select_mm=select, engage_mm=engage, plane=plane, released=approach.released,
        came_from=side, in_bend=_in_bend(signals, begin_s, end_s, settings),
        manner=_manner(path, approach, select, readings[1:2]), moved_mm=approach.motion_mm,
        readings={r.key: r for r in readings},
    )  # fmt: skip


def _offset(select_mm: float, gate: GateMap) -> Reading:
    if gate.layout.home is None:
        return unmeasured("offset_mm", "this lever has no home plane")
    if not gate.slow_mm:
        return measured("offset_mm", select_mm)
    return measured("offset_mm", select_mm, uncertainty=gate.slow_mm)


def _side_left(path: LeverPath, earliest: int, gate: GateMap) -> str | None:
    """The side of the home plane on which the lever came out of gear, for a rest it made no move to."""
    if gate.layout.home is None or earliest == 0:
        return None
    select = float(path.select_mm[earliest])
    if abs(select) < gate.layout.plane_pitch_mm / 2:
        return None
    return "right" if select > 0 else "left"


def _in_bend(signals: Signals, start_s: float, end_s: float, settings: Settings) -> bool | None:
    body = signals.accel_vehicle.get("body")
    if body is None:
        return None
    inside = (body.time_s >= start_s) & (body.time_s <= end_s)
    if not inside.any():
        return None
    return bool(abs(float(np.mean(body.values[inside, 1]))) > settings.bend_mps2)


def _return_figures(
    path: LeverPath, approach: Approach, rest_mm: float, until: int, settings: Settings, ends_mm: tuple[float, float]
) -> list[Reading]:
    keys = ("return_time_s", "overshoot", "frequency_hz", "damping")
    if approach.motion_mm < settings.return_least_mm:
        return [unmeasured(k, "the lever moved less than 3 mm to this rest") for k in keys]
    if not approach.released:
        return [unmeasured(k, "the lever did not run to this rest by itself, as far as the log tells") for k in keys]
    struck = _struck_the_end(path, approach, until, ends_mm)
    return [
        _return_time(path, approach, rest_mm, until, settings),
        *_swing(approach, settings, path.noise_mm, struck=struck),
    ]


def _manner(path: LeverPath, approach: Approach, rest_mm: float, return_time: list[Reading]) -> str | None:
    """How the lever ran home, or None where it made no free run."""
    took = return_time[0].value
    if took is None or approach.extreme_s is None:
        return None
    ran = slice(path.index(approach.extreme_s), path.index(approach.extreme_s + took + SETTLES_S) + 1)
    side = 1.0 if approach.came_from == "right" else -1.0
    past_mm = float(np.max(side * (rest_mm - path.select_mm[ran]), initial=0.0))
    if past_mm > max(PAST_MM, 3 * path.noise_mm):
        return SWINGS
    return CREEPS if took > CREEPS_S else RUNS_IN


def _return_time(path: LeverPath, approach: Approach, rest_mm: float, until: int, settings: Settings) -> Reading:
    """From the let-go to staying within the band, of readings averaged until noise does not leave it."""
    assert approach.extreme_s is not None
    first = path.index(approach.extreme_s)
    count = max(round((path.noise_mm / STEADY_MM) ** 2 * max(SMOOTH_S * path.rate_hz, 1.0)), 1)
    blurs_s = (count - 1) / path.rate_hz
    if blurs_s > MOST_BLUR_S or until - first <= count:
        return unmeasured("return_time_s", TOO_NOISY.format(noise=path.noise_mm, band=settings.return_band_mm))
    # Where the band is left last depends on what noise is left: a little wider and a little narrower tell how far.
    away = np.abs(np.convolve(path.select_mm[first:until] - rest_mm, np.ones(count) / count, mode="valid"))
    left_mm = min(path.noise_mm, STEADY_MM)
    early, settled, late = (
        float(path.time_s[first + _last_outside(away, settings.return_band_mm + off)]) + blurs_s / 2
        for off in (left_mm, 0.0, -left_mm)
    )
    began, began_u = approach.extreme_s, TREMBLES_S
    free = approach.free
    if free is not None and abs(free.start_s - began) < 0.1 and _explains(free, path.noise_mm, approach.motion_mm):
        began, began_u = free.start_s, 0.0
    u = float(np.sqrt(max(1.5 / path.rate_hz, (late - early) / 2) ** 2 + (blurs_s / 2) ** 2 + began_u**2))
    return measured("return_time_s", max(settled - began, 0.0), uncertainty=u)


def _explains(free: FreeReturn, noise_mm: float, motion_mm: float) -> bool:
    """Whether a second-order return leaves no more unexplained than noise and dry friction do."""
    return bool(free.rms_mm <= np.hypot(noise_mm, BRAKED_SHARE * motion_mm))


def _last_outside(away_mm: np.ndarray, band_mm: float) -> int:
    """How many values there are up to the last one outside the band."""
    outside = np.flatnonzero(away_mm > band_mm)
    return int(outside[-1]) + 1 if outside.size else 0


def _struck_the_end(path: LeverPath, approach: Approach, until: int, ends_mm: tuple[float, float]) -> bool:
    """Whether the run came to the end of the gate, and is no free swing as the fit has it: a wall cuts it short."""
    free = approach.free
    if approach.extreme_s is None:
        return False
    ran = path.select_mm[path.index(approach.extreme_s) : until]
    reached = ran.min() < ends_mm[0] + END_MM if approach.came_from == "right" else ran.max() > ends_mm[1] - END_MM
    unlike = free is None or free.rms_mm > np.hypot(path.noise_mm, KINK_SHARE * approach.motion_mm)
    return bool(reached) and unlike


def _swing(approach: Approach, settings: Settings, noise_mm: float, *, struck: bool) -> list[Reading]:
    keys = ("overshoot", "frequency_hz", "damping")
    if approach.motion_mm < settings.swing_least_mm:
        return [unmeasured(k, "the lever moved less than 10 mm to this rest") for k in keys]
    if struck:
        return [unmeasured(k, "the lever ran against the end of the gate, which cuts its swing short") for k in keys]
    free = approach.free
    if free is None or not _explains(free, noise_mm, approach.motion_mm):
        return [unmeasured(k, "the return is no second-order swing: friction brakes it") for k in keys]
    if free.damping > MOST_SWING_DAMPING:
        return [unmeasured(k, "the lever does not swing: it creeps home ever more slowly") for k in keys]
    over = float(np.exp(-np.pi * free.damping / np.sqrt(1 - free.damping**2))) if free.damping < 1 else 0.0
    return [
        measured("overshoot", over),
        measured("frequency_hz", free.frequency_hz),
        measured("damping", free.damping),
    ]
