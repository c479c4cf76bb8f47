"""The drives of one visit, and all that is known of the car at it."""

from dashboard.library import Library
from shiftlog.errors import ShiftlogError
from shiftlog.findings.case import Case
from shiftlog.model.cables import CableAdvice
from shiftlog.model.result import DriveResult
from shiftlog.model.seats import SeatReport


def drives_of_visit(library: Library, drive_id: str) -> tuple[str, ...]:
    """Ids of all drives of the car at the same visit, this one among them, in the order they were added."""
    own = library.entry(drive_id)
    same = [e for e in library.drives() if own is not None and (e.car, e.stage) == (own.car, own.stage)]
    return tuple(entry.id for entry in same)


def read_case(library: Library, drive_id: str, result: DriveResult) -> Case:
    """A drive with its seats, and with the guided tests and clearances of its whole visit."""
    ids = drives_of_visit(library, drive_id)
    measured = [(one, found) for one in ids if (found := library.result(one)) is not None]
    cables = _clearances(library, measured)
    return Case(
        result=result, cables=cables if isinstance(cables, CableAdvice) else None, seats=_seats(library, drive_id),
        cables_why=cables if isinstance(cables, str) else None,
        guided=tuple(test for _, found in measured for test in found.guided),
    )  # fmt: skip


def _clearances(library: Library, measured: list[tuple[str, DriveResult]]) -> CableAdvice | str | None:
    """Of the last drive of the visit that holds a clearance test, or why it says nothing."""
    tested = [one for one, found in measured if any(test.kind == "clearance" for test in found.tests)]
    return library.cables(tested[-1]) if tested else None


def _seats(library: Library, drive_id: str) -> SeatReport | None:
    try:
        seats = library.seats(drive_id)
    except ShiftlogError:
        return None
    return seats if isinstance(seats, SeatReport) else None
