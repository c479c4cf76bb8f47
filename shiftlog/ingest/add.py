"""Builds a drive folder from bare logs: first a plan that can be read, then the folder.

The options are those of ``AddOptions`` (its module gives their grammar). Where a header leaves two readings the plan
fails with a LogError whose line names the option that settles it; nothing is written until the plan stands.
"""

import os
import shutil
import tempfile
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from shiftlog.errors import DriveError, LogError, UnclearLog
from shiftlog.ingest.add_options import AddOptions, LogOptions, check_files, options_for
from shiftlog.ingest.car_file import read_car_file
from shiftlog.ingest.columns import ColumnWish
from shiftlog.ingest.drive_file import DRIVE_FILE
from shiftlog.ingest.log_file import LogRequest, read_log
from shiftlog.ingest.phone_exports import common_stems
from shiftlog.ingest.toml_text import toml_table
from shiftlog.ingest.understand import Understood, understand_log
from shiftlog.model.drive import DriveHead, LeftOut
from shiftlog.model.recording import Recording

CAR_FILE = "car.toml"


@dataclass(frozen=True, eq=False, kw_only=True)
class PlannedRecording:
    """One log of the plan: where it is, what it will be called, and what ``drive.toml`` will say of it."""

    log: Path
    name: str
    file: str
    place: str
    clock: str | None
    wishes: tuple[ColumnWish, ...]
    clock_offset_s: float | None = None
    mounting: tuple[tuple[float, ...], ...] | None = None


@dataclass(frozen=True, eq=False, kw_only=True)
class AddPlan:
    """What will be written, and the lines that say what was understood and what was left."""

    head: DriveHead
    recordings: tuple[PlannedRecording, ...]
    car: Path | None
    lines: tuple[str, ...]
    left_out: tuple[LeftOut, ...] = ()


def plan_drive(
    logs: Sequence[Path],
    car: Path | None,
    *,
    head: DriveHead | None = None,
    options: AddOptions | None = None,
    allow_restart: bool = False,
    progress: Callable[[str, float], None] | None = None,
) -> AddPlan:
    """Reads every log once and plans the drive; writes nothing.

    head : what is known of the drive; its id, where empty, becomes the folder's name
    A log that cannot be used is left out with its line. LogError where none can be, or one leaves two readings;
    ProfileError where the car's profile is wrong.
    """
    options = options or AddOptions()
    paths = [Path(log) for log in logs]
    check_files(paths, options)
    lines = list(_car_lines(car))
    shared = common_stems(paths)
    planned: list[PlannedRecording] = []
    left_out: list[LeftOut] = []
    for number, path in enumerate(paths):
        if progress:
            progress(path.name, number / len(paths))
        settled = options_for(path, options)
        try:
            understood = understand_log(path, settled)
            entry = _planned(path, settled, understood, shared.get(path), planned)
            recording = _read(entry, allow_restart=allow_restart)
        except UnclearLog:
            raise
        except LogError as error:
            left_out.append(LeftOut(name=path.stem, file=path.name, why=str(error)))
            continue
        planned.append(entry)
        lines += _lines(entry, understood, recording, settled, phone=shared.get(path))
    if not planned:
        raise LogError(" ".join(item.why for item in left_out))
    lines += _clock_lines(planned)
    if progress:
        progress("", 1.0)
    return AddPlan(
        head=head or DriveHead(id=""), recordings=tuple(planned), car=car and Path(car), lines=tuple(lines),
        left_out=tuple(left_out),
    )  # fmt: skip


def write_drive(plan: AddPlan, folder: Path) -> Path:
    """Writes the drive folder: logs unchanged, the car's profile, ``drive.toml``. Returns the folder.

    It appears whole or not at all. DriveError where something is there already.
    """
    folder = Path(folder)
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise DriveError(f"{folder}: is there already. Choose another name, or move it away.")
    folder.parent.mkdir(parents=True, exist_ok=True)
    made = Path(tempfile.mkdtemp(prefix=f".{folder.name}-", dir=folder.parent))
    try:
        for planned in plan.recordings:
            shutil.copyfile(planned.log, made / planned.file)
        if plan.car is not None:
            shutil.copyfile(plan.car, made / CAR_FILE)
        (made / DRIVE_FILE).write_text(_drive_toml(plan), encoding="utf-8")
        made.chmod(0o755)
        if folder.exists():
            folder.rmdir()
        os.replace(made, folder)
    except BaseException:
        shutil.rmtree(made, ignore_errors=True)
        raise
    return folder


