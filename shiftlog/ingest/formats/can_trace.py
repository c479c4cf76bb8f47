"""CAN traces to columns: frames of the bus, decoded by a DBC, by a few lines of TOML, or as answers to OBD requests."""

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from shiftlog.errors import LogError
from shiftlog.ingest.formats.bus_signal import BusSignal, SignalValues, decode_signal
from shiftlog.ingest.formats.can_frames import Frames, TraceKind, read_trace
from shiftlog.ingest.formats.dbc_file import read_dbc
from shiftlog.ingest.formats.obd_trace import ANSWERS, open_obd_frames
from shiftlog.ingest.formats.signals_file import read_signals_file
from shiftlog.ingest.formats.trace_lines import is_whole_asc, is_whole_trc
from shiftlog.ingest.sheet import TIME_HEADER, Series, Sheet, Table, lay_rows
from shiftlog.ingest.time_forms import date_s

_HEX = r"[0-9A-Fa-f]"
_BYTES = rf"(?:#{_HEX})?(?:[Rr]\d?|(?:{_HEX}{{2}})*)"

_LOGGED = re.compile(rf"\s*\(\d+\.\d+\)\s+\S+\s+{_HEX}{{3,8}}#{_BYTES}(?:\s+[RT])?\s*$")

CANDUMP = TraceKind(
    reader="CanutilsLogReader",
    is_whole=lambda line, _: _LOGGED.match(line),
    identifier=re.compile(rf"\s*\(\d+\.\d+\)\s+\S+\s+({_HEX}{{3,8}})#"),
    stamp=re.compile(r"\s*\((\d+\.\d+)\)\s+(\S+)"),
)
_DATED = r"\d{4}-\d\d-\d\d \d\d:\d\d:\d\d\.\d+"
_ON_SCREEN = re.compile(
    rf"\s*\((?P<time>\d+\.\d+|{_DATED})\)\s+(?P<bus>\S+)\s+(?:[RT]X\s+\S+\s+)?(?P<id>{_HEX}{{3,8}})\s+\[(?P<length>\d+)\]\s*(?P<data>.*)"
)


def _from_screen(line: str) -> str:
    """``(time) can0  140   [8]  00 06 …``, as candump shows frames on a screen, as it logs them."""
    found = _ON_SCREEN.match(line)
    if found is None:
        return line
    data = found["data"].partition("'")[0]
    content = "R" if data.lower().startswith("remote") else "".join(data.split())
    many = "#" if len(found["length"]) == 2 else ""
    flags = "0" if many else ""
    try:
        time = f"{date_s(found['time']):.6f}" if " " in found["time"] else found["time"]
    except ValueError:
        return line
    return f"({time}) {found['bus']} {found['id']}#{many}{flags}{content}\n"


CANDUMP_SCREEN = replace(CANDUMP, rewrite=_from_screen)
TRC = TraceKind(
    reader="TRCReader",
    is_whole=is_whole_trc,
    head=re.compile(r"\s*;"),
    headless=re.compile(r"\s*\d+\)?\s+\d+\.?\d*\s+(?:\d+\s+)?(?:[RT]x|DT|FD|FB|FE|BI|RR)\s"),
)
ASC = TraceKind(
    reader="ASCReader",
    interface_shift=1,
    is_whole=is_whole_asc,
    stamp=re.compile(r"\s*(\d+\.\d+)\s+(\S+)"),
    relative=re.compile(r"\s*base\s+(?:hex|dec)\s+timestamps\s+relative", re.IGNORECASE),
    head=re.compile(r"\s*(?:date\s|base\s|(?:no\s+)?internal\s+events|//)", re.IGNORECASE),
)
BLF = TraceKind(reader="BLFReader", binary=True, interface_shift=1)

_NAMED = 8
"""So many names are listed in one line."""


def open_trace(path: Path, kind: TraceKind, *, file: str, decode: Path | None) -> Sheet:
    """A trace as columns. LogError where nothing says what its frames hold, or none of the signals is in it."""
    if decode is None:
        return _undecoded(path, kind, file)
    signals = read_decoding(decode, file=file)
    frames = read_trace(path, kind, frozenset((s.identifier, s.extended) for s in signals), file=file)
    found = _find_signals(signals, frames)
    absent = [signal for signal in signals if signal not in {f.signal for f in found}]
    if not found:
        raise LogError(
            f"{file}: holds no frame of any signal in {decode.name} ({_listed(absent)}). Look at the identifiers, and "
            "whether this is the right trace."
        )
    remarks = _empty_frames(frames, file)
    if decode.suffix.lower() == ".toml" and absent:
        remarks.append(f"{file}: no frame in it of {_listed(absent)}.")
    return Sheet(
        header=(TIME_HEADER, *(f.signal.header for f in found)),
        read=lambda _, columns: _read([found[c - 1] for c in columns] or found[:1], frames, file, remarks),
        absent=tuple(name for signal in absent for name in (signal.name, signal.header)),
    )


