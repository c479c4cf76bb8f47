"""A drive folder to DriveLogs: every log read, what cannot be used left out with its reason."""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from shiftlog.errors import LogError, ProfileError, RestartedLog
from shiftlog.ingest.car_file import CarFile, read_car_file
from shiftlog.ingest.drive_checks import find_drive_faults, local_path, recording_name
from shiftlog.ingest.drive_models import DriveToml, RecordingEntry
from shiftlog.ingest.faults import check_toml, load_toml, profile_error, unknown_keys
from shiftlog.ingest.log_file import ColumnWish, LogRequest, read_log
from shiftlog.model.car import Car
from shiftlog.model.drive import DriveHead, DriveLogs, LeftOut, MarkedTest
from shiftlog.model.guided import TEST_KINDS
from shiftlog.model.recording import Calibration, Recording

DRIVE_FILE = "drive.toml"

Progress = Callable[[str, float], None]
"""Called with the name of what is being read and the share of the whole that is done, 0 to 1."""


def read_drive(path: Path, *, allow_restart: bool = False, progress: Progress | None = None) -> DriveLogs:
    """Reads a drive folder, or the ``drive.toml`` in it.

    A log that cannot be used is left out with the line that says why. ``allow_restart`` lets a log go on after
    its time jumped back. ProfileError where ``drive.toml`` or the car's profile is wrong.
    """
    drive, file = _load(path)
    folder = file.parent
    car = _car(drive, folder)
    recordings, left_out = _recordings(drive, folder, allow_restart=allow_restart, progress=progress)
    return DriveLogs(
        head=_head(drive, folder),
        car=car.car,
        recordings=tuple(recordings),
        left_out=tuple(left_out),
        tests=marks_of(drive),
        folder=str(folder),
        notes=(*_notes(drive, file.name), *car.notes),
    )


@dataclass(frozen=True, eq=False, kw_only=True)
class DriveFiles:
    """The files of a drive that are there, none of them read but ``drive.toml``.

    logs : the recordings, and what says how to decode them
    """

    folder: Path
    head: DriveHead
    logs: tuple[Path, ...]
    profile: Path | None


def list_files(path: Path) -> DriveFiles:
    """What belongs to a drive folder. ProfileError where its ``drive.toml`` is wrong."""
    drive, file = _load(path)
    folder = file.parent
    named = [entry.file for entry in drive.recording] + [e.decode for e in drive.recording if e.decode is not None]
    logs = [folder / local_path(name) for name in dict.fromkeys(named)]
    profile = folder / local_path(drive.car.profile) if drive.car else None
    return DriveFiles(
        folder=folder.resolve(), head=_head(drive, folder), logs=tuple(p.resolve() for p in logs if p.is_file()),
        profile=profile.resolve() if profile and profile.is_file() else None,
    )  # fmt: skip


def _load(path: Path) -> tuple[DriveToml, Path]:
    """The checked content of a ``drive.toml``, and where it lies."""
    file = Path(path)
    if file.is_dir():
        file = file / DRIVE_FILE
    drive = check_toml(DriveToml, load_toml(file), file=file.name)
    faults = find_drive_faults(drive, file.parent)
    if faults:
        raise profile_error(file.name, faults)
    return drive, file


def _recordings(
    drive: DriveToml, folder: Path, *, allow_restart: bool, progress: Progress | None
) -> tuple[list[Recording], list[LeftOut]]:
    recordings, left_out = [], []
    for number, entry in enumerate(drive.recording):
        name = recording_name(entry)
        if progress:
            progress(name, number / len(drive.recording))
        try:
            recordings.append(read_log(_request(entry, folder, allow_restart=allow_restart)))
        except LogError as error:
            restarted = isinstance(error, RestartedLog)
            left_out.append(LeftOut(name=name, file=entry.file, why=str(error), restarted=restarted))
    if progress:
        progress("", 1.0)
    return recordings, left_out


def _request(entry: RecordingEntry, folder: Path, *, allow_restart: bool) -> LogRequest:
    name = recording_name(entry)
    return LogRequest(
        path=folder / local_path(entry.file),
        file=entry.file,
        name=name,
        place=entry.place,
        clock=entry.clock or f"{name} (its own)",
        wishes=tuple(
            ColumnWish(channel=channel, column=c.column, unit=c.unit, grows=c.grows)
            for channel, c in entry.columns.items()
        ),
        clock_offset_s=entry.clock_offset_s,
        mounting=None if entry.mounting is None else np.array(entry.mounting, dtype=float),
        calibration=_calibration(entry),
        allow_restart=allow_restart or entry.allow_restart,
        decode=None if entry.decode is None else folder / local_path(entry.decode),
    )


def _calibration(entry: RecordingEntry) -> Calibration:
    stated = entry.calibration
    return Calibration() if stated is None else Calibration(**stated.model_dump(), stated=True)


def _car(drive: DriveToml, folder: Path) -> CarFile:
    if drive.car is None:
        note = f'{DRIVE_FILE}: names no car; add [car] with profile = "car.toml" for gears and gate.'
        return CarFile(car=Car(name="car not named", gate=None), notes=(note,))
    path = folder / local_path(drive.car.profile)
    if not path.is_file():
        raise ProfileError(f"{DRIVE_FILE}: car.profile: there is no file {drive.car.profile} in {folder}.")
    return read_car_file(path)


def _head(drive: DriveToml, folder: Path) -> DriveHead:
    head = drive.drive
    started = head.started
    return DriveHead(
        id=head.id or folder.resolve().name,
        stage=head.stage,
        driver=head.driver,
        started=started if started is None or isinstance(started, str) else started.isoformat(),
        gearbox_temp_c=head.gearbox_temp_c,
        cold=head.cold,
        notes=head.notes,
    )


def marks_of(drive: DriveToml) -> tuple[MarkedTest, ...]:
    """The marked spans, as written."""
    return tuple(
        MarkedTest(
            kind=m.kind,
            start_s=m.start_s,
            end_s=m.end_s,
            configuration=m.configuration,
            waits_s=tuple(m.waits_s),
            gearbox_temp_c=m.gearbox_temp_c,
        )  # fmt: skip
        for m in drive.test
    )


def _notes(drive: DriveToml, file: str) -> list[str]:
    unknown = unknown_keys(drive)
    notes = [f"{file}: not known and left out: {', '.join(unknown)}."] if unknown else []
    for kind in dict.fromkeys(m.kind for m in drive.test if m.kind not in TEST_KINDS):
        notes.append(
            f'{file}: test kind "{kind}" is not known, so its span counts for nothing; known: {", ".join(TEST_KINDS)}.'
        )
    return notes
