"""What repeat drives say of a setup: the drives to choose from, what those chosen show, and the words for it."""

from dashboard.library import DriveEntry, Library
from shiftlog.compare.gauge_words import GaugeLine, count_classes, gauge_lines, rank_gauge, say_gauge, say_pooled
from shiftlog.compare.repeat_plan import UNNAMED
from shiftlog.compare.repeatability import measure_setup
from shiftlog.compare.words import say_size
from shiftlog.errors import ShiftlogError, StoreError
from shiftlog.model.repeatability import SetupWorth

__all__ = [
    "UNNAMED", "GaugeLine", "by_cell", "count_classes",
    "first_choice", "gauge_lines", "measured_by_car", "rank_gauge", "say_gauge",
    "say_pooled", "say_size", "setup_worth",
]  # fmt: skip

Cell = tuple[str, str]
"""Stage and driver."""


def measured_by_car(library: Library) -> dict[str, list[DriveEntry]]:
    """The measured drives of each car, in the order they were added."""
    cars: dict[str, list[DriveEntry]] = {}
    for entry in library.drives():
        if entry.measured and library.result(entry.id) is not None:
            cars.setdefault(entry.car, []).append(entry)
    return cars


def by_cell(entries: list[DriveEntry]) -> dict[Cell, list[DriveEntry]]:
    """Drives by stage and driver, as a study takes them."""
    cells: dict[Cell, list[DriveEntry]] = {}
    for entry in entries:
        cells.setdefault((entry.stage or UNNAMED, entry.driver or UNNAMED), []).append(entry)
    return cells


def first_choice(cars: dict[str, list[DriveEntry]]) -> tuple[str, ...]:
    """The drives of the car with most repeats, where nothing was chosen yet."""

    def repeats(car: str) -> int:
        return sum(len(some) - 1 for some in by_cell(cars[car]).values())

    return tuple(entry.id for entry in cars[max(cars, key=repeats)]) if cars else ()


def setup_worth(library: Library, drive_ids: tuple[str, ...]) -> SetupWorth:
    """What the chosen drives show. ShiftlogError where they cannot be taken together."""
    results = [library.result(drive_id) for drive_id in drive_ids]
    lost = [drive_id for drive_id, result in zip(drive_ids, results, strict=True) if result is None]
    if lost:
        raise StoreError(f"{', '.join(lost)}: no drive of that name is measured; choose among those below")
    return measure_setup([r for r in results if r is not None], limits=_limits(library, results[0].car))


def _limits(library: Library, name: str) -> dict[str, object]:
    """``[limits]`` of the car's profile, none where it cannot be read."""
    try:
        car = library.car(name)
    except ShiftlogError:
        return {}
    return dict(car.limits) if car else {}