def _planned(
    path: Path,
    settled: LogOptions,
    understood: Understood,
    phone: str | None,
    before: list[PlannedRecording],
) -> PlannedRecording:
    name = _free(path.stem, [p.name for p in before])
    rows = settled.mounting
    return PlannedRecording(
        log=path,
        name=name,
        file=name + path.suffix,
        place=settled.place or guess_place(set(understood.found)),
        clock=settled.clock or phone,
        wishes=understood.wishes,
        clock_offset_s=settled.offset_s,
        mounting=None if rows is None else tuple(tuple(row) for row in rows),
    )


def guess_place(channels: set[str]) -> str:
    """The place of a recorder that holds these channels: at the lever, on the engine's bus, or in the body."""
    if channels & {"select", "engage"}:
        return "lever"
    return "engine" if "engine_speed" in channels and "accel_x" not in channels else "body"


def _free(name: str, taken: list[str]) -> str:
    names = [name, *(f"{name}-{number}" for number in range(2, len(taken) + 3))]
    return next(n for n in names if n not in taken)


def _read(planned: PlannedRecording, *, allow_restart: bool) -> Recording:
    return read_log(
        LogRequest(
            path=planned.log,
            file=planned.log.name,
            name=planned.name,
            place=planned.place,
            clock=planned.clock or planned.name,
            wishes=planned.wishes,
            clock_offset_s=planned.clock_offset_s,
            mounting=None if planned.mounting is None else np.array(planned.mounting),
            allow_restart=allow_restart,
        )
    )


def _car_lines(car: Path | None) -> tuple[str, ...]:
    if car is None:
        return ("No car profile given: gears and gate stay unknown until drive.toml names one.",)
    read = read_car_file(Path(car))
    return (f"Car: {read.car.name}.", *read.notes)


def _lines(
    planned: PlannedRecording,
    understood: Understood,
    recording: Recording,
    settled: LogOptions,
    *,
    phone: str | None,
) -> list[str]:
    file, quality = planned.log.name, recording.quality
    found = ", ".join(f"{channel} from {column}" for channel, column in understood.found.items())
    lines = [
        f"{file}: {found}.",
        f"{file}: {quality.samples} rows, {quality.duration_s:.1f} s at {quality.rate_hz:.4g} Hz, "
        f"{len(quality.gaps)} gaps.",
    ]
    if settled.place is None:
        lines.append(f"{file}: taken to be at the {planned.place}; --place {file}=PLACE says otherwise.")
    if phone and settled.clock is None:
        lines.append(f'{file}: shares the clock "{phone}" with the files of the same name; --clock says otherwise.')
    mended = ", ".join(f"{kind} {count}" for kind, count in quality.mended.items())
    return [*lines, *([f"{file}: mended: {mended}."] if mended else []), *understood.lines, *recording.history]


def _clock_lines(planned: list[PlannedRecording]) -> list[str]:
    clocks = {p.clock or p.name: p for p in planned}
    if len(clocks) < 2:
        return []
    names = ", ".join(dict.fromkeys(clocks))
    return [
        f"Clocks: {names}. Logs of different clocks are laid together only where --offset gives their distance; "
        "if one recorder wrote them, give them one --clock."
    ]


def _drive_toml(plan: AddPlan) -> str:
    head = plan.head
    drive = {
        "id": head.id or None,
        "started": head.started,
        "stage": head.stage,
        "driver": head.driver,
        "gearbox_temp_c": head.gearbox_temp_c,
        "cold": head.cold,
        "notes": head.notes,
    }
    parts = ["format = 1\n", toml_table("[drive]", drive)]
    if plan.car is not None:
        parts.append(toml_table("[car]", {"profile": CAR_FILE}))
    for planned in plan.recordings:
        parts.append(toml_table("[[recording]]", _entry(planned)))
        if planned.wishes:
            columns = {w.channel: _column_entry(w) for w in planned.wishes}
            parts.append(toml_table("[recording.columns]", columns))
    return "\n".join(parts)


def _entry(planned: PlannedRecording) -> dict[str, object]:
    return {
        "name": planned.name,
        "file": planned.file,
        "place": planned.place,
        "clock": planned.clock,
        "clock_offset_s": planned.clock_offset_s,
        "mounting": planned.mounting,
    }


def _column_entry(wish: ColumnWish) -> dict[str, object]:
    entry = {"column": wish.column, "unit": wish.unit, "grows": wish.grows}
    return {key: value for key, value in entry.items() if value is not None}
