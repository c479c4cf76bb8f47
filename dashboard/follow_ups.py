"""The next clearance test of a car, and what came of the cables in between."""

from dashboard.library import DriveEntry, Library
from shiftlog.cables.follow_up import follow_up, turning_of
from shiftlog.errors import ShiftlogError
from shiftlog.model.cables import CableAdvice
from shiftlog.model.car import Car
from shiftlog.model.follow_up import FollowUp, Turning

NAMES = ("engage", "select")


def next_test(drive_id: str, library: Library) -> DriveEntry | None:
    """The first later drive of the same car that holds a clearance test, or None."""
    mine = library.entry(drive_id)
    if mine is None:
        return None
    entries = [entry for entry in library.drives() if entry.car == mine.car]
    later = entries[[entry.id for entry in entries].index(mine.id) + 1 :]
    if mine.started is not None and all(entry.started is not None for entry in entries):
        later = sorted((e for e in entries if (e.started or "") > mine.started), key=lambda e: e.started or "")
    return next((entry for entry in later if holds_test(entry.id, library)), None)


def holds_test(drive_id: str, library: Library) -> bool:
    """Whether a measured drive holds a clearance test."""
    result = library.result(drive_id)
    return result is not None and any(test.kind == "clearance" for test in result.tests)


def by_turns(car: Car) -> bool:
    """Whether the car's cables end in adjusters, so that what was done is counted in turns."""
    return car.cables.get("end") == "turn"


def follow(
    drive_id: str, later_id: str, amounts: tuple[float | None, float | None], library: Library
) -> FollowUp | str:  # fmt: skip
    """What came of turning both cables by so many turns, or of moving them by so many mm in their clamps."""
    before, after = library.cables(drive_id), library.cables(later_id)
    car = library.drive_car(later_id)
    for answer in (before, after):
        if isinstance(answer, str):
            return answer
    if car is None or not isinstance(before, CableAdvice) or not isinstance(after, CableAdvice):
        return "the logs of the later drive cannot be read any more"
    engage, select = (_turning(name, car, amount or 0.0) for name, amount in zip(NAMES, amounts, strict=True))
    try:
        return follow_up(
            before.clearances, after.clearances, (engage, select), car, coupling=before.coupling, scale=after.scale
        )  # fmt: skip
    except ShiftlogError as why:
        return str(why)


def _turning(name: str, car: Car, amount: float) -> Turning:
    return turning_of(name, car, turns=amount) if by_turns(car) else turning_of(name, car, mm=amount)
