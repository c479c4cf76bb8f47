"""Jobs of a workshop: a change is another version, and every version stays readable as it was saved."""

import hashlib
import json
import sqlite3
from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

from shiftlog.errors import ShiftlogError, StoreError
from shiftlog.model.job import FIELD_OF, Job, JobVersion, Photo
from shiftlog.store.job_checks import find_nonsense
from shiftlog.store.job_values import check_text, find_changes, read_value
from shiftlog.store.photos import PREVIEW_PX, keep_photo, photo_bytes, shrink_photo
from shiftlog.store.plain import from_plain, to_plain
from shiftlog.store.profiles import read_kept_car
from shiftlog.store.workshop import Workshop

FORMAT = 1
Typed = str | Sequence[Sequence[str]]


class Jobs:
    """The jobs of one workshop. Safe to use from several threads and processes."""

    def __init__(self, workshop: Workshop) -> None:
        self._workshop = workshop

    @property
    def photo_folder(self) -> Path:
        """Where the photos lie."""
        return self._workshop.root / "photos"

    def all(self) -> tuple[JobVersion, ...]:
        """Every job in its newest version, the newest job first."""
        newest = "SELECT job, MAX(version) FROM job_version GROUP BY job"
        with self._workshop.register() as db:
            rows = db.execute(
                f"SELECT * FROM job_version WHERE (job, version) IN ({newest}) ORDER BY job DESC"
            ).fetchall()
        return tuple(self._version(row, sealed=True) for row in rows)

    def history(self, job_id: int) -> tuple[JobVersion, ...]:
        """All versions of a job, the first one first. StoreError where there is no such job."""
        with self._workshop.register() as db:
            rows = db.execute("SELECT * FROM job_version WHERE job = ? ORDER BY version", (job_id,)).fetchall()
        if not rows:
            raise StoreError(
                f"job {job_id}: is not in the workshop {self._workshop.root}; `shiftlog job list` lists them"
            )
        versions, seal = [], ""
        for row in rows:
            versions.append(self._version(row, sealed=_seal(seal, row) == row["seal"]))
            seal = row["seal"]
        return tuple(versions)

    def job(self, job_id: int, version: int | None = None) -> JobVersion:
        """A job in its newest version, or in an earlier one. StoreError where there is none."""
        versions = self.history(job_id)
        found = [v for v in versions if version in (None, v.version)]
        if not found:
            raise StoreError(f"job {job_id}: has no version {version}; it has 1 to {versions[-1].version}")
        return found[-1]

    def new(self, job: Job, *, by: str = "") -> JobVersion:
        """Begin a job; its number is the next one."""
        with self._workshop.register() as db:
            db.execute("BEGIN IMMEDIATE")
            job_id = db.execute("SELECT COALESCE(MAX(job), 0) + 1 FROM job_version").fetchone()[0]
            self._insert(db, job_id, 1, job, by)
        return self.job(job_id)

    def save(self, base: JobVersion, job: Job, *, by: str = "") -> JobVersion:
        """Save a job that was changed from a version; nothing is written where nothing changed.

        StoreError where somebody saved another version meanwhile: what he wrote must not be lost.
        """
        if job == base.job:
            return base
        self._refuse_nonsense(base.job, job)
        with self._workshop.register() as db:
            db.execute("BEGIN IMMEDIATE")
            last = db.execute("SELECT MAX(version) FROM job_version WHERE job = ?", (base.id,)).fetchone()[0]
            if last != base.version:
                raise StoreError(
                    f"job {base.id}: version {last} was saved meanwhile, yours began from {base.version}; "
                    "look at it, then enter your change again"
                )
            self._insert(db, base.id, base.version + 1, job, by)
        return self.job(base.id)

    def set(self, job_id: int, given: Mapping[str, Typed], *, by: str = "", seen: int | None = None) -> JobVersion:
        """Save typed fields, by key, as another version. StoreError names what is wrong; then nothing is saved.

        seen : the version they were typed over, where that may be an old one by now
        """
        base = self.job(job_id, seen)
        values = {key: read_value(_field(key), text) for key, text in given.items()}
        return self.save(base, changed(base.job, values), by=by)

    def append(self, job_id: int, key: str, text: str, *, by: str = "") -> JobVersion:
        """Add rows to a table, or drives to a list, and keep what is there; a drive counts once, a row may be twice."""
        base, field = self.job(job_id), _field(key)
        there = () if field.kind == "table" else getattr(base.job, key)
        more = tuple(v for v in read_value(field, text) if v not in there)
        return self.save(base, changed(base.job, {key: (*getattr(base.job, key), *more)}), by=by)

    def add_photo(self, job_id: int, data: bytes, *, name: str, of: str, caption: str = "", by: str = "") -> JobVersion:
        """Add a photo to a job; one that it has already counts once."""
        base = self.job(job_id)
        check_text(caption, "caption")
        photo = keep_photo(self.photo_folder, data, name=name, of=of, caption=caption)
        return self.save(base, with_photo(base.job, photo), by=by)

    def changes(self, job_id: int) -> tuple[tuple[JobVersion, list[tuple[str, str, str]]], ...]:
        """Every version with (label, before, after) of what it changed, the newest first."""
        versions = self.history(job_id)
        before = [Job(car=""), *(v.job for v in versions)]
        told = [(v, find_changes(old, v.job)) for old, v in zip(before, versions, strict=False)]
        return tuple(reversed(told))

    def small_photo(self, sha256: str, *, longest_px: int = PREVIEW_PX) -> bytes | None:
        """A photo small enough for a page, or None where it is gone or changed."""
        data = self.photo(sha256)
        return None if data is None else shrink_photo(data, longest_px=longest_px)

    def photo(self, sha256: str) -> bytes | None:
        """A photo by its fingerprint, or None where it is gone or changed."""
        return photo_bytes(self.photo_folder, sha256)

    def _refuse_nonsense(self, base: Job, job: Job) -> None:
        """StoreError for what was not there before; a record that holds some already can still be filled in."""
        try:
            car = read_kept_car(self._workshop, job.car)
        except ShiftlogError:
            car = None
        there = find_nonsense(base, self._workshop, car)
        new = [line for line in find_nonsense(job, self._workshop, car) if line not in there]
        if new:
            raise StoreError(new[0])

    def _insert(self, db: sqlite3.Connection, job_id: int, version: int, job: Job, by: str) -> None:
        check_text(by, "by")
        document = json.dumps({"format": FORMAT, **to_plain(job, shapes={})}, ensure_ascii=False, allow_nan=False)
        row = {
            "job": job_id, "version": version, "by": by.strip(), "document": document,
            "saved": datetime.now(UTC).isoformat(timespec="seconds"),
        }  # fmt: skip
        last = db.execute(
            "SELECT seal FROM job_version WHERE job = ? AND version = ?", (job_id, version - 1)
        ).fetchone()
        row["seal"] = _seal(last["seal"] if last else "", row)
        db.execute("INSERT INTO job_version VALUES (:job, :version, :saved, :by, :document, :seal)", row)

    @staticmethod
    def _version(row: sqlite3.Row, *, sealed: bool) -> JobVersion:
        job = from_plain(Job, json.loads(row["document"]), shapes={}, where=f"job {row['job']}")
        return JobVersion(
            id=row["job"], version=row["version"], saved=row["saved"], by=row["by"], job=job, sealed=sealed
        )


def changed(job: Job, values: Mapping[str, object]) -> Job:
    """The job with other values. StoreError where one of them is not allowed."""
    try:
        return replace(job, **values)
    except ValueError as error:
        raise StoreError(str(error)) from error


def with_photo(job: Job, photo: Photo) -> Job:
    """The job with a photo more; the same picture again takes the place of the first."""
    others = tuple(p for p in job.photos if p.sha256 != photo.sha256)
    return replace(job, photos=(*others, photo))


def _field(key: str):
    if key not in FIELD_OF:
        raise StoreError(f"{key}: is no field of a job; the fields are {', '.join(FIELD_OF)}")
    return FIELD_OF[key]


def _seal(before: str, row: Mapping[str, object] | sqlite3.Row) -> str:
    """Ties a version to all before it: none that another follows can be changed or taken out and leave no trace."""
    parts = (before, row["job"], row["version"], row["saved"], row["by"], row["document"])
    return hashlib.sha256("\n".join(map(str, parts)).encode()).hexdigest()
