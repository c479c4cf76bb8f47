"""What must hold between the entries of ``drive.toml``, and where its files may lie."""

from collections import Counter
from pathlib import Path, PureWindowsPath

from shiftlog.ingest.channels import CHANNELS, LEVER_AXES
from shiftlog.ingest.drive_models import DriveToml, RecordingEntry


def find_drive_faults(drive: DriveToml, folder: Path) -> list[str]:
    """Every fault of the file, each with its key; an empty list where all is well."""
    faults = [] if drive.recording else ["recording: there is none; a drive has at least one"]
    names = Counter(recording_name(entry) for entry in drive.recording)
    faults += [f'recording: the name "{name}" is there twice' for name, n in names.items() if n > 1]
    for number, entry in enumerate(drive.recording, start=1):
        key = f"recording[{number}]"
        faults += [f"{key}.file: {why}" for why in _path_faults(entry.file, folder, up=0)]
        if entry.decode is not None:
            faults += [f"{key}.decode: {why}" for why in _path_faults(entry.decode, folder, up=1)]
        faults += _column_faults(entry, key)
    if drive.car is not None:
        faults += [f"car.profile: {why}" for why in _path_faults(drive.car.profile, folder, up=1)]
    for number, mark in enumerate(drive.test, start=1):
        if mark.end_s <= mark.start_s:
            faults.append(f"test[{number}].end_s: {mark.end_s:g} is not after start_s {mark.start_s:g}")
    return faults + _clock_faults(drive)


def recording_name(entry: RecordingEntry) -> str:
    """The recording's name, or its file's name without the ending where it has none."""
    return entry.name or Path(local_path(entry.file)).stem


def local_path(text: str) -> str:
    """A relative path with either slash, as this system writes it."""
    return str(Path(*PureWindowsPath(text).parts)) if text else text


def _path_faults(text: str, folder: Path, *, up: int) -> list[str]:
    path = PureWindowsPath(text)
    if not text.strip() or path.name in ("", ".."):
        return [f'"{text}" names no file']
    if path.drive or path.root:
        return [f'"{text}" is absolute; write it relative to drive.toml']
    if path.parts.count("..") > up or ".." in path.parts[up:]:
        allowed = "at most one folder up" if up else "inside the drive folder"
        return [f'"{text}" leads out of the drive folder; it must lie {allowed}']
    root = folder.resolve()
    bounds = root.parent if up else root
    if not (folder / local_path(text)).resolve().is_relative_to(bounds):
        return [f'"{text}" is a link out of the drive folder; put the file itself there']
    return []


def _column_faults(entry: RecordingEntry, key: str) -> list[str]:
    faults = []
    for channel, column in entry.columns.items():
        where = f"{key}.columns.{channel}"
        if channel not in CHANNELS:
            faults.append(f"{where}: is no channel; channels are {', '.join(CHANNELS)}")
        directions = LEVER_AXES.get(channel, ())
        if column.grows is not None and column.grows not in directions:
            wanted = " or ".join(f'"{d}"' for d in directions) or "only for select and engage"
            faults.append(f'{where}.grows: "{column.grows}" is not known; it is {wanted}')
    return faults


def _clock_faults(drive: DriveToml) -> list[str]:
    offsets: dict[str, set[float]] = {}
    for entry in drive.recording:
        if entry.clock and entry.clock_offset_s is not None:
            offsets.setdefault(entry.clock, set()).add(entry.clock_offset_s)
    return [
        f'recording: clock "{clock}" has different clock_offset_s ({", ".join(f"{v:g}" for v in sorted(values))})'
        for clock, values in offsets.items()
        if len(values) > 1
    ]
