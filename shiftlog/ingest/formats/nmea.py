"""A GPS receiver's log of NMEA 0183 sentences to columns, one row for each fix."""

from array import array
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

from shiftlog.errors import LogError
from shiftlog.ingest.clock_turns import DAY_S
from shiftlog.ingest.formats.nmea_epochs import LooseSpeeds
from shiftlog.ingest.formats.nmea_sentence import BARE, SENTENCE, Fix, has_right_checksum, parse_sentence
from shiftlog.ingest.formats.stamps import split_stamp
from shiftlog.ingest.positions import find_speeds
from shiftlog.ingest.sheet import Series, Sheet, sheet_of_series
from shiftlog.ingest.text_bytes import open_lines

_FIELDS = ("vehicle_speed [kn]", "latitude [deg]", "longitude [deg]")

SPEED_FROM_POSITIONS = (
    "speed from positions, as none was logged: good for a steady speed, too slow and too rough for a shift."
)


@dataclass
class _Rows:
    """Fixes so far, in compact arrays, and the speeds that carry no time; bare : sentences without a checksum."""

    row: array = field(default_factory=lambda: array("q"))
    day_s: array = field(default_factory=lambda: array("d"))
    date_s: array = field(default_factory=lambda: array("d"))
    received: array = field(default_factory=lambda: array("d"))
    values: tuple[array, ...] = field(default_factory=lambda: tuple(array("d") for _ in _FIELDS))
    spoken: tuple[bytearray, ...] = field(default_factory=lambda: tuple(bytearray() for _ in _FIELDS))
    loose: LooseSpeeds = field(default_factory=LooseSpeeds)
    counts: Counter = field(default_factory=Counter)
    stamp_kinds: Counter = field(default_factory=Counter)
    bare: int = 0

    def take(self, fix: Fix, row: int, received: float) -> None:
        """One sentence: a new row where its time is a new one, else what the row does not hold yet."""
        if fix.day_s is None:
            if fix.speed_kn is not None:
                self.loose.take(fix.speed_kn, row=len(self.day_s) - 1, received=received)
            return
        is_new = not self.day_s or fix.day_s != self.day_s[-1]
        self.loose.pass_timed(fix.kind, is_new=is_new, received=received)
        if is_new:
            self.row.append(row)
            self.day_s.append(fix.day_s)
            self.date_s.append(np.nan)
            self.received.append(received)
            for values, spoken in zip(self.values, self.spoken, strict=True):
                values.append(np.nan)
                spoken.append(0)
        # Without a fix a receiver may count from any day.
        if fix.date_s is not None and not fix.void:
            self.date_s[-1] = fix.date_s
        # Of positions RMC's count, as its speed does.
        rank = 2 if fix.kind == "RMC" else 1
        for at, value in enumerate((fix.speed_kn, fix.latitude, fix.longitude)):
            if value is not None and rank > self.spoken[at][-1]:
                self.values[at][-1], self.spoken[at][-1] = value, rank


