"""What drives are called in a comparison."""

from collections import Counter
from collections.abc import Sequence

from shiftlog.model.result import DriveResult


def name_drives(side: Sequence[DriveResult]) -> tuple[str, ...]:
    """The drives' own names; a second drive of the same name on a side is numbered, so that neither hides the other."""
    seen: Counter[str] = Counter()
    names = []
    for result in side:
        seen[result.head.id] += 1
        again = seen[result.head.id]
        names.append(result.head.id if again == 1 else f"{result.head.id} ({again})")
    return tuple(names)
