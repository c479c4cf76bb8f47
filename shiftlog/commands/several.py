"""Several drives in one command: one that cannot be used does not stop the others."""

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TypeVar

from shiftlog.commands.exit_codes import UNUSABLE, USABLE, one_line
from shiftlog.commands.terminal import say
from shiftlog.errors import CannotMeasure, DriveError, LogError, ProfileError
from shiftlog.ingest.drive_file import DRIVE_FILE
from shiftlog.model.car import Car
from shiftlog.model.drive import Drive

T = TypeVar("T")


def for_each_drive(paths: Sequence[Path], work: Callable[[Path], T]) -> tuple[list[T], int]:
    """What ``work`` gave for each drive that could be used, and the exit code.

    One line on standard error for each drive that could not. A wrong profile sets the code to 2 even where other
    drives were usable.
    """
    given: list[T] = []
    profile_wrong = False
    for path in _named_once(paths):
        try:
            given.append(work(path))
        except (DriveError, LogError, CannotMeasure, ProfileError) as error:
            say(one_line(error))
            profile_wrong = profile_wrong or isinstance(error, ProfileError)
    return given, UNUSABLE if profile_wrong or not given else USABLE


def _named_once(paths: Sequence[Path]) -> list[Path]:
    """Each folder once, whether it is named by itself or by its drive.toml; one line for each that was named again."""
    once: dict[Path, Path] = {}
    for path in paths:
        folder = (path.parent if path.name == DRIVE_FILE else path).resolve()
        if folder in once:
            say(f"{path}: is given twice; it counts once")
        else:
            once[folder] = path
    return list(once.values())


def each_once(drives: Sequence[Drive]) -> list[Drive]:
    """Without drives whose logs were given before; one line on standard error for each that is left out.

    One that shares some of its logs with another is kept, and it is said.
    """
    kept: dict[tuple[str, ...], Drive] = {}
    for drive in drives:
        logs = _logs_of(drive)
        if logs in kept:
            say(_say_copy(drive, kept[logs]))
            continue
        for other, one in kept.items():
            if set(logs) & set(other):
                say(f"{drive.head.id}: shares logs with {one.head.id}; what they hold is counted twice")
        kept[logs] = drive
    return list(kept.values())


def _say_copy(drive: Drive, other: Drive) -> str:
    said = f"{drive.head.id}: holds the same logs as {other.head.id}, which count once"
    marked = {(t.kind, t.start_s, t.end_s) for t in drive.tests} - {(t.kind, t.start_s, t.end_s) for t in other.tests}
    return f"{said}; what is marked in {drive.head.id} alone does not count" if marked else said


def refuse_both_sides(before: Sequence[Drive], after: Sequence[Drive]) -> None:
    """DriveError where the same logs are given before and after."""
    for one in before:
        for other in after:
            if _logs_of(one) == _logs_of(other):
                raise DriveError(
                    f"{other.head.id} holds the same logs as {one.head.id}, which is given before: a test held against "
                    "itself shows no change; give the drives after it"
                )


def refuse_other_cars(cars: Sequence[Car]) -> None:
    """DriveError where cars differ by name or by their gates' planes."""
    names = sorted({car.name for car in cars})
    if len(names) > 1:
        raise DriveError(f"drives of different cars ({', '.join(names)}): give drives of one car at a time")
    gates = sorted({" ".join(plane.name for plane in car.gate.planes) for car in cars if car.gate})
    if len(gates) > 1:
        raise DriveError(
            f"profiles of {names[0]} with different gates ({'; '.join(gates)}): give drives of one car at a time, each "
            "with the car.toml of that car"
        )


def _logs_of(drive: Drive) -> tuple[str, ...]:
    return tuple(sorted(placed.recording.sha256 for placed in drive.placed))
