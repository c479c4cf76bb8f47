"""Stays in gear: stretches in which one gear's ratio explains engine and vehicle speed."""

from dataclasses import dataclass, replace

import numpy as np

from shiftlog.detect.evidence import Evidence
from shiftlog.signal.crossing import find_runs

ENTER, LEAVE = 2.0, 3.5
"""Levels of hysteresis in standard deviations: a gear holds from within the first until beyond the second."""

HOLD_S = 0.3
"""A gear's ratio must be held this long; engine speed on its way to another gear sweeps through it faster."""

BRIDGE_S = 0.25
"""A shorter stay outside a gear's band is driveline swing or noise, not the clutch."""

SWEEP = 3.0
"""A stay whose ratio drifts by this many standard deviations from end to end came in on one side of the band and
went out on the other: engine and wheels were not coupled."""

IDLE_STAY_S = 2.0
"""A shorter stay with the engine near idle may be a car that coasts past the speed at which idle fits a gear."""

JUST_BEFORE_S, AT_IDLE = 1.0, 2.0
"""It counts all the same where the engine stood at idle, within so many standard deviations, just before and was then
drawn off it: an idle that is raised while the car rolls would have been raised just before as well."""

OFF_IDLE = 2.0
"""Idle explains such a stay worse than the gear does by this much in squared distance, in standard deviations."""

SHORT_S, SHORT_FIT = 0.6, 2.0
"""An engine that is blipped turns back near a gear's ratio and stays within its wide band for three or four samples of
a slow poll. A gear fits closer: the mean squared distance of so short a stay is one at the most, here twice that."""

AT_LIMITER = 0.03
"""Held by its limiter an engine turns evenly within this share of its redline (common practice, no source), whatever
gear the wheels' speed would fit: so short a stay there tells nothing. Beyond it the wheels must have driven it."""

IDLE_BETTER = 0.5
"""Idle explains a stay better than a gear if its squared distance, in standard deviations, is smaller by this …"""

CREEPING = 2
"""… in the lowest gears, in which cars creep at idle; in the others the gear has to be better by as much."""

BRIEF = 1.5
"""A gear seen in one sample of a slow signal lies at most this many standard deviations off. An engine that falls
freely lands so close to a gear's ratio in about one sample of ten."""

BRIEF_PERIODS = 5.5
"""A gear passed through stands between two stays at most this many waits apart."""

PULLED_UP = 1.3
"""An engine whose speed rises by this factor from one slow sample to the next while the car slows is driven by it."""


@dataclass(frozen=True, eq=False, kw_only=True)
class Stay:
    """A stretch in which one gear's ratio explains the samples; first and last are sample indices."""

    gear: int
    first: int
    last: int


def find_stays(evidence: Evidence) -> tuple[Stay, ...]:
    """Stays in gear in order of time: within the wide band throughout, within the narrow one long enough."""
    stays: list[Stay] = []
    bridge_s = max(BRIDGE_S, 1.2 * evidence.period_s)
    for gear in range(evidence.off_sigma.shape[1]):
        off = evidence.off_sigma[:, gear]
        for start, stop in find_runs(_bridge(np.abs(off) < LEAVE, evidence.time_s, bridge_s)):
            stay = _trim(gear, off, int(start), int(stop))
            if stay and _is_held(stay, evidence):
                stays.append(stay)
    ordered = _part(sorted(stays, key=lambda stay: stay.first))
    return tuple(_add_brief(ordered, evidence) if evidence.period_s > HOLD_S else ordered)


def _bridge(inside: np.ndarray, time_s: np.ndarray, longest_s: float) -> np.ndarray:
    """Short stretches outside, counted as inside where data go on."""
    bridged = inside.copy()
    for start, stop in find_runs(~inside):
        enclosed = start > 0 and stop < inside.size
        if enclosed and time_s[stop] - time_s[start - 1] <= longest_s:
            bridged[start:stop] = True
    return bridged


def _trim(gear: int, off: np.ndarray, start: int, stop: int) -> Stay | None:
    """From the first to the last sample within the narrow band, or None where none is."""
    core = start + np.flatnonzero(np.abs(off[start:stop]) < ENTER)
    return Stay(gear=gear, first=int(core[0]), last=int(core[-1])) if core.size else None


