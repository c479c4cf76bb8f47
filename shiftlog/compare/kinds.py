"""The kinds of shift."""

from shiftlog.model.shift import Shift

ALL = "all"
UNKNOWN = "gear unknown"


def kind_of(shift: Shift) -> str:
    """The kind of a shift: its gears, and apart from them standing, paused and rev-matched ones."""
    known = shift.from_gear or shift.to_gear
    words = [f"{shift.from_gear or '?'}-{shift.to_gear or '?'}" if known else UNKNOWN]
    if shift.standing:
        words.append("standing")
    elif shift.double_declutched:
        words.append("double-declutched")
    elif shift.paused:
        words.append("paused")
    return " ".join(words)
