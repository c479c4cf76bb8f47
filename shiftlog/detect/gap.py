"""The drive gap: how long a shift takes the drive away, as longitudinal acceleration shows it."""

from dataclasses import dataclass

import numpy as np
from scipy.signal import detrend

from shiftlog.errors import CannotMeasure
from shiftlog.model.reading import Reading, measured
from shiftlog.model.settings import Settings
from shiftlog.model.trace import Trace
from shiftlog.signal.crossing import find_crossings
from shiftlog.signal.filter import low_pass
from shiftlog.signal.resample import resample_evenly
from shiftlog.signal.robust import robust_sigma

LEAST_RATE_HZ = 8.0
"""A 3 Hz low-pass needs more than two samples in its shortest period."""

GRID_HZ = 100.0
"""Slower acceleration is put on a grid of this rate, so that crossings lie between close neighbours."""

MARGIN_S = 1.5
"""Acceleration is cut this far beyond the levels: room for the ends to move, and for the filter to settle."""

NO_DATA = "acceleration has a hole or an end at this shift"

NOISE_HZ = 10.0
"""Noise is read between the gap's own band and this; above it the engine shakes, which the low-pass takes out."""

NOISE_STEPS = 3.0
"""The gap must be this many standard deviations of the low-passed noise deep on both sides."""

ROUNDS, SETTLED_S = 40, 0.002
"""Levels and crossings are found in turn until neither end moves by more than this."""

LINGER_S = 0.6
"""A clutch that takes up slowly holds acceleration near a level for up to this long on each side."""

LONGEST_MOVE_S = 1.0
"""An end that runs further than this from where the ratio saw it belongs to something else."""


@dataclass(frozen=True, eq=False, kw_only=True)
class _Levels:
    """Acceleration before, in and after the gap [m/s²]."""

    before: float
    middle: float
    after: float


@dataclass(frozen=True, eq=False, kw_only=True)
class _Slow:
    """Low-passed longitudinal acceleration (n,) [m/s²] on an even grid, and the noise left in it."""

    time_s: np.ndarray
    accel: np.ndarray
    noise: float


def locate_drive_gap(accel_x: Trace, around: tuple[float, float], settings: Settings) -> tuple[float, float]:
    """Start and end of the drive gap near ``around`` (start_s, end_s) [drive time, s].

    accel_x : longitudinal acceleration (n,), or (n, 3) in vehicle axes [m/s²]
    CannotMeasure, with the reason, where there is no gap to be seen.
    """
    slow = _cut(accel_x, around, settings)
    start, end = around
    for _ in range(ROUNDS):
        levels = _find_levels(slow, start, end, settings)
        _check_levels(levels, slow.noise, settings)
        new_start, new_end = _find_ends(slow, start, end, levels, settings)
        moved = max(abs(new_start - start), abs(new_end - end))
        start, end = (start + new_start) / 2, (end + new_end) / 2
        if max(around[0] - start, end - around[1], start - around[1], around[0] - end) > LONGEST_MOVE_S:
            break
        if moved < SETTLED_S:
            return _plausible(new_start, new_end, settings)
    raise CannotMeasure("the drive falls away and comes back too gradually for a gap to be marked off")


def _plausible(start: float, end: float, settings: Settings) -> tuple[float, float]:
    if end - start > settings.gap_longest_s:
        raise CannotMeasure(
            f"the drive stayed away for {end - start:.1f} s, longer than a change of gear takes it away"
        )
    return start, end


def read_drive_gap(accel_x: Trace, gap: tuple[float, float], settings: Settings) -> Reading:
    """The length of a gap that was located there, with what sampling and the road leave uncertain of its two ends.

    A sample's share is rectangular (JCGM 100:2008, 4.3.7); the road moves a crossing by its shaking over the slope,
    and where acceleration lingers at the level, anywhere along it. A blow from the road may cross the level by itself:
    where what was crossed is not held, the end may lie anywhere up to where it is.
    """
    slow = _cut(accel_x, gap, settings)
    levels = _find_levels(slow, *gap, settings)
    # The half level moves with half the doubt of the two levels it lies between.
    shaking = np.sqrt(1.5) * max(slow.noise, _wander(slow, gap, settings))
    halves = ((levels.before + levels.middle) / 2, (levels.after + levels.middle) / 2)
    ends = [_doubt_of_end(slow, at, level, shaking) for at, level in zip(gap, halves, strict=True)]
    untils = ((gap[0] + gap[1]) / 2, gap[1] + settings.gap_after_s[1])
    late = [_held_late(slow, at, level, until) for at, level, until in zip(gap, halves, untils, strict=True)]
    u = float(np.sqrt(2 / 12) / accel_x.rate_hz)
    parts = (u, *ends, *np.divide(late, np.sqrt(3)))
    return measured("drive_gap_s", gap[1] - gap[0], uncertainty=float(np.linalg.norm(parts)), least=0.0)


def _wander(slow: _Slow, gap: tuple[float, float], settings: Settings) -> float:
    """How far acceleration wanders about a straight line before and after the gap [m/s²]."""
    (far, near), (soon, late) = settings.gap_before_s, settings.gap_after_s
    pieces = ((gap[0] - far, gap[0] - near), (gap[1] + soon, gap[1] + late))
    cuts = [slow.accel[slice(*np.searchsorted(slow.time_s, piece))] for piece in pieces]
    return float(np.sqrt(np.mean([detrend(cut).var() for cut in cuts if cut.size > 2] or [0.0])))


