"""What lies between two stays in gear: a change of gear, a stay out of gear, or nothing."""

from dataclasses import dataclass

import numpy as np

from shiftlog.detect.evidence import Evidence
from shiftlog.detect.stays import Stay
from shiftlog.model.settings import Settings
from shiftlog.model.trace import Trace
from shiftlog.signal.crossing import find_runs
from shiftlog.signal.resample import hold_last

IDLE_FOR_S = 1.0
"""So long at idle away from every gear's ratio, the engine is not on its way to another gear."""

CLUTCH_S = 1.0
"""The clutch opens before the lever leaves a gear and closes after it is in the next: both together take up to about
this where the hand takes two seconds (common practice, no source), so the drive is gone that much longer than the lever
is in neutral. Between samples it looks longer by a wait on average; and of a change and a stay in neutral that look
alike the change is commoner."""

UNSURE_S = 0.5
"""Hands and feet take that much longer or shorter than usual, and a wrong gear caught on the way takes a way more: up
to here a change and a stay in neutral cannot be told apart."""

HELD_SHARE = 0.9
"""The clutch counts as held if it is down for this share of the time between two gears."""


@dataclass(frozen=True, eq=False, kw_only=True)
class Opening:
    """The stretch before, between or after stays.

    before, after : None where it begins or ends the log
    start_s : last sample whose ratio fits the old gear; end_s : first whose ratio fits the new one
    kind : ``passing`` (a change under way), ``held`` (clutch down all the while), ``neutral`` (no gear drives, engine
    idling), ``unsure`` (as neutral, hardly longer than a change, into another gear), ``stopped`` (the car stood in it),
    ``hole`` (data are missing), ``loose`` (long, and nothing tells why)
    take_up_s : last sample at idle before end_s, else end_s
    """

    before: Stay | None
    after: Stay | None
    start_s: float
    end_s: float
    kind: str
    take_up_s: float


def find_openings(
    stays: tuple[Stay, ...], evidence: Evidence, clutch: Trace | None, *, hole_s: float, settings: Settings
) -> list[Opening]:
    """The stretches about stays, in order of time; the log's own ends among them."""
    if not stays:
        return []
    return [
        _describe(before, after, evidence, clutch, hole_s=hole_s, settings=settings)
        for before, after in zip((None, *stays), (*stays, None), strict=True)
    ]


def _describe(
    before: Stay | None,
    after: Stay | None,
    evidence: Evidence,
    clutch: Trace | None,
    *,
    hole_s: float,
    settings: Settings,
) -> Opening:
    last = evidence.time_s.size - 1
    span = slice(before.last if before else 0, (after.first if after else last) + 1)
    time_s, mps = evidence.time_s[span], evidence.mps[span]
    idle_s = _last_idle(time_s, evidence.idling[span], evidence.period_s)
    kind = "passing"
    if np.diff(time_s).max(initial=0.0) > hole_s or np.isnan(mps).all():
        kind = "hole"
    elif np.nanmin(mps) < settings.standing_mps:
        kind = "stopped"
    elif np.isnan(mps).any():
        kind = "hole"
    elif (over_s := time_s[-1] - time_s[0] - evidence.period_s - settings.neutral_stay_s - CLUTCH_S) > 0:
        kind = _long_kind(time_s, clutch, idle_s)
        another = before is not None and after is not None and before.gear != after.gear
        kind = "unsure" if kind == "neutral" and clutch is None and another and over_s <= UNSURE_S else kind
    return Opening(
        before=before,
        after=after,
        start_s=float(time_s[0]),
        end_s=float(time_s[-1]),
        kind=kind,
        take_up_s=float(time_s[-1]) if idle_s is None else idle_s,
    )


def _long_kind(time_s: np.ndarray, clutch: Trace | None, idle_s: float | None) -> str:
    """A stretch too long for one change: clutch held, no gear driving, or not to be told."""
    if clutch is not None:
        at = np.linspace(time_s[0], time_s[-1], 50)
        down = np.mean(hold_last(clutch.time_s, clutch.values, at) > 0.5)
        return "held" if down >= HELD_SHARE else "neutral"
    return "loose" if idle_s is None else "neutral"


def _last_idle(time_s: np.ndarray, idling: np.ndarray, period_s: float) -> float | None:
    """Instant of the last sample of a stretch at idle long enough to count, or None.

    A sample stands for the wait after it, so that slow signals show a stretch of two samples as long as two waits.
    """
    found = None
    for start, stop in find_runs(idling):
        if stop - start > 1 and time_s[stop - 1] - time_s[start] + period_s >= IDLE_FOR_S:
            found = float(time_s[stop - 1])
    return found
