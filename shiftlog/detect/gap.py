"""The drive gap: how long a shift takes the drive away, as longitudinal acceleration shows it."""

from dataclasses import dataclass

import numpy as np

from shiftlog.errors import CannotMeasure
from shiftlog.model.settings import Settings
from shiftlog.model.trace import Trace
from shiftlog.signal.crossing import find_crossings
from shiftlog.signal.filter import low_pass
from shiftlog.signal.resample import resample_evenly

CORNER_HZ, ORDER = 3.0, 2
BEFORE_S = (-0.6, -0.2)
MIDDLE_S = (-0.05, 0.05)
AFTER_S = (0.4, 1.2)
SHARE = 0.5

LEAST_RATE_HZ = 8.0
"""A 3 Hz low-pass needs more than two samples in its shortest period."""

MARGIN_S = 2.5
"""Acceleration is cut this far to either side: the levels after the gap, and the filter's own settling."""

LEAST_STEP_MPS2 = 0.3
"""A gap shallower than this cannot be told from slope and throttle (common practice, no source)."""

NOISE_STEPS = 4.0
"""The gap must be this many standard deviations of the low-passed noise deep on both sides."""

ROUNDS, SETTLED_S = 40, 0.002
"""Levels and crossings are found in turn until neither end moves by more than this."""

LONGEST_MOVE_S = 1.0
"""An end that runs further than this from where the ratio saw it belongs to something else."""


@dataclass(frozen=True, eq=False, kw_only=True)
class _Levels:
    """Acceleration before, in and after the gap [m/s²]."""

    before: float
    middle: float
    after: float


def find_drive_gap(
    accel_x: Trace, around: tuple[float, float], settings: Settings
) -> tuple[float, float] | None:
    """Start and end of the drive gap near ``around`` (start_s, end_s) [drive time, s], or None.

    accel_x : longitudinal acceleration (n,), or (n, 3) in vehicle axes [m/s²]
    """
    try:
        return locate_drive_gap(accel_x, around, settings)
    except CannotMeasure:
        return None


def locate_drive_gap(accel_x: Trace, around: tuple[float, float], settings: Settings) -> tuple[float, float]:
    """As ``find_drive_gap``. CannotMeasure, with the reason, where there is no gap to be seen."""
    time_s, accel, noise = _cut(accel_x, around)
    start, end = around
    for _ in range(ROUNDS):
        levels = _find_levels(time_s, accel, start, end)
        _check_levels(levels, noise)
        new_start, new_end = _find_ends(time_s, accel, start, end, levels)
        moved = max(abs(new_start - start), abs(new_end - end))
        start, end = (start + new_start) / 2, (end + new_end) / 2
        if max(around[0] - start, end - around[1], start - around[1], around[0] - end) > LONGEST_MOVE_S:
            break
        if moved < SETTLED_S:
            return float(new_start), float(new_end)
    raise CannotMeasure("the drive falls away and comes back too gradually for a gap to be marked off")


def _cut(accel_x: Trace, around: tuple[float, float]) -> tuple[np.ndarray, np.ndarray, float]:
    """Low-passed acceleration about the shift on an even grid, and the noise left in it."""
    if accel_x.rate_hz < LEAST_RATE_HZ:
        raise CannotMeasure(
            f"acceleration comes {accel_x.rate_hz:.1f} times a second; a drive gap needs {LEAST_RATE_HZ:.0f} or more"
        )
    span = next((s for s in accel_x.spans if s[0] <= around[0] + BEFORE_S[0] and s[1] >= around[1] + AFTER_S[1]), None)
    if span is None:
        raise CannotMeasure("acceleration has a hole or an end at this shift")
    first, last = max(span[0], around[0] - MARGIN_S), min(span[1], around[1] + MARGIN_S)
    values = accel_x.values if accel_x.values.ndim == 1 else accel_x.values[:, 0]
    near = slice(*np.searchsorted(accel_x.time_s, (first - 1.0, last + 1.0)))
    rate_hz = max(accel_x.rate_hz, 100.0)
    low, high = max(first - 1.0, span[0]), min(last + 1.0, span[1])
    time_s, even = resample_evenly(
        accel_x.time_s[near], values[near], rate_hz=rate_hz, start_s=low, end_s=high
    )
    smooth = low_pass(even, rate_hz, CORNER_HZ, order=ORDER)
    noise = float(np.std(even - smooth)) * np.sqrt(2 * CORNER_HZ / accel_x.rate_hz)
    return time_s, smooth, noise


def _find_levels(time_s: np.ndarray, accel: np.ndarray, start: float, end: float) -> _Levels:
    middle = (start + end) / 2
    return _Levels(
        before=_median(time_s, accel, start, BEFORE_S),
        middle=_median(time_s, accel, middle, MIDDLE_S),
        after=_median(time_s, accel, end, AFTER_S),
    )


def _median(time_s: np.ndarray, accel: np.ndarray, at_s: float, window: tuple[float, float]) -> float:
    inside = (time_s >= at_s + window[0] - 1e-9) & (time_s <= at_s + window[1] + 1e-9)
    if not inside.any():
        raise CannotMeasure("acceleration has a hole or an end at this shift")
    return float(np.median(accel[inside]))


def _check_levels(levels: _Levels, noise: float) -> None:
    """Whether the drive goes away and comes back, the same way round, by more than noise and slope."""
    falls, rises = levels.before - levels.middle, levels.after - levels.middle
    least = max(LEAST_STEP_MPS2, NOISE_STEPS * noise)
    if min(abs(falls), abs(rises)) < least or falls * rises < 0:
        raise CannotMeasure(
            f"acceleration does not leave and return by {least:.1f} m/s² here (braking, a gentle shift, or the throttle "
            "closed afterwards), so no drive gap stands out"
        )


def _find_ends(
    time_s: np.ndarray, accel: np.ndarray, start: float, end: float, levels: _Levels
) -> tuple[float, float]:
    """First crossing of the 50 % level on the way to the middle, and on the way back."""
    falling = levels.before > levels.middle
    middle = (start + end) / 2
    down = levels.middle + SHARE * (levels.before - levels.middle)
    back = levels.middle + SHARE * (levels.after - levels.middle)
    outs = find_crossings(time_s, accel, down, rising=not falling)
    ins = find_crossings(time_s, accel, back, rising=falling)
    outs = outs[(outs >= start + BEFORE_S[0]) & (outs <= middle)]
    ins = ins[(ins >= middle) & (ins <= end + AFTER_S[1])]
    if not outs.size or not ins.size:
        raise CannotMeasure("acceleration does not cross half its step on both sides of the shift")
    return float(outs[0]), float(ins[0])
