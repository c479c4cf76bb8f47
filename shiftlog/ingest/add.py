"""Builds a drive folder from bare logs: first a plan that can be read, then the folder.

The options are those of ``AddOptions`` (its module gives their grammar). Where a header leaves two readings the plan
fails with a LogError whose line names the option that settles it; nothing is written until the plan stands.
"""

import os
import shutil
import tempfile
from collections.abc import Callable, Collection, Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np

from shiftlog.errors import DriveError, LogError, RestartedLog, UnclearLog
from shiftlog.ingest.add_options import AddOptions, LogOptions, check_files, options_for
from shiftlog.ingest.add_plan import CAR_FILE, AddPlan, PlannedRecording, decode_names, drive_text, free_name
from shiftlog.ingest.car_file import read_car_file
from shiftlog.ingest.drive_file import DRIVE_FILE
from shiftlog.ingest.drive_models import COLDEST_C, HOTTEST_C
from shiftlog.ingest.formats.known import find_format, open_sheet
from shiftlog.ingest.log_file import LogRequest, read_log
from shiftlog.ingest.phone_exports import common_stems
from shiftlog.ingest.sheet import Sheet
from shiftlog.ingest.understand import Understood, understand_log
from shiftlog.model.drive import DriveHead, LeftOut
from shiftlog.model.recording import ACCEL, Recording


def plan_drive(
    logs: Sequence[Path],
    car: Path | None,
    *,
    head: DriveHead | None = None,
    options: AddOptions | None = None,
    allow_restart: bool = False,
    restarts: Collection[str] = (),
    progress: Callable[[str, float], None] | None = None,
) -> AddPlan:
    """Reads every log once and plans the drive; writes nothing.

    head : what is known of the drive; its id, where empty, becomes the folder's name
    allow_restart : whether the time of any log may start anew; restarts : file names of those whose time may
    A log that cannot be used is left out with its line. LogError where none can be, or one leaves two readings;
    ProfileError where the car's profile is wrong.
    """
    options = options or AddOptions()
    paths = [Path(log) for log in logs]
    check_files(paths, options)
    _check_head(head)
    lines = list(_car_lines(car))
    shared = common_stems(paths)
    planned: list[PlannedRecording] = []
    left_out: list[LeftOut] = []
    faults: list[LogError] = []
    known: dict[str, str] = {}
    decoding = False
    for number, path in enumerate(paths):
        if progress:
            progress(path.name, number / len(paths))
        settled = options_for(path, options)
        try:
            settled = _decoding(path, settled, alone=len(paths) == 1)
            decoding = decoding or settled.decode is not None
            sheet = open_sheet(path, file=path.name, decode=settled.decode)
            understood = understand_log(path, sheet, settled)
            entry = _planned(path, settled, understood, sheet, shared.get(path), planned)
            recording = _read(entry, sheet, allow_restart=allow_restart or path.name in restarts)
            _check_new(recording, known)
        except UnclearLog:
            raise
        except LogError as error:
            faults.append(error)
            left_out.append(_left(path, error))
            continue
        planned.append(replace(entry, allow_restart="restarts" in recording.quality.mended))
        lines += _lines(entry, understood, recording, settled, phone=shared.get(path), declared=sheet.place is not None)
    if not planned:
        raise faults[0] if len(faults) == 1 else LogError(" ".join(item.why for item in left_out))
    if options.decode and not decoding:
        lines.append("None of the logs is a trace of a bus, so that --decode has nothing to decode.")
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
        for source, name in decode_names(plan).items():
            shutil.copyfile(source, made / name)
        (made / DRIVE_FILE).write_text(drive_text(plan), encoding="utf-8")
        made.chmod(0o755)
        if folder.exists():
            folder.rmdir()
        os.replace(made, folder)
    except BaseException:
        shutil.rmtree(made, ignore_errors=True)
        raise
    return folder


