"""When the drives of both sides were driven: sides the wrong way round, and a single day a side."""

from collections.abc import Sequence

from shiftlog.model.result import DriveResult
from shiftlog.model.told import Told, tell

BEFORE, AFTER = "before", "after"


def say_swapped(before: Sequence[DriveResult], after: Sequence[DriveResult]) -> Told | None:
    """That the drives' own stages, or their days, say the sides are the wrong way round; else None."""
    if any(r.head.stage == AFTER for r in before) and any(r.head.stage == BEFORE for r in after):
        said = "drives of stage after stand before the work, and of stage before after it: are the sides right?"
        return tell("caveat.swapped_stages", said)
    days = _days(before), _days(after)
    if all(days) and min(days[0]) > max(days[1]):
        said = "all drives after the work are of earlier days than those before it: are the sides right?"
        return tell("caveat.swapped_days", said)
    return None


def say_one_day(before: Sequence[DriveResult], after: Sequence[DriveResult]) -> Told | None:
    """That several drives a side share one day and the other side has another one; else None."""
    days = _days(before), _days(after)
    if min(len(before), len(after)) < 2 or [len(d) for d in days] != [1, 1] or days[0] == days[1]:
        return None
    said = "each side was driven on a single day: whatever else differs between the two days looks like the repair"
    return tell("caveat.one_day", said)


def _days(side: Sequence[DriveResult]) -> set[str]:
    """The days of a side as YYYY-MM-DD; none where a drive does not say."""
    days = {str(r.head.started)[:10] if r.head.started else "" for r in side}
    return set() if "" in days else days
