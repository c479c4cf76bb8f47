"""Drives for a report: those of a job from its workshop, or folders and result files as they are named."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from pathlib import Path

from shiftlog.errors import LogError, ShiftlogError, StoreError
from shiftlog.ingest.car_file import read_car
from shiftlog.ingest.drive_file import DRIVE_FILE, list_files
from shiftlog.model.car import Car
from shiftlog.model.drive import Drive
from shiftlog.model.job import SIDES, Job
from shiftlog.model.result import DriveResult
from shiftlog.model.settings import Settings
from shiftlog.pipeline import load_drive, measure_drive
from shiftlog.report.content import DriveUsed
from shiftlog.store.profiles import kept_profile, read_kept_car
from shiftlog.store.workshop import Workshop

Progress = Callable[[str], None]


def drives_of_job(workshop: Workshop, job: Job, *, progress: Progress) -> dict[str, list[DriveUsed]]:
    """The job's drives by side, each with its result; those without one are measured now. StoreError."""
    ids = {side: getattr(job, f"drives_{side}") for side in SIDES}
    return {side: [_used(workshop, drive_id, progress) for drive_id in some] for side, some in ids.items()}


def history_of(workshop: Workshop, job: Job) -> list[DriveUsed]:
    """Every measured drive of the job's car: repeats among them tell how much drives differ with nothing changed."""
    measured = [(e.id, workshop.result(e.id)) for e in workshop.drives() if e.measured and e.car == job.car]
    return [DriveUsed(id=drive_id, result=result) for drive_id, result in measured if result is not None]


def limits_of(workshop: Workshop, job: Job) -> dict[str, object]:
    """What the car's profile accepts; nothing where the workshop has no such car any more."""
    try:
        return dict(read_kept_car(workshop, job.car).limits)
    except ShiftlogError:
        return {}


def limits_beside(drives: Sequence[Path]) -> dict[str, object]:
    """``[limits]`` of the first profile beside these drives; nothing where there is none."""
    folders = [path.parent if path.name == DRIVE_FILE else path for path in drives]
    profiles = [profile for folder in folders if folder.is_dir() and (profile := list_files(folder).profile)]
    return dict(read_car(profiles[0]).limits) if profiles else {}


def _used(workshop: Workshop, drive_id: str, progress: Progress) -> DriveUsed:
    result = workshop.result(workshop.drive(drive_id).id)
    if result is None:
        result = measure_kept(workshop.drive_folder(drive_id), workshop, progress=progress)
        workshop.save_result(drive_id, result)
    return DriveUsed(id=drive_id, result=result)


def measure_kept(
    folder: Path, workshop: Workshop | None, *, settings: Settings | None = None, progress: Progress, logs: int = 0
) -> DriveResult:
    """Measure a drive's folder as the workshop would, with the profile its form keeps for the car.

    logs : how many logs are known to be usable; where fewer can be read, restarts of the recorder are accepted
    """
    drive = _load(folder, progress, logs)
    if workshop is not None:
        drive = replace(drive, car=kept_car(workshop, folder, drive.car))
    return measure_drive(drive, settings, progress=progress)


def kept_car(workshop: Workshop, folder: Path, car: Car) -> Car:
    """The profile that the pages look at a drive with: the form's of this car, else the one kept beside the drive.

    folder : of the drive in the workshop; car : as its logs were read
    """
    form, beside = kept_profile(workshop.root, car.name), list_files(folder).profile
    if form.is_file():
        return read_car(form)
    return read_car(beside) if beside else car


def _load(folder: Path, progress: Progress, logs: int) -> Drive:
    try:
        drive = load_drive(folder, progress=progress)
        if len(drive.placed) >= logs:
            return drive
    except LogError:
        if not logs:
            raise
    return load_drive(folder, allow_restart=True, progress=progress)


def read_settings(plain: Mapping[str, object]) -> Settings:
    """The settings a result was made with, as far as this version knows them. StoreError where one is damaged."""
    usual = Settings()
    given = {k: tuple(v) if isinstance(v, list) else v for k, v in plain.items() if hasattr(usual, k)}
    for key, value in given.items():
        if _kinds(value) != _kinds(getattr(usual, key)):
            raise StoreError(f"settings, {key}: {value!r} is damaged; give the page as it was made")
    return Settings(**given)


def _kinds(value: object) -> object:
    """Of what kind a setting is, whole numbers and others alike."""
    if isinstance(value, tuple):
        return [_kinds(one) for one in value]
    return float if type(value) is int else type(value)


def use_results(results: Sequence[DriveResult]) -> list[DriveUsed]:
    """Drives that lie in no workshop."""
    return [DriveUsed(id=None, result=result) for result in results]