def _left(path: Path, error: LogError) -> LeftOut:
    return LeftOut(name=path.stem, file=path.name, why=str(error), restarted=isinstance(error, RestartedLog))


def _check_head(head: DriveHead | None) -> None:
    temperature = head.gearbox_temp_c if head else None
    if temperature is not None and not COLDEST_C <= temperature <= HOTTEST_C:
        raise LogError(
            f"--gearbox-temp {temperature:g}: no gearbox has that; write degrees Celsius, "
            f"{COLDEST_C:g} to {HOTTEST_C:g}."
        )


def _check_new(recording: Recording, known: dict[str, str]) -> None:
    """LogError where the same bytes were added before; else they are ``known`` from here on."""
    if recording.sha256 in known:
        raise LogError(
            f"{recording.file}: is the same log as {known[recording.sha256]}, byte for byte. Give each log once."
        )
    known[recording.sha256] = recording.file


def _planned(
    path: Path,
    settled: LogOptions,
    understood: Understood,
    sheet: Sheet,
    phone: str | None,
    before: list[PlannedRecording],
) -> PlannedRecording:
    name = free_name(path.stem, [p.name for p in before])
    rows = settled.mounting
    return PlannedRecording(
        log=path,
        name=name,
        file=name + path.suffix,
        place=settled.place or sheet.place or guess_place(set(understood.found)),
        clock=settled.clock or sheet.clock or phone,
        wishes=understood.wishes,
        clock_offset_s=settled.offset_s,
        mounting=None if rows is None else tuple(tuple(row) for row in rows),
        decode=settled.decode,
        channels=tuple(understood.found),
    )


def _decoding(path: Path, settled: LogOptions, *, alone: bool) -> LogOptions:
    """The options without what decodes frames, where it was given for all logs and this one has no frames."""
    if settled.decode is None or alone:
        return settled
    found = find_format(path, file=path.name)
    return settled if found is not None and found.decoded else replace(settled, decode=None)


def guess_place(channels: set[str]) -> str:
    """The place of a recorder that holds these channels: at the lever, on the engine's bus, or in the body.

    A bus may have one or two axes of acceleration; who has all three is an accelerometer.
    """
    if channels & {"select", "engage"}:
        return "lever"
    return "engine" if "engine_speed" in channels and not channels >= set(ACCEL) else "body"


def _read(planned: PlannedRecording, sheet: Sheet, *, allow_restart: bool) -> Recording:
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
            decode=planned.decode,
        ),
        sheet,
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
    declared: bool,
) -> list[str]:
    """``declared`` : whether the log itself names its place."""
    file, quality = planned.log.name, recording.quality
    found = ", ".join(f"{channel} from {column}" for channel, column in understood.found.items())
    lines = [
        f"{file}: {found}.",
        f"{file}: {quality.samples} samples, {quality.duration_s:.1f} s at {quality.rate_hz:.4g} Hz, "
        f"{len(quality.gaps)} gap{'' if len(quality.gaps) == 1 else 's'}.",
    ]
    if settled.place is None and not declared:
        lines.append(f"{file}: taken to be at the {planned.place}; --place {file}=PLACE says otherwise.")
    if phone and settled.clock is None:
        lines.append(f'{file}: shares the clock "{phone}" with the files of the same name; --clock says otherwise.')
    mended = ", ".join(f"{kind}: {count}" for kind, count in quality.mended.items())
    return [*lines, *([f"{file}: mended: {mended}."] if mended else []), *understood.lines, *recording.history]


def _clock_lines(planned: list[PlannedRecording]) -> list[str]:
    clocks = {p.clock or p.name: p for p in planned}
    if len(clocks) < 2:
        return []
    names = ", ".join(dict.fromkeys(clocks))
    return [
        f"Clocks: {names}. Different clocks are matched by what the logs share; --offset gives their distance where "
        "nothing does; if one recorder wrote them, give them one --clock."
    ]
