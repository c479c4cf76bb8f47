"""What belongs beside a finding of grinds: how many crashed through, and those that were not counted."""

from collections.abc import Sequence
from dataclasses import replace

from shiftlog.findings.trouble import GRIND, count, under_way
from shiftlog.measure.synchro import QUICK_MMPS, crashed_through
from shiftlog.model.result import Finding
from shiftlog.model.shift import Shift


def add_notes(finding: Finding, shifts: Sequence[Shift]) -> Finding:
    """A finding of grinds with its notes, any other as it is. shifts : all of the drive"""
    if not finding.rule.startswith(f"{GRIND.name} "):
        return finding
    named = [s for s in shifts if s.number in set(finding.shifts)]
    notes = (_of_crashes(named), _of_left_open(shifts), _of_gears_passed(shifts))
    return replace(finding, notes=tuple(note for note in notes if note))


def _of_crashes(ground: Sequence[Shift]) -> str:
    """How a grind and a crash-through hang together, for shifts that ground."""
    told = [crash for s in ground if (crash := crashed_through(s)) is not None]
    if not told:
        return (
            f"Whether these crashed through is not known: none was both quick ({QUICK_MMPS:.0f} mm/s and more at the "
            "lever) and seen to stand or not."
        )
    return (
        f"Of {len(ground)} grinds {len(told)} came of a quick hand, and {sum(told) or 'none'} of those crashed through "
        "(the lever did not stand first, as before a cone that grips no more). The others stood and ground all the "
        "same, or went in slowly: the cone gripped and was not done, or the clutch drags. Crash-through shares count "
        "quick shifts only."
    )


def _of_left_open(shifts: Sequence[Shift]) -> str:
    """Shifts in which a grind was neither found nor excluded, which flatter a share."""
    left_open = len(count(under_way(shifts), GRIND).left_open)
    if not left_open:
        return ""
    return (
        f"Left open: {_some(left_open, 'more shift')}, in which a grind was neither found nor excluded. Those that "
        "would add to the finding were taken for quiet ones in its test."
    )


def _of_gears_passed(shifts: Sequence[Shift]) -> str:
    """Grinds in shifts through several gears, which no count holds."""
    passed = [s for s in shifts if s.via and s.seen_by == "lever" and s.value(GRIND.name) is not None]
    bad = [s for s in passed if s.value(GRIND.name)]
    if not passed:
        return ""
    named = f": {', '.join(f'shift {s.number} into {s.to_gear}' for s in bad)}" if bad else ""
    return (
        f"Not counted: {_some(len(bad), 'grind')} in {_some(len(passed), 'shift')} through several gears{named}. Teeth "
        "of the gears passed through were not listened to."
    )


def _some(count: int, noun: str) -> str:
    return f"{count} {noun}" if count == 1 else f"{count} {noun}s"
