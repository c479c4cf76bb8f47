"""Sample times: their usual step, the holes between them, and the even times behind coarse stamps."""

from dataclasses import dataclass

import numpy as np

from shiftlog.signal.robust import MAD_TO_SIGMA

GAP_STEPS = 5.0
"""A hole begins at this many usual steps: what a filter can bridge ends about there (common practice, no source)."""

GAP_SIGMAS = 3.0
"""… and it must stand out of the recorder's own jitter."""

_HOLE_STEPS = 1.75
"""Nearer to two steps than to one, jitter allowed for: a sample is missing."""

_STEADY_SHARE = 0.4
"""Four steps in five lie this close together, against the usual step, in a recorder that keeps time."""

_REPEATS_SHARE = 0.02
"""Fewer repeated stamps than this are slips of single rows and no coarse clock."""

_FOLLOW_S = 0.25
_FOLLOW_TICKS = 20
"""Stamps are averaged over so long: enough for rounding to vanish, short against any drift of an oscillator."""


@dataclass(frozen=True, eq=False, kw_only=True)
class Ticks:
    """What the steps of a time axis say.

    rate_hz : mean rate where samples follow one another; jitter_s : standard deviation of the steps between gaps
    gap_after : indices of the samples after which a gap lies; missing : samples that should have been there
    """

    rate_hz: float
    jitter_s: float
    gap_after: np.ndarray
    missing: int


def measure_ticks(time_s: np.ndarray) -> Ticks:
    """Rate, jitter and gaps of strictly increasing times, (n,) [s], n ≥ 2."""
    steps = np.diff(time_s)
    usual = float(np.median(steps))
    spread = MAD_TO_SIGMA * float(np.median(np.abs(steps - usual)))
    is_gap = steps > max(GAP_STEPS * usual, usual + GAP_SIGMAS * spread)
    inside = steps[~is_gap]
    # Where jitter is of the order of a step, a long step need not mean a missing sample.
    low, high = np.percentile(steps, (10, 90))
    steady = high - low < _STEADY_SHARE * usual
    whole = inside[inside < _HOLE_STEPS * usual] if steady else inside
    holes = steps[steps >= _HOLE_STEPS * usual] if steady else steps[is_gap]
    mean = float(np.mean(whole)) if whole.size else usual
    return Ticks(
        rate_hz=1 / mean,
        jitter_s=float(np.std(inside)) if inside.size else 0.0,
        gap_after=np.flatnonzero(is_gap),
        missing=int(np.sum(np.round(holes / mean) - 1)),
    )


def find_spans(time_s: np.ndarray, gap_after: np.ndarray) -> tuple[tuple[float, float], ...]:
    """(start, end) of each stretch between gaps [same unit as ``time_s``]."""
    starts = np.concatenate(([0], gap_after + 1))
    ends = np.concatenate((gap_after, [time_s.size - 1]))
    return tuple((float(time_s[a]), float(time_s[b])) for a, b in zip(starts, ends, strict=True))


def is_coarse(time_s: np.ndarray) -> bool:
    """Whether equal stamps come from a clock that ticks more slowly than the recorder samples.

    time_s : (n,) not decreasing. True where stamps repeat often and the clock's tick is no shorter than half the
    mean step: then a repeated stamp is a sample of its own and no copy.
    """
    steps = np.diff(time_s)
    moving = steps[steps > 0]
    if moving.size == 0 or moving.size > (1 - _REPEATS_SHARE) * steps.size:
        return False
    # A low percentile, not the least: one odd stamp must not make the clock look fine.
    tick = float(np.percentile(moving, 2))
    mean = float(np.median(moving)) * moving.size / steps.size
    on_tick = np.abs(moving / tick - np.round(moving / tick)) < 0.02
    batches = moving.size / steps.size < 0.7
    return tick >= 0.5 * mean and (batches or float(np.mean(on_tick)) > 0.95)


def spread_evenly(time_s: np.ndarray) -> np.ndarray:
    """Strictly increasing times for coarse stamps: each stretch without a hole is laid on its own even rate.

    time_s : (n,) not decreasing, with repeats. The rate follows the stamps' means over a quarter of a second
    or more, so that a recorder whose rate wanders is followed, and rounding is not.
    """
    steps = np.diff(time_s)
    moving = steps[steps > 0]
    tick = float(np.median(moving))
    mean = float(np.mean(steps[steps < 3 * tick]))
    breaks = np.flatnonzero(steps > max(1.75 * tick, GAP_STEPS * mean)) + 1
    even = np.empty_like(time_s)
    for block in np.split(np.arange(time_s.size), breaks):
        even[block] = _even_block(time_s[block], mean, max(_FOLLOW_S, _FOLLOW_TICKS * tick))
    return even


def _even_block(stamps: np.ndarray, step: float, window_s: float) -> np.ndarray:
    count = stamps.size
    index = np.arange(count, dtype=float)
    length = max(int(round(window_s / step)), 2)
    if count < 2 * length:
        slope = _slope(index, stamps) if count >= length else step
        return stamps.mean() + (index - index.mean()) * (slope if slope > 0 else step)
    parts = np.array_split(np.arange(count), count // length)
    at = np.array([index[part].mean() for part in parts])
    level = np.array([stamps[part].mean() for part in parts])
    even = np.interp(index, at, level)
    first, last = index < at[0], index > at[-1]
    even[first] = level[0] + (index[first] - at[0]) * (level[1] - level[0]) / (at[1] - at[0])
    even[last] = level[-1] + (index[last] - at[-1]) * (level[-1] - level[-2]) / (at[-1] - at[-2])
    return even


def _slope(x: np.ndarray, y: np.ndarray) -> float:
    centred = x - x.mean()
    return float(np.dot(centred, y - y.mean()) / np.dot(centred, centred))
