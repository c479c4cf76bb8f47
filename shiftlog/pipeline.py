"""The whole chain, and the only module that knows it: logs → Drive → shifts, rests → readings → DriveResult."""

from collections.abc import Callable
from pathlib import Path

from shiftlog.align.place import place_recordings
from shiftlog.ingest.drive_file import read_drive
from shiftlog.model.drive import Drive
from shiftlog.model.result import DriveResult
from shiftlog.model.settings import Settings

Progress = Callable[[str], None]


def load_drive(path: Path, *, allow_restart: bool = False, progress: Progress | None = None) -> Drive:
    """Read a drive folder and put its recordings on one clock."""
    return place_recordings(read_drive(path, allow_restart=allow_restart, progress=progress))


def measure_drive(drive: Drive, settings: Settings | None = None, progress: Progress | None = None) -> DriveResult:
    """Find and measure everything the drive's sensors support."""
    raise NotImplementedError