def open_nmea(path: Path, *, file: str) -> Sheet:
    """A log of sentences. LogError where none of them has a right checksum, or none a time."""
    rows = _read(path, file)
    if not rows.day_s and rows.bare > 1:
        raise LogError(
            f"{file}: its sentences have no checksum (*hh at their end), so that nothing vouches for them. Have them "
            "logged as the receiver sends them, and record again."
        )
    if not rows.day_s:
        raise LogError(
            f"{file}: no sentence of position or speed (RMC, GGA) with a time and a right checksum"
            f"{_why(rows.counts)}. Switch them on in the receiver, and record again."
        )
    values = np.array(rows.values)
    remarks = _fill_speeds(values[0], rows.loose, file)
    held = np.isfinite(values).any(axis=0)
    if not held.any():
        raise LogError(f"{file}: the receiver had no fix in any of {held.size} sentences. Give it a view of the sky.")
    fixed = slice(int(np.argmax(held)), None)
    time, dated = _times(np.array(rows.day_s)[fixed], np.array(rows.date_s)[fixed])
    row = np.array(rows.row, dtype=np.int64)[fixed]
    columns = dict(zip(_FIELDS, values[:, fixed], strict=True))
    remarks += [] if dated else [f"{file}: no sentence with a date (RMC); times count from midnight."]
    if not np.isfinite(columns[_FIELDS[0]]).any() and np.isfinite(columns[_FIELDS[1]]).any():
        speeds = find_speeds(time, columns[_FIELDS[1]], columns[_FIELDS[2]])
        columns = {"vehicle_speed [m/s]": speeds, **{name: columns[name] for name in _FIELDS[1:]}}
        remarks.append(f"{file}: {SPEED_FROM_POSITIONS}")
    series = [_series(name, row, time, values) for name, values in columns.items() if np.isfinite(values).any()]
    received = np.array(rows.received)[fixed]
    if np.isfinite(received).all():
        remarks.append(
            f"{file}: times are those of the fixes; the stamps of reception stand in the column received, to which "
            "time can be mapped where another log shares that clock."
        )
        series.append(_series(_received_header(rows.stamp_kinds), row, time, received))
    mended = {kind: count for kind, count in rows.counts.items() if count}
    return sheet_of_series(series, mended=mended, remarks=tuple(remarks), time_is_text=not dated)


def _fill_speeds(speeds: np.ndarray, loose: LooseSpeeds, file: str) -> list[str]:
    """Fills speeds (n,) [kn] that RMC, which carries its own time, leaves open; a line where their fix is a guess."""
    row, speed, sure = loose.rows(speeds.size)
    row, first = np.unique(row, return_index=True)
    is_open = np.isnan(speeds[row])
    speeds[row[is_open]] = speed[first[is_open]]
    if sure or not np.any(is_open):
        return []
    return [
        f"{file}: VTG carries no time, and nothing tells whether it comes before or behind its fix; taken with the fix "
        "before it. With RMC switched on in the receiver each speed has its own time."
    ]


def _series(name: str, row: np.ndarray, time: np.ndarray, values: np.ndarray) -> Series:
    return Series(header=name, row=row, time=time, values=values)


def _read(path: Path, file: str) -> _Rows:
    rows = _Rows()
    try:
        with open_lines(path, encoding="latin-1") as stream:
            for number, line in enumerate(stream, start=1):
                _take_line(line, number, rows)
    except OSError as error:
        raise LogError(f"{file}: cannot be read ({error.strerror}).") from None
    return rows


def _take_line(line: str, number: int, rows: _Rows) -> None:
    sentences = list(SENTENCE.finditer(line))
    if not sentences:
        rows.counts["rows that are no sentence"] += bool(line.strip())
        rows.bare += BARE.search(line) is not None
        return
    stamp = split_stamp(line[: sentences[0].start()])
    received = np.nan
    if stamp is not None:
        received = stamp.value
        rows.stamp_kinds[stamp.kind] += 1
    for found in sentences:
        if not has_right_checksum(found):
            rows.counts["sentences with a wrong checksum"] += 1
            continue
        fix = parse_sentence(found)
        if fix is not None:
            rows.counts["sentences without a fix"] += fix.void
            rows.take(fix, number, received)


def _times(day_s: np.ndarray, date_s: np.ndarray) -> tuple[np.ndarray, bool]:
    """Seconds since 1970, and True, where any sentence has a date; else seconds from midnight, and False."""
    known = np.flatnonzero(np.isfinite(date_s))
    if not known.size:
        return day_s, False
    # A fix without a date has that of the last one that had, a day on where midnight lies between.
    last = known[np.maximum(np.searchsorted(known, np.arange(day_s.size), side="right") - 1, 0)]
    away = day_s - day_s[last]
    days = np.where(away < -DAY_S / 2, 1, np.where(away > DAY_S / 2, -1, 0))
    return date_s[last] + days * DAY_S + day_s, True


def _received_header(kinds: Counter) -> str:
    kind = kinds.most_common(1)[0][0]
    return "received" if kind == "number" else "received [s]"


def _why(counts: Counter) -> str:
    wrong = counts["sentences with a wrong checksum"]
    return f" ({wrong} have a wrong one)" if wrong else ""