def _is_held(stay: Stay, evidence: Evidence) -> bool:
    """Whether the ratio was held: not swept through, and not passed by a car that coasts at idle."""
    span = slice(stay.first, stay.last + 1)
    time_s, off = evidence.time_s[span], evidence.off_sigma[span, stay.gear]
    known = np.isfinite(off)
    lasted_s = time_s[-1] - time_s[0]
    if lasted_s < HOLD_S - 0.5 * evidence.period_s or np.count_nonzero(known) < 2:
        return False
    if lasted_s < SHORT_S and (np.mean(off[known] ** 2) > SHORT_FIT or _is_limited(span, evidence)):
        return False
    if evidence.idling[span].all() and not _is_driven(stay, lasted_s, evidence):
        return False
    within = np.abs(off) < LEAVE
    slope = np.polyfit(time_s[within] - time_s[0], off[within], 1)[0]
    return bool(np.mean(np.abs(off) < ENTER) > 0.5 and abs(slope) * lasted_s < SWEEP)


def _is_limited(span: slice, evidence: Evidence) -> bool:
    """Whether the engine turned as fast as its limiter lets it."""
    redline_rpm = evidence.redline_rpm
    return redline_rpm is not None and bool(abs(np.median(evidence.rpm[span]) / redline_rpm - 1) < AT_LIMITER)


def _is_driven(stay: Stay, lasted_s: float, evidence: Evidence) -> bool:
    """Whether a gear explains a stay near idle better than an engine that idles does."""
    span = slice(stay.first, stay.last + 1)
    off, still = evidence.off_sigma[span, stay.gear], evidence.off_idle[span]
    known = np.isfinite(off)
    worse = float(np.mean(still[known] ** 2 - off[known] ** 2))
    if lasted_s < IDLE_STAY_S:
        return worse >= OFF_IDLE and _was_idling_before(stay, evidence)
    return worse >= (-IDLE_BETTER if stay.gear < CREEPING else IDLE_BETTER)


def _was_idling_before(stay: Stay, evidence: Evidence) -> bool:
    """Whether the engine stood at idle, for two samples or more, just before a stay."""
    since = np.searchsorted(evidence.time_s, evidence.time_s[stay.first] - JUST_BEFORE_S)
    return np.count_nonzero(np.abs(evidence.off_idle[since : stay.first]) < AT_IDLE) > 1


def _part(stays: list[Stay]) -> list[Stay]:
    """Stays that do not overlap: where bridging made two meet, the later begins after the earlier."""
    parted: list[Stay] = []
    for stay in stays:
        first = max(stay.first, parted[-1].last + 1) if parted else stay.first
        if first <= stay.last:
            parted.append(replace(stay, first=first))
    return parted


def _add_brief(stays: list[Stay], evidence: Evidence) -> list[Stay]:
    """With slow signals, a gear may show in one sample alone. It counts where it lies well inside the gear's band and

    - the gear lies between those before and after, close to both in time: passed through on the way, or
    - the engine was pulled up while the car slowed: the wheels did that, through a gear.
    """
    filled = list(stays[:1])
    for before, after in zip(stays[:-1], stays[1:], strict=True):
        brief = _find_brief(before, after, evidence)
        filled.extend((brief, after) if brief else (after,))
    return filled


def _find_brief(before: Stay, after: Stay, evidence: Evidence) -> Stay | None:
    rows = np.arange(before.last + 1, after.first)
    rows = rows[~evidence.idling[rows]]
    if not rows.size:
        return None
    gear = np.argmin(np.abs(evidence.off_sigma[rows]), axis=1)
    off = np.abs(evidence.off_sigma[rows, gear])
    lowest, highest = sorted((before.gear, after.gear))
    apart_s = evidence.time_s[after.first] - evidence.time_s[before.last]
    passed = (gear > lowest) & (gear < highest) & (apart_s <= BRIEF_PERIODS * evidence.period_s)
    rose = evidence.rpm[rows] > PULLED_UP * evidence.rpm[rows - 1]
    pulled = rose & (evidence.mps[rows] <= evidence.mps[rows - 1]) & (gear != before.gear) & (gear != after.gear)
    off = np.where(passed | pulled, off, np.inf)
    best = int(np.argmin(off))
    return Stay(gear=int(gear[best]), first=int(rows[best]), last=int(rows[best])) if off[best] < BRIEF else None
