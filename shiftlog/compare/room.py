"""Room beyond what a gear wants is there to be given: a turn of a cable takes it from one gear for another."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

from shiftlog.cables.clearance import wanted_clearance
from shiftlog.compare.kinds import ALL
from shiftlog.model.comparison import Row
from shiftlog.model.told import tell

ROOM = "clearance_mm"


def guard_room(rows: Sequence[Row], limits: Mapping[str, object]) -> tuple[Row, ...]:
    """A gear that has what is wanted before and after is as it was, whatever room it gave or got.

    limits : ``[limits]`` of the car's profile, of which ``clearance_mm`` counts
    """
    gears = {row.group for row in rows if row.measure == ROOM and row.group != ALL}
    wanted = {gear: wanted_clearance(limits, gear) for gear in gears}
    if wanted:
        wanted[ALL] = max(wanted.values())
    return tuple(_guard(row, wanted[row.group]) if row.measure == ROOM and wanted else row for row in rows)


def _guard(row: Row, wanted_mm: float) -> Row:
    if row.verdict not in ("better", "worse") or min(row.before, row.after) - _doubt(row) < wanted_mm:
        return row
    but = tell("guard.room", f"both before and after there are {wanted_mm:g} mm or more, as wanted", wanted=wanted_mm)
    return replace(row, verdict="same", why=f"{row.why}; but {but}", taken_back=but)


def _doubt(row: Row) -> float:
    """Half the interval of the difference: one side by itself is known no worse."""
    return (row.ci_high - row.ci_low) / 2