def _held_late(slow: _Slow, at_s: float, level: float, until_s: float) -> float:
    """How long after a crossing acceleration is, on the whole, back on the side it came from [s]; 0 where it never is.

    A swing about the level after it was crossed stays mostly beyond it; a blow is over sooner than what follows it.
    """
    first, last = np.searchsorted(slow.time_s, (at_s, until_s))
    side = np.sign(slow.accel[first:last] - level)
    if not side.size or side[0] == 0:
        return 0.0
    back = np.flatnonzero(np.cumsum(side * side[0]) < 0)
    if not back.size:
        return 0.0
    held = np.flatnonzero(side[back[0] :] == side[0])
    return float(slow.time_s[first + back[0] + (held[0] if held.size else 0)] - at_s)


def _doubt_of_end(slow: _Slow, at_s: float, level: float, shaking: float) -> float:
    near = slice(*np.searchsorted(slow.time_s, (at_s - LINGER_S, at_s + LINGER_S)))
    time, off = slow.time_s[near], slow.accel[near] - level
    at = int(np.clip(np.searchsorted(time, at_s), 1, time.size - 2))
    slope = abs(off[at + 1] - off[at - 1]) / (time[at + 1] - time[at - 1])
    beyond = np.flatnonzero(np.abs(off) >= shaking)
    before, after = beyond[beyond < at], beyond[beyond > at]
    first, last = (before[-1] if before.size else 0), (after[0] if after.size else time.size - 1)
    return max(shaking / max(slope, 1e-3), float(time[last] - time[first]) / 2)


def _cut(accel_x: Trace, around: tuple[float, float], settings: Settings) -> _Slow:
    """Low-passed acceleration about the shift on an even grid, and the noise left in it."""
    if accel_x.rate_hz < LEAST_RATE_HZ:
        raise CannotMeasure(
            f"acceleration comes {accel_x.rate_hz:.1f} times a second; a drive gap needs {LEAST_RATE_HZ:.0f} or more"
        )
    first, last = around[0] - settings.gap_before_s[0], around[1] + settings.gap_after_s[1]
    span = next((s for s in accel_x.spans if s[0] <= first and s[1] >= last), None)
    if span is None:
        raise CannotMeasure(NO_DATA)
    low, high = max(first - MARGIN_S, span[0]), min(last + MARGIN_S, span[1])
    near = slice(*np.searchsorted(accel_x.time_s, (low - 0.5, high + 0.5)))
    values = accel_x.values if accel_x.values.ndim == 1 else accel_x.values[:, 0]
    rate_hz = max(accel_x.rate_hz, GRID_HZ)
    time_s, even = resample_evenly(accel_x.time_s[near], values[near], rate_hz=rate_hz, start_s=low, end_s=high)
    smooth = low_pass(even, rate_hz, settings.gap_corner_hz, order=settings.gap_order)
    top_hz = min(NOISE_HZ, accel_x.rate_hz / 2)
    rest = low_pass(even, rate_hz, top_hz, order=settings.gap_order) - smooth
    share = settings.gap_corner_hz / max(top_hz - settings.gap_corner_hz, 0.5)
    return _Slow(time_s=time_s, accel=smooth, noise=float(robust_sigma(rest)) * np.sqrt(share))


def _find_levels(slow: _Slow, start: float, end: float, settings: Settings) -> _Levels:
    middle, half = (start + end) / 2, settings.gap_middle_s / 2
    before, after = settings.gap_before_s, settings.gap_after_s
    return _Levels(
        before=_median(slow, start - before[0], start - before[1]),
        middle=_median(slow, middle - half, middle + half),
        after=_median(slow, end + after[0], end + after[1]),
    )


def _median(slow: _Slow, first_s: float, last_s: float) -> float:
    if first_s < slow.time_s[0] or last_s > slow.time_s[-1]:
        raise CannotMeasure(NO_DATA)
    inside = slice(*np.searchsorted(slow.time_s, (first_s - 1e-9, last_s + 1e-9)))
    return float(np.median(slow.accel[inside]))


def _check_levels(levels: _Levels, noise: float, settings: Settings) -> None:
    """Whether the drive goes away and comes back, the same way round, by more than noise and slope."""
    if min(levels.before, levels.middle, levels.after) < settings.gap_brakes_mps2:
        raise CannotMeasure("the brakes were on at this shift, and braking hides a drive gap")
    falls, rises = levels.before - levels.middle, levels.after - levels.middle
    least = max(settings.gap_least_mps2, NOISE_STEPS * noise)
    if min(abs(falls), abs(rises)) < least or falls * rises < 0:
        raise CannotMeasure(
            f"acceleration does not leave and return by {least:.1f} m/s² here (braking, a gentle shift, or the "
            "throttle closed afterwards), so no drive gap stands out"
        )


def _find_ends(slow: _Slow, start: float, end: float, levels: _Levels, settings: Settings) -> tuple[float, float]:
    """First crossing of the 50 % level on the way to the middle, and on the way back."""
    falling = levels.before > levels.middle
    middle = (start + end) / 2
    out_level = levels.middle + settings.gap_share * (levels.before - levels.middle)
    in_level = levels.middle + settings.gap_share * (levels.after - levels.middle)
    outs = find_crossings(slow.time_s, slow.accel, out_level, rising=not falling)
    ins = find_crossings(slow.time_s, slow.accel, in_level, rising=falling)
    outs = outs[(outs >= start - settings.gap_before_s[0]) & (outs <= middle)]
    ins = ins[(ins >= middle) & (ins <= end + settings.gap_after_s[1])]
    if not outs.size or not ins.size:
        raise CannotMeasure("acceleration does not cross half its step on both sides of the shift")
    return float(outs[0]), float(ins[0])