def read_decoding(path: Path, *, file: str) -> tuple[BusSignal, ...]:
    """The signals that a DBC or a TOML declares; ``file`` names the log that needs them."""
    if path.suffix.lower() == ".dbc":
        return read_dbc(path, file=file)
    if path.suffix.lower() == ".toml":
        return read_signals_file(path)
    raise LogError(f"{file}: {path.name} cannot decode its frames; a DBC (.dbc) or a few lines of TOML can.")


def _undecoded(path: Path, kind: TraceKind, file: str) -> Sheet:
    """Answers to OBD requests explain themselves; other frames do not."""
    answers = open_obd_frames(read_trace(path, kind, ANSWERS, file=file), file=file)
    if answers is not None:
        return answers
    raise LogError(
        f"{file}: is a trace of CAN frames, and nothing says what they hold. Give a DBC or a few lines of TOML: "
        'decode = "signals.toml" in drive.toml, or --decode signals.toml (the README shows how to write it).'
    )


@dataclass(frozen=True, kw_only=True)
class _Found:
    """A signal, the kind of frame that holds it, and the interfaces on which that frame is to be seen."""

    signal: BusSignal
    key: int
    interfaces: tuple[str, ...]


def _find_signals(signals: Sequence[BusSignal], frames: Frames) -> list[_Found]:
    """The signals of which the trace holds frames; of several interfaces that with most of them."""
    counts = np.bincount(frames.key, minlength=len(frames.keys))
    found = []
    for signal in signals:
        fitting = [i for i, key in enumerate(frames.keys) if _fits(signal, key)]
        if fitting:
            best = max(fitting, key=lambda i: int(counts[i]))
            names = tuple(sorted(frames.keys[i][2] for i in fitting))
            found.append(_Found(signal=signal, key=best, interfaces=names))
    return found


def _read(found: Sequence[_Found], frames: Frames, file: str, remarks: Sequence[str]) -> Table:
    """The signals asked for, decoded only now: a DBC has hundreds."""
    series, told, empty = [], [], []
    left = Counter({kind: frames.counts.get(kind, 0) for kind in ("rows that are no frame", "ends in damage")})
    for one in found:
        own = frames.of(one.key)
        decoded = decode_signal(one.signal, own.content(), own.length)
        left["frames too short"] += decoded.short
        left["values outside their range"] += decoded.outside
        told += _range_told(one.signal, decoded, file)
        held = np.isfinite(decoded.values)
        if not held.any():
            empty.append(_why_empty(one.signal, decoded, int(own.length.max())))
        series.append(
            Series(header=one.signal.header, row=own.row[held], time=own.time[held], values=decoded.values[held])
        )
    if len(empty) == len(series):
        raise LogError(f"{file}: {'; '.join(empty)}.")
    told += [f"{file}: {why}." for why in empty]
    chosen = [_choice(one, frames.keys[one.key][2], file) for one in found if len(one.interfaces) > 1]
    return replace(
        lay_rows(series), mended={kind: n for kind, n in left.items() if n}, remarks=(*remarks, *chosen, *told)
    )  # fmt: skip


def _why_empty(signal: BusSignal, decoded: SignalValues, longest: int) -> str:
    """Why no frame gives a value of a signal; ``longest`` : bytes in the longest one."""
    frames = f"frames of 0x{signal.identifier:03X}"
    if longest < signal.bytes_needed:
        return (
            f"{signal.name} needs {signal.bytes_needed} bytes, {frames} have {longest}; look at start, length and order"
        )
    if decoded.outside:
        return f"all {decoded.outside} values of {signal.name} lie beyond {_range(signal)}; look at low, high and scale"
    return f"no value of {signal.name} is in the {frames}; look at what selects it"


def _range_told(signal: BusSignal, decoded: SignalValues, file: str) -> list[str]:
    """A line where the range of a DBC cannot be right."""
    if not decoded.beyond:
        return []
    held = int(np.count_nonzero(np.isfinite(decoded.values)))
    return [
        f"{file}: {decoded.beyond} of {held} values of {signal.name} lie beyond the range of the DBC, "
        f"{_range(signal)}; it is taken for wrong, and they are kept."
    ]


def _range(signal: BusSignal) -> str:
    low, high = ("any" if bound is None else f"{bound:g}" for bound in (signal.low, signal.high))
    return f"{low} to {high} {signal.unit or ''}".rstrip()


def _choice(one: _Found, taken: str, file: str) -> str:
    return (
        f"{file}: {one.signal.name} is on several interfaces ({', '.join(one.interfaces)}); taken from {taken}. "
        "interface in the TOML says otherwise."
    )


def _fits(signal: BusSignal, key: tuple[int, bool, str]) -> bool:
    return (signal.identifier, signal.extended) == key[:2] and signal.interface in (None, key[2])


def _empty_frames(frames: Frames, file: str) -> list[str]:
    held = [f"{frames.counts[kind]} {kind}" for kind in ("error frames", "remote frames") if frames.counts.get(kind)]
    return [f"{file}: {' and '.join(held)} in it, which hold no values."] if held else []


def _listed(signals: Sequence[BusSignal]) -> str:
    names = [f"{signal.name} (0x{signal.identifier:03X})" for signal in signals]
    return ", ".join(names[:_NAMED]) + (f" and {len(names) - _NAMED} more" if len(names) > _NAMED else "")
