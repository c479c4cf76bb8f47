"""What is made of a job: the client's page and the road-test card, from the drives the workshop has measured."""

from dashboard.library import Library
from shiftlog.errors import ShiftlogError, StoreError
from shiftlog.model.car import Car
from shiftlog.model.job import SIDES, Job
from shiftlog.model.result import DriveResult
from shiftlog.report.card import CardPlan, plan_card, side_of
from shiftlog.report.card_page import make_card
from shiftlog.report.content import Content, DriveUsed, make_content
from shiftlog.report.page import Wishes, make_page


def report_content(library: Library, job_id: int) -> Content:
    """The content of a job's page. StoreError where it has no drive, or one that is not measured."""
    version = library.jobs.job(job_id)
    sides = _sides(library, version.job)
    if not (sides["before"] or sides["after"]):
        raise StoreError(f"job {job_id}: has no drive before or after the work yet; choose its drives in the record")
    others = [(e.id, library.result(e.id)) for e in library.drives() if e.measured and e.car == version.job.car]
    history = [DriveUsed(id=drive_id, result=result) for drive_id, result in others if result is not None]
    limits = _car(library, version.job).limits
    return make_content(
        sides["before"], sides["after"], version, recheck=sides["recheck"], history=history, limits=limits
    )


def report_page(library: Library, job_id: int, wishes: Wishes) -> str:
    """The client's page. ShiftlogError, one line."""
    return make_page(report_content(library, job_id), wishes, library.jobs.small_photo)


def card_plan(library: Library, job_id: int, side: str | None) -> CardPlan:
    """The road-test card of a side, of the one the job has come to where None."""
    job = library.jobs.job(job_id).job
    sides = {name: [d.result for d in drives] for name, drives in _sides(library, job).items()}
    side = side or side_of(job)
    return plan_card(job, _car(library, job), sides[side], side=side, earlier=sides["before"])


def card_page(library: Library, job_id: int, *, side: str | None, language: str, speed: str) -> str:
    """The card to print. ShiftlogError, one line."""
    return make_card(card_plan(library, job_id, side), language=language, speed=speed)


def _car(library: Library, job: Job) -> Car:
    """The job's car, without a gate where its profile cannot be read."""
    try:
        car = library.car(job.car)
    except ShiftlogError:
        car = None
    return car or Car(name=job.car, gate=None)


def _sides(library: Library, job: Job) -> dict[str, list[DriveUsed]]:
    ids = {side: getattr(job, f"drives_{side}") for side in SIDES}
    return {side: [DriveUsed(id=one, result=_result(library, one)) for one in some] for side, some in ids.items()}


def _result(library: Library, drive_id: str) -> DriveResult:
    result, entry = library.result(drive_id), library.entry(drive_id)
    if result is None:
        name = entry.name if entry else drive_id
        raise StoreError(f"drive {name}: is not measured yet; open it and measure it, or take it out of the record")
    return result
