"""Which repeat drives there are, by setup and driver, and which are missing for a gauge study."""

from collections import Counter
from collections.abc import Mapping, Sequence

from shiftlog.model.result import DriveResult

UNNAMED = "not named"
# Two of each are the least that show a spread (AIAG, Measurement Systems Analysis, 4th edition, chapter III).
LEAST = 2


def cell_of(result: DriveResult) -> tuple[str, str]:
    """Stage and driver of a drive: drives of one cell are repeats of one another."""
    return result.head.stage or UNNAMED, result.head.driver or UNNAMED


def count_cells(drives: Sequence[DriveResult]) -> dict[tuple[str, str], int]:
    """How many drives there are of each setup and driver, in order of first appearance."""
    return dict(Counter(cell_of(result) for result in drives))


def find_missing(counts: Mapping[tuple[str, str], int]) -> tuple[str, ...]:
    """What to drive before there is a gauge study: more setups, more drivers, more drives of one in the other."""
    setups, drivers = (tuple(dict.fromkeys(cell[i] for cell in counts)) for i in (0, 1))
    said = []
    if len(setups) < LEAST:
        said.append(f"a second setup: two drives or more of every driver at another stage than {setups[0]}")
    if len(drivers) < LEAST:
        name = "the same one, who is not named" if drivers[0] == UNNAMED else drivers[0]
        said.append(f"a second driver beside {name}: two drives or more in every setup")
    return (*said, *(_more(cell, counts.get(cell, 0)) for cell in _thin(setups, drivers, counts)))


def _thin(
    setups: Sequence[str], drivers: Sequence[str], counts: Mapping[tuple[str, str], int]
) -> list[tuple[str, str]]:
    return [(s, d) for s in setups for d in drivers if counts.get((s, d), 0) < LEAST]


def _more(cell: tuple[str, str], have: int) -> str:
    setup, driver = cell
    drives = "two drives" if have == 0 else "one more drive"
    return f"{drives} by driver {driver} at stage {setup}, where there {'is one' if have else 'is none'}"
