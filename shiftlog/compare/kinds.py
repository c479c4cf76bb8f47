"""The kinds of shift."""

from collections.abc import Iterable

from shiftlog.model.shift import Shift
from shiftlog.model.told import tell

ALL = "all"
UNKNOWN = tell("kind.unknown", "gear unknown")
STANDING = "standing"


def kind_of(shift: Shift) -> str:
    """The kind of a shift: its gears, and apart from them standing, paused and rev-matched ones."""
    known = shift.from_gear or shift.to_gear
    words = [f"{shift.from_gear or '?'}-{shift.to_gear or '?'}" if known else UNKNOWN]
    if shift.standing:
        words.append(STANDING)
    elif shift.double_declutched:
        words.append("double-declutched")
    elif shift.paused:
        words.append("paused")
    if words == [UNKNOWN]:
        return UNKNOWN
    if len(words) == 1:
        return words[0]
    gears = tell("kind.unknown", UNKNOWN) if words[0] == UNKNOWN else words[0]
    return tell(f"kind.how_{words[1].replace('-', '_')}", " ".join(words), gears=gears)


def under_way(kinds: Iterable[str]) -> tuple[str, ...]:
    """The kinds not shifted at standstill, where a test or a wait decides how long it takes; all if none was."""
    kinds = tuple(kinds)
    return tuple(k for k in kinds if not k.endswith(f" {STANDING}")) or kinds
