"""A workshop folder: cars, drives as they were given, and the results measured from them.

WORKSHOP/workshop.sqlite     cars, drives and results (SQLite in WAL mode)
WORKSHOP/drives/ID/NAME/     each drive folder as it was given, its profile one folder up where it lay there
WORKSHOP/cache/              arrays that can be made again at any time
"""

from dataclasses import dataclass
from pathlib import Path

from shiftlog.model.car import Car
from shiftlog.model.result import DriveResult


@dataclass(frozen=True, eq=False, kw_only=True)
class CarEntry:
    """A car of the workshop; profile : its ``car.toml`` as text; saved : UTC, ISO 8601."""

    id: str
    name: str
    profile: str
    saved: str


@dataclass(frozen=True, eq=False, kw_only=True)
class DriveEntry:
    """A drive of the workshop.

    id : stable, fit for a URL; name : the drive's own id from ``drive.toml``; car : the car's name
    added : UTC, ISO 8601; measured : whether there is a result
    """

    id: str
    name: str
    car: str
    stage: str | None
    driver: str | None
    started: str | None
    notes: str | None
    added: str
    folder: Path
    measured: bool


class Workshop:
    """Cars, drives and results in one folder. Safe to use from several threads and processes."""

    def __init__(self, root: Path) -> None:
        self.root = root

    @classmethod
    def open(cls, path: Path, *, create: bool = True) -> "Workshop":
        """Open the workshop in a folder, making it where there is none and ``create``. StoreError."""
        raise NotImplementedError

    def add_drive(self, folder: Path, *, progress=None) -> str:
        """Copy a drive folder into the workshop and return its id; known logs give the id they have."""
        raise NotImplementedError

    def drives(self) -> tuple[DriveEntry, ...]:
        """All drives, in the order they were added."""
        raise NotImplementedError

    def drive(self, drive_id: str) -> DriveEntry:
        """One drive. StoreError where there is none of that id."""
        raise NotImplementedError

    def drive_folder(self, drive_id: str) -> Path:
        """Where the drive's folder lies in the workshop. StoreError where there is none of that id."""
        raise NotImplementedError

    def save_result(self, drive_id: str, result: DriveResult) -> str:
        """Save a result, once, and return its id."""
        raise NotImplementedError

    def result(self, drive_id: str) -> DriveResult | None:
        """The result last saved for a drive, or None."""
        raise NotImplementedError

    def cars(self) -> tuple[CarEntry, ...]:
        """All cars, by name."""
        raise NotImplementedError

    def save_car(self, car: Car) -> str:
        """Save a car's profile under its name, replacing the one of that name; returns its id."""
        raise NotImplementedError
