"""What a drive can show of the lever's journeys: a gear in which the clutch never closed did not drive."""

from collections.abc import Sequence
from dataclasses import replace

from shiftlog.model.shift import Shift
from shiftlog.synth.scenario import SynthDrive
from shiftlog.synth.true_gap import true_gap
from shiftlog.synth.vehicle import STEP_S

CLOSED = 0.5
"""Clutch travel below which a gear drives."""


def join_undriven(drive: SynthDrive, shifts: Sequence[Shift]) -> list[Shift]:
    """Journeys of the lever, those joined between which no gear drove: a hand that caught the wrong gear and went on
    makes one change of gear, which ends where the last journey does, and one drive gap."""
    joined: list[Shift] = []
    for shift in shifts:
        last = joined[-1] if joined else None
        if last and last.end_s and last.to_gear == shift.from_gear and not _drove(drive, last.end_s, shift.start_s):
            joined[-1] = _join(drive, last, shift)
        else:
            joined.append(shift)
    return joined


def _join(drive: SynthDrive, first: Shift, last: Shift) -> Shift:
    gap = None if last.end_s is None else true_gap(drive.motion, first.start_s, last.end_s)
    return replace(first, to_gear=last.to_gear, end_s=last.end_s, outcome=last.outcome, gap=gap)


def _drove(drive: SynthDrive, start_s: float, end_s: float) -> bool:
    span = drive.motion.clutch[int(start_s / STEP_S) : int(end_s / STEP_S) + 1]
    return bool(span.size and span.min() < CLOSED)
