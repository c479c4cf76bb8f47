"""A GPX track to columns: position and time, speed where it is there, else speed from positions."""

from array import array
from collections.abc import Iterator
from pathlib import Path

import numpy as np

from shiftlog.errors import LogError
from shiftlog.ingest.formats.gpx_points import GpxFault, TrackPoint, read_points
from shiftlog.ingest.formats.nmea import SPEED_FROM_POSITIONS
from shiftlog.ingest.positions import find_speeds
from shiftlog.ingest.sheet import Series, Sheet, sheet_of_series
from shiftlog.ingest.text_bytes import find_encoding, open_bytes
from shiftlog.ingest.text_form import read_head

_BLOCK_BYTES = 1 << 20


def open_gpx(path: Path, *, file: str) -> Sheet:
    """A track. LogError where it has no points with a time and a place, or is no plain XML."""
    columns = tuple(array("d") for _ in range(4))

    def take(point: TrackPoint) -> None:
        said = (point.time_s, point.latitude, point.longitude, point.speed_mps)
        for column, value in zip(columns, said, strict=True):
            column.append(np.nan if value is None else value)

    encoding = find_encoding(read_head(path, file=file))
    try:
        # What its declaration says is of the file as it was before a shell wrote it in UTF-16.
        narrowed = "utf-8" if encoding.startswith("utf-16") else None
        broken = read_points(_blocks(path, encoding), take, encoding=narrowed)
    except GpxFault as fault:
        raise LogError(f"{file}: {fault}; it is not read. Export the track again.") from None
    except OSError as error:
        raise LogError(f"{file}: cannot be read ({error.strerror}).") from None
    time, *values = (np.array(column) for column in columns)
    return _sheet(time, values, broken, file)


def _blocks(path: Path, encoding: str) -> Iterator[bytes]:
    with open_bytes(path, encoding) as stream:
        while block := stream.read(_BLOCK_BYTES):
            yield block


def _sheet(time: np.ndarray, values: list[np.ndarray], broken: str | None, file: str) -> Sheet:
    timed = np.isfinite(time)
    if not timed.any():
        why = f" ({broken})" if broken else ""
        raise LogError(
            f"{file}: no track point with a time{why}. A route or a planned track has none: export the recorded track."
        )
    point = np.flatnonzero(timed) + 1
    time, (latitude, longitude, speed) = time[timed], [v[timed] for v in values]
    remarks = [f"{file}: ends early: {broken}."] if broken else []
    if not np.isfinite(speed).any():
        speed = find_speeds(time, latitude, longitude)
        remarks.append(f"{file}: {SPEED_FROM_POSITIONS}")
    named = {"vehicle_speed [m/s]": speed, "latitude [deg]": latitude, "longitude [deg]": longitude}
    series = [Series(header=h, row=point, time=time, values=v) for h, v in named.items() if np.isfinite(v).any()]
    lost = int(np.count_nonzero(~timed))
    mended = {"points without a time": lost} if lost else {}
    return sheet_of_series(series, mended=mended, remarks=tuple(remarks))
