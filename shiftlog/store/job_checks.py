"""What a job's record cannot mean, told by its fields together, its car and its drives."""

from collections.abc import Iterator
from datetime import date, datetime, timedelta
from itertools import combinations

from shiftlog.errors import ShiftlogError
from shiftlog.ingest.drive_file import list_files
from shiftlog.model.car import NEUTRAL, REVERSE, Car
from shiftlog.model.job import SIDES, Job
from shiftlog.store.workshop import Workshop

_WORDS = {"before": "before the work", "after": "after the work", "recheck": "at the recheck"}


def find_nonsense(job: Job, workshop: Workshop, car: Car | None) -> list[str]:
    """One line for each thing that cannot be meant. car : None where its profile cannot be read"""
    return [*_shifts(job, car), *_twice(job), *_order(job, workshop), *_signed(job, workshop)]


def _shifts(job: Job, car: Car | None) -> Iterator[str]:
    known = set(car.gate.gears if car.gate else car.ratios) if car else set()
    for shift in job.shifts:
        gears = shift.split("-")
        if len(gears) == 2 and gears[0] == gears[1]:
            yield f"shifts: {shift} leads nowhere; write 2-3 for second to third"
        strange = [gear for gear in gears if known and gear not in {*known, REVERSE, NEUTRAL}]
        if strange:
            yield f"shifts: {shift}: {job.car} has no gear {strange[0]}; it has {', '.join(sorted(known))}"


def _twice(job: Job) -> Iterator[str]:
    for one, other in combinations(SIDES, 2):
        for drive in sorted(set(_ids(job, one)) & set(_ids(job, other))):
            yield f"drives_{other}: {drive} is a drive {_WORDS[one]} already; a drive belongs to one occasion"


def _ids(job: Job, side: str) -> tuple[str, ...]:
    return getattr(job, f"drives_{side}")


def _order(job: Job, workshop: Workshop) -> Iterator[str]:
    """Drives of a later occasion that began earlier."""
    begun = {side: [(_began(workshop, one), one) for one in _ids(job, side)] for side in SIDES}
    dated = {side: [(when, one) for when, one in some if when is not None] for side, some in begun.items()}
    for first, second in combinations(SIDES, 2):
        if dated[first] and dated[second]:
            (last, one), (early, other) = max(dated[first]), min(dated[second])
            if early < last:
                yield (
                    f"drives_{second}: {other} began {early:%Y-%m-%d %H:%M}, earlier than {one} {_WORDS[first]} "
                    f"({last:%Y-%m-%d %H:%M}); choose another, or correct `started` in its drive.toml"
                )


def _began(workshop: Workshop, drive_id: str) -> datetime | None:
    """When a drive began by its own file as it is now, in its own local time; None where nobody knows."""
    try:
        entry = workshop.drive(drive_id)
    except ShiftlogError:
        return None
    try:
        started = list_files(entry.folder).head.started
    except ShiftlogError:
        started = entry.started
    try:
        return datetime.fromisoformat(str(started)).replace(tzinfo=None)
    except ValueError:
        return None


def _signed(job: Job, workshop: Workshop) -> Iterator[str]:
    if not job.signed_on:
        return
    signed = date.fromisoformat(job.signed_on)
    if signed > date.today() + timedelta(days=1):
        yield f"signed_on: {job.signed_on} is yet to come; write the day it was signed"
    begun = [when for one in job.drives_before if (when := _began(workshop, one)) is not None]
    if begun and signed < min(begun).date():
        yield f"signed_on: {job.signed_on} is earlier than the first drive before the work ({min(begun):%Y-%m-%d})"
