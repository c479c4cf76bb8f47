"""A workshop folder: cars, drives as they were given, and the results measured from them.

WORKSHOP/workshop.sqlite     cars, drives, results and jobs (SQLite in WAL mode)
WORKSHOP/drives/ID/NAME/     each drive folder as it was given, its profile one folder up where it lay there
WORKSHOP/photos/             photos of jobs, by their fingerprint
WORKSHOP/prompted/           marks of guided tests as devices prompted them, until they are pasted
WORKSHOP/cache/              arrays that can be made again at any time
"""

import hashlib
import json
import shutil
import sqlite3
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from importlib.resources import files
from pathlib import Path

from shiftlog.errors import StoreError, UnreadResult
from shiftlog.ingest.car_file import read_car, write_car
from shiftlog.ingest.drive_file import DRIVE_FILE, DriveFiles, list_files
from shiftlog.model.car import Car
from shiftlog.model.result import DriveResult
from shiftlog.store.cache import ArrayCache
from shiftlog.store.document import document_text, document_to_result, result_to_document

REGISTER = "workshop.sqlite"
BUSY_S = 10.0


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
        register = path / REGISTER
        if not register.is_file() and not create:
            raise StoreError(f"{path}: is no workshop; `shiftlog serve --workshop {path}` makes one")
        workshop = cls(path)
        try:
            path.mkdir(parents=True, exist_ok=True)
            workshop._prepare()
        except (OSError, sqlite3.DatabaseError) as error:
            raise StoreError(f"{register}: cannot be opened as a workshop ({error}); give another folder") from error
        return workshop

    @property
    def cache(self) -> ArrayCache:
        """Arrays made from logs."""
        return ArrayCache(self.root / "cache")

    def add_drive(self, folder: Path) -> str:
        """Copy a drive folder into the workshop and return its id; known logs give the id they have."""
        given = list_files(folder)
        logs = _fingerprint(given)
        with self.register() as db:
            known = db.execute("SELECT id FROM drive WHERE logs = ?", (logs,)).fetchone()
        if known:
            return known["id"]
        car = read_car(given.profile) if given.profile else None
        place = self._copy_in(given, logs[:12])
        row = {
            "id": logs[:12], "logs": logs, "name": given.head.id, "car": car.name if car else "car not named",
            "stage": given.head.stage, "driver": given.head.driver, "started": given.head.started,
            "notes": given.head.notes, "folder": place.relative_to(self.root).as_posix(), "added": _now(),
        }  # fmt: skip
        with self.register() as db:
            names = ", ".join(row)
            marks = ", ".join(f":{name}" for name in row)
            db.execute(f"INSERT OR IGNORE INTO drive ({names}) VALUES ({marks})", row)
        if car:
            self._keep_car(car, replace=False)
        return row["id"]

    def drives(self) -> tuple[DriveEntry, ...]:
        """All drives, in the order they were added."""
        with self.register() as db:
            return tuple(self._entry(row) for row in db.execute("SELECT * FROM drive ORDER BY added, rowid"))

    def drive(self, drive_id: str) -> DriveEntry:
        """One drive. StoreError where there is none of that id."""
        with self.register() as db:
            row = db.execute("SELECT * FROM drive WHERE id = ?", (drive_id,)).fetchone()
        if row is None:
            raise StoreError(f"drive {drive_id}: is not in the workshop {self.root}; add its folder first")
        return self._entry(row)

    def drive_folder(self, drive_id: str) -> Path:
        """Where the drive's folder lies in the workshop. StoreError where there is none of that id."""
        return self.drive(drive_id).folder

    def save_result(self, drive_id: str, result: DriveResult) -> str:
        """Save a result, once, and return its id: the same drive, logs, settings and version give the same one."""
        self.drive(drive_id)
        document = document_text(result_to_document(result), indent=None)
        result_id = hashlib.sha256(f"{drive_id}\n{document}".encode()).hexdigest()
        with self.register() as db:
            db.execute(
                "INSERT OR IGNORE INTO result (id, drive, version, made, document) VALUES (?, ?, ?, ?, ?)",
                (result_id, drive_id, result.version, _now(), document),
            )
            db.execute("UPDATE drive SET shown = ? WHERE id = ?", (result_id, drive_id))
        return result_id

    def result(self, drive_id: str) -> DriveResult | None:
        """The result last saved for a drive, or None. UnreadResult where another version wrote it otherwise."""
        with self.register() as db:
            row = db.execute(
                "SELECT document FROM drive JOIN result ON result.id = drive.shown WHERE drive.id = ?", (drive_id,)
            ).fetchone()
        if row is None:
            return None
        try:
            return document_to_result(json.loads(row["document"]))
        except StoreError as error:
            raise UnreadResult(
                f"drive {drive_id}: its result was written by another version and cannot be read ({error}); measure it "
                "again"
            ) from error

    def cars(self) -> tuple[CarEntry, ...]:
        """All cars, by name."""
        with self.register() as db:
            rows = db.execute("SELECT * FROM car ORDER BY name").fetchall()
        return tuple(CarEntry(**{name: row[name] for name in ("id", "name", "profile", "saved")}) for row in rows)

    def save_car(self, car: Car) -> str:
        """Save a car's profile under its name, replacing the one of that name; returns its id."""
        return self._keep_car(car, replace=True)

    def _keep_car(self, car: Car, *, replace: bool) -> str:
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / "car.toml"
            write_car(car, path)
            profile = path.read_text(encoding="utf-8")
        otherwise = "REPLACE" if replace else "IGNORE"
        car_id = hashlib.sha256(car.name.encode()).hexdigest()[:12]
        with self.register() as db:
            db.execute(
                f"INSERT OR {otherwise} INTO car (id, name, profile, saved) VALUES (?, ?, ?, ?)",
                (car_id, car.name, profile, _now()),
            )
        return car_id

    def _copy_in(self, given: "DriveFiles", drive_id: str) -> Path:
        """Copy a drive's own files; into place at once, so that half a copy is never taken for a drive."""
        home = self.root / "drives" / drive_id
        if home.exists():
            return home / given.folder.name
        home.parent.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryDirectory(dir=home.parent) as beside:
            trial = Path(beside) / "drive" / given.folder.name
            trial.mkdir(parents=True)
            for file in (given.folder / DRIVE_FILE, *given.logs, *([given.profile] if given.profile else [])):
                target = (
                    trial / file.relative_to(given.folder)
                    if file.is_relative_to(given.folder)
                    else trial.parent / file.name
                )
                target.parent.mkdir(parents=True, exist_ok=True)
                shutil.copyfile(file, target)
            (Path(beside) / "drive").rename(home)
        return home / given.folder.name

    def _entry(self, row: sqlite3.Row) -> DriveEntry:
        same = ("id", "name", "car", "stage", "driver", "started", "notes", "added")
        return DriveEntry(
            **{name: row[name] for name in same}, folder=self.root / row["folder"], measured=row["shown"] is not None
        )

    def _prepare(self) -> None:
        with self.register() as db:
            db.execute("PRAGMA journal_mode = WAL")
            if not db.execute("SELECT 1 FROM sqlite_master WHERE name = 'job_version'").fetchone():
                db.executescript(files("shiftlog.store").joinpath("schema.sql").read_text(encoding="utf-8"))

    @contextmanager
    def register(self) -> Iterator[sqlite3.Connection]:
        """A connection of its own for each use, committed as a whole or not at all."""
        db = sqlite3.connect(self.root / REGISTER, timeout=BUSY_S)
        db.row_factory = sqlite3.Row
        try:
            with db:
                yield db
        finally:
            db.close()


def _fingerprint(given: DriveFiles) -> str:
    """sha256 over the sha256 of each log that is there, in order of name."""
    whole = hashlib.sha256()
    for log in sorted(given.logs):
        with log.open("rb") as file:
            whole.update(hashlib.file_digest(file, "sha256").digest())
    if not given.logs:
        whole.update(str(given.folder.resolve()).encode())
    return whole.hexdigest()


def _now() -> str:
    return datetime.now(UTC).isoformat(timespec="microseconds")
