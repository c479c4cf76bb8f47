"""One log file to one Recording."""

import hashlib
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from shiftlog.errors import LogError
from shiftlog.ingest.beats import find_beats
from shiftlog.ingest.channels import CHANNELS
from shiftlog.ingest.columns import ColumnMatch, ColumnMatches, ColumnWish, match_columns
from shiftlog.ingest.day_numbers import refuse_day_numbers
from shiftlog.ingest.formats.known import open_sheet
from shiftlog.ingest.quality import describe_channel, find_dead, measure_quality
from shiftlog.ingest.sensor_faults import drop_sensor_faults
from shiftlog.ingest.sheet import Sheet, Table
from shiftlog.ingest.time_unit import check_time_unit, guess_time_units
from shiftlog.ingest.timebase import Timed, read_times
from shiftlog.ingest.weight import check_weight
from shiftlog.model.recording import Calibration, Channel, Recording
from shiftlog.signal.clock_ticks import find_spans, measure_ticks


@dataclass(frozen=True, eq=False, kw_only=True)
class LogRequest:
    """A log to be read and what is known of it beforehand.

    file : the name by which messages call it; decode : the file that says what the frames of a bus trace hold
    """

    path: Path
    file: str
    name: str
    place: str
    clock: str
    wishes: tuple[ColumnWish, ...] = ()
    clock_offset_s: float | None = None
    mounting: np.ndarray | None = None
    calibration: Calibration = Calibration()
    allow_restart: bool = False
    decode: Path | None = None


def read_log(request: LogRequest, sheet: Sheet | None = None) -> Recording:
    """Reads, checks and converts a log. LogError, in one line, where it cannot be used.

    sheet : the log, where it has been opened already
    """
    sheet = sheet or open_sheet(request.path, file=request.file, decode=request.decode)
    wishes = tuple(wish for wish in request.wishes if wish.column not in sheet.absent)
    matches = match_columns(sheet.header, wishes, file=request.file)
    table = sheet.read(matches.time.index, [m.index for m in matches.channels])
    factor = time_factor(table, matches.time, header=sheet.header[matches.time.index], file=request.file)
    timed = read_times(table, factor=factor, file=request.file, allow_restart=request.allow_restart)
    values = _values(table, timed, matches)
    mended = {**table.mended, **timed.mended, **_drop_sentinels(values, matches)}
    faults = drop_sensor_faults(timed.time_s, {m.channel: values[:, at] for at, m in enumerate(matches.channels)})
    recording = _recording(request, matches, timed, values, {**mended, **faults.mended}, table.remarks)
    quality = replace(recording.quality, frozen_s=faults.frozen_s)
    rate_hz = recording.quality.rate_hz
    check_weight(values, matches.channels, rate_hz=rate_hz, header=sheet.header, file=request.file)
    return _without_dead(replace(recording, quality=quality), request.file)


def time_factor(table: Table, time: ColumnMatch, *, header: str, file: str) -> float:
    """Seconds in one logged unit of time.

    LogError where no unit is named and the numbers leave two readings, or where they fit another one than that named.
    """
    if table.time_is_text:
        return 1.0
    if time.unit is not None and time.unit.name != "ISO 8601":
        check_time_unit(table.time, time.unit, header=header, file=file)
        return time.unit.factor
    refuse_day_numbers(table.time, header=header, file=file)
    units = guess_time_units(table.time)
    if len(units) == 1:
        return units[0].factor
    readings = " or ".join(u.name for u in units) or "none of s, ms, us, ns"
    raise LogError(
        f"{file}, column {header}: time names no unit, and its numbers fit {readings}. Map it with its unit: "
        f'time = {{ column = "{header}", unit = "ms" }}, or --column "{header}=time:ms".'
    )


def _values(table: Table, timed: Timed, matches: ColumnMatches) -> np.ndarray:
    whole = timed.order.size == len(table.values) and np.all(np.diff(timed.order) == 1)
    values = table.values if whole else table.values[timed.order]
    for at, match in enumerate(matches.channels):
        if match.unit is not None and CHANNELS[match.channel].inside is not None:
            values[:, at] *= match.unit.factor
            values[:, at] += match.unit.offset
    return values


def _drop_sentinels(values: np.ndarray, matches: ColumnMatches) -> dict[str, int]:
    """A speed of exactly −1 is how receivers write "no fix": missing, where no other negative speed stands."""
    for at, match in enumerate(matches.channels):
        if match.channel == "vehicle_speed" and match.unit is not None:
            column = values[:, at]
            negative = column < 0
            if np.any(negative) and np.allclose(column[negative], -match.unit.factor, rtol=1e-9):
                column[negative] = np.nan
                return {"speeds of -1 taken as missing": int(np.count_nonzero(negative))}
    return {}


def _recording(
    request: LogRequest,
    matches: ColumnMatches,
    timed: Timed,
    values: np.ndarray,
    mended: dict[str, int],
    remarks: tuple[str, ...],
) -> Recording:
    beats = timed.time_s[find_beats(values)]
    ticks = measure_ticks(beats)
    channels = tuple(describe_channel(_channel(match), values[:, at]) for at, match in enumerate(matches.channels))
    return Recording(
        name=request.name,
        place=request.place,
        file=request.file,
        sha256=_sha256(request.path),
        size_bytes=request.path.stat().st_size,
        clock=request.clock,
        channels=channels,
        time_s=timed.time_s,
        values=values,
        spans=find_spans(beats, ticks.gap_after),
        quality=measure_quality(timed.time_s, values, channels, beats=beats, ticks=ticks, mended=mended),
        clock_offset_s=request.clock_offset_s,
        mounting=request.mounting,
        calibration=request.calibration,
        ignored=matches.ignored,
        history=(*remarks, *timed.history),
    )


def _channel(match: ColumnMatch) -> Channel:
    kind = CHANNELS[match.channel]
    logged = match.unit.name if match.unit else "1"
    return Channel(name=match.channel, unit=kind.inside or logged, kind=kind.kind, grows=match.grows)


def _without_dead(recording: Recording, file: str) -> Recording:
    """Channels of a sensor that tells nothing are taken out; a LogError where nothing else is left."""
    found = find_dead(recording)
    gone = {name for names, _ in found for name in names}
    if not gone:
        return recording
    lines = [f"{file}: {why} Check the sensor's lead and its bracket." for _, why in found]
    kept = [i for i, c in enumerate(recording.channels) if c.name not in gone]
    if not kept:
        raise LogError(" ".join(lines))
    return replace(
        recording,
        channels=tuple(recording.channels[i] for i in kept),
        values=recording.values[:, kept],
        history=(*recording.history, *lines),
    )


def _sha256(path: Path) -> str:
    with path.open("rb") as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()
