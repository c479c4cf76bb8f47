"""Repeat drives: drives of one car and one stage, between which nothing was changed."""

from collections.abc import Sequence

from shiftlog.compare.past import Past
from shiftlog.compare.same_drive import shared_log
from shiftlog.model.result import DriveResult
from shiftlog.model.told import tell


def find_repeats(drives: Sequence[DriveResult], *, without: Sequence[DriveResult] = ()) -> list[list[DriveResult]]:
    """Groups of two or more drives of one car, stage and driver, in order of first appearance.

    without : drives that are being compared, which tell their own spread already
    """
    taken = list(without)
    groups: dict[tuple[str, ...], list[DriveResult]] = {}
    for result in drives:
        if result.head.stage is None or any(_is_same(result, one) for one in taken):
            continue
        taken.append(result)
        groups.setdefault((result.car, result.head.stage, result.head.driver or ""), []).append(result)
    return [group for group in groups.values() if len(group) > 1]


def choose_repeats(
    drives: Sequence[DriveResult], *, car: str, without: Sequence[DriveResult]
) -> tuple[Past[list[DriveResult]], str | None]:
    """Repeat drives of this car, else those of the workshop's other cars, and then a sentence that says so."""
    groups = find_repeats(drives, without=without)
    own = [group for group in groups if group[0].car == car]
    if own or not groups:
        return Past(groups=own), None
    cars = ", ".join(sorted({group[0].car for group in groups}))
    said = (
        f"how much drives differ with nothing changed is known from other cars only ({cars}): it counts little, and "
        "makes no verdict firm"
    )
    return Past(groups=groups, of_others=True), tell("caveat.other_cars", said, cars=cars)


def _is_same(one: DriveResult, other: DriveResult) -> bool:
    """By their logs, or by their names where no logs are told."""
    if one.inputs or other.inputs:
        return shared_log(one, other) is not None
    return (one.car, one.head.id) == (other.car, other.head.id)
