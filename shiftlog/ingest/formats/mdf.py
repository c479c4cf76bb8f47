"""ASAM MDF 4 to columns, read with asammdf: each channel of each group, on one axis of time."""

import gc
import sys
from collections import Counter
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from shiftlog.errors import LogError
from shiftlog.ingest.formats.can_frames import TraceKind
from shiftlog.ingest.formats.can_trace import open_trace
from shiftlog.ingest.optional import load_extra
from shiftlog.ingest.sheet import TIME_HEADER, Series, Sheet, Table, lay_rows

BUS_TRACE = TraceKind(reader="MF4Reader", binary=True)

_NUMBERS = range(6)
"""Data types 0 to 5 of a channel: integers and floating point, in either order of bytes (ASAM MDF 4.1)."""

_MASTER_KINDS = (2, 3)
_FRAMES_OF_A_BUS = "CAN_DataFrame"


@dataclass(frozen=True, kw_only=True)
class _Place:
    """Where a column lies in the file."""

    header: str
    group: int
    index: int


def open_mdf(path: Path, *, file: str, decode: Path | None) -> Sheet:
    """Measured channels, or with ``decode`` the frames of a bus that were recorded as such.

    LogError where the file is damaged, holds nothing but frames and no ``decode`` is given, or asammdf is missing.
    """
    with _opened(path, file) as mdf:
        places = _places(mdf)
        has_frames = any(name.startswith(_FRAMES_OF_A_BUS) for name in mdf.channels_db)
    if decode is not None:
        return open_trace(path, BUS_TRACE, file=file, decode=decode)
    if not places and has_frames:
        raise LogError(
            f"{file}: holds frames of a CAN bus, and nothing says what they hold. Give a DBC or a few lines of TOML: "
            'decode = "signals.toml" in drive.toml, or --decode signals.toml (the README shows how to write it).'
        )
    if not places:
        raise LogError(f"{file}: holds no channel of numbers over time. Look at what was recorded.")
    return Sheet(
        header=(TIME_HEADER, *(place.header for place in places)),
        read=lambda time, columns: _read(path, [places[c - 1] for c in columns], file),
    )


@contextmanager
def _opened(path: Path, file: str) -> Iterator:
    asammdf = load_extra("asammdf", extra="mdf", file=file)
    mdf = None
    with _hushed():
        try:
            mdf = asammdf.MDF(path)
        except Exception:
            # A damaged file makes asammdf stumble in many ways; all of them mean that it cannot be read.
            mdf = None
        if mdf is None:
            # Half an object is tidied up now, or Python prints that it could not be.
            gc.collect()
    if mdf is None:
        raise LogError(f"{file}: cannot be read as MDF 4: it is cut short or damaged. Copy it from the recorder again.")
    try:
        yield mdf
    finally:
        mdf.close()


@contextmanager
def _hushed() -> Iterator[None]:
    """What asammdf cannot tidy up of a file that it could not open is no news, and Python would print it."""
    hook = sys.unraisablehook
    sys.unraisablehook = lambda _: None
    try:
        yield
    finally:
        sys.unraisablehook = hook


def _places(mdf) -> list[_Place]:
    """All channels of numbers in groups that have a time; of several with one name, later ones with their group."""
    found: list[_Place] = []
    seen: Counter = Counter(("time",))
    for number, group in enumerate(mdf.groups):
        if mdf.masters_db.get(number) is None or group.channel_group.cycles_nr < 1:
            continue
        for index, channel in enumerate(group.channels):
            measured = channel.channel_type not in _MASTER_KINDS and channel.data_type in _NUMBERS
            if not measured or channel.name.startswith("CAN_") and "." in channel.name:
                continue
            name = channel.name if not seen[channel.name.lower()] else f"{channel.name} of group {number}"
            seen[channel.name.lower()] += 1
            unit = mdf.get_channel_unit(group=number, index=index)
            found.append(_Place(header=f"{name} [{unit}]" if unit else name, group=number, index=index))
    return found


def _read(path: Path, places: Sequence[_Place], file: str) -> Table:
    series, invalid = [], 0
    with _opened(path, file) as mdf:
        for place in places:
            time, values = _signal(mdf, place, file)
            invalid += int(mdf.groups[place.group].channel_group.cycles_nr) - time.size
            series.append((place.header, time, values))
    moments = np.unique(np.concatenate([time for _, time, _ in series]))
    table = lay_rows(
        [Series(header=h, row=np.searchsorted(moments, t) + 1, time=t, values=v) for h, t, v in series]
    )  # fmt: skip
    mended = {"samples marked as invalid": invalid} if invalid > 0 else {}
    return Table(
        time=table.time, time_is_text=False, values=table.values, rows=table.rows, mended=mended, remarks=()
    )  # fmt: skip


def _signal(mdf, place: _Place, file: str) -> tuple[np.ndarray, np.ndarray]:
    """Times [s] and values of a channel, its conversion applied and what is marked invalid left out."""
    try:
        signal = mdf.get(group=place.group, index=place.index)
        if signal.samples.dtype.kind not in "biuf":
            # A table of texts stands behind the numbers: the numbers are wanted.
            signal = mdf.get(group=place.group, index=place.index, raw=True)
    except Exception:
        raise LogError(f"{file}, channel {place.header}: cannot be read: it is cut short or damaged there.") from None
    if signal.samples.ndim != 1 or signal.samples.dtype.kind not in "biuf":
        return np.zeros(0), np.zeros(0)
    return np.asarray(signal.timestamps, dtype=float), signal.samples.astype(float)
