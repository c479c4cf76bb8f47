"""A stretch of four real logs of different make, and a way to read them as a technician would: added, then read."""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from shiftlog.ingest.add import plan_drive, write_drive
from shiftlog.ingest.add_options import AddOptions
from shiftlog.ingest.drive_file import read_drive
from shiftlog.model.recording import Recording


@dataclass(frozen=True, kw_only=True)
class RealLog:
    """Where a log lies below the open data, which of its rows are taken, and what adding it must be told."""

    path: str
    first: int
    rows: int
    options: AddOptions = AddOptions()
    encoding: str = "utf-8"

    def lines(self, open_data: Path) -> list[str]:
        """The header and the rows, without line ends."""
        whole = (open_data / self.path).read_text(encoding=self.encoding).splitlines()
        return [whole[0], *whole[self.first : self.first + self.rows]]


LOGS = {
    # 10 Hz, driving: rows 3000 to 5000 of the first laps.
    "track": RealLog(
        path="track-day/corrado_2021-03-28_10hz.csv", first=3000, rows=2000,
        options=AddOptions(column=("utc_s=-",)),
    ),
    # 100 Hz, quoted headers, numbers as 1.5E-1.
    "phone": RealLog(path="phone-roads/rsq_q3_00_Accelerometer.csv", first=3000, rows=3000),
    # Time since 1970 in ms with fractions, jitter, twenty columns that are no channel.
    "imu": RealLog(
        path="jittery-imu/2014-03-26-000-Data.csv", first=2000, rows=2500, options=AddOptions(unit=("speed=km/h",))
    ),
    # Time of day, empty cells, a degree sign.
    "commute": RealLog(
        path="obd-commute/2018-02-23_Seat_Leon_RT_RT_Frei_Beschleunigung.csv", first=1500, rows=2500
    ),
}  # fmt: skip

Read = Callable[..., Recording]


def read_log_bytes(content: bytes, folder: Path, log: RealLog, *, allow_restart: bool = False) -> Recording:
    """The recording that the whole way makes of a log: planned, written as a drive, read. LogError as it comes."""
    path = folder / Path(log.path).name
    path.write_bytes(content)
    plan = plan_drive([path], None, options=log.options, allow_restart=allow_restart)
    drive = read_drive(write_drive(plan, folder / "drive"), allow_restart=allow_restart)
    assert not drive.left_out
    return drive.recordings[0]


def joined(lines: list[str], *, end: str = "\n") -> bytes:
    return (end.join(lines) + end).encode()


def with_times(lines: list[str], header: str, times: list[str], *, at: int = 0) -> list[str]:
    """The log with another time column."""
    rows = [line.split(",") for line in lines]
    for row, text in zip(rows, [header, *times], strict=True):
        row[at] = text
    return [",".join(row) for row in rows]


def seconds_of(log: Recording) -> np.ndarray:
    """Times from the first sample on."""
    return log.time_s - log.time_s[0]
