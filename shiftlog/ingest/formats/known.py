"""The one list of log formats: how each is known, what it needs, and where it is read."""

import re
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from shiftlog.errors import LogError
from shiftlog.ingest.formats.can_frames import TraceKind
from shiftlog.ingest.formats.can_trace import ASC, BLF, CANDUMP, CANDUMP_SCREEN, TRC, open_trace
from shiftlog.ingest.formats.frame_records import holds_frames
from shiftlog.ingest.formats.frames import FRAMES_SUFFIX, open_frames
from shiftlog.ingest.formats.gpx import open_gpx
from shiftlog.ingest.formats.mdf import open_mdf
from shiftlog.ingest.formats.nmea import open_nmea
from shiftlog.ingest.formats.obd_log import open_obd_log
from shiftlog.ingest.sheet import Sheet
from shiftlog.ingest.table import open_text
from shiftlog.ingest.text_bytes import find_encoding, narrow
from shiftlog.ingest.text_form import read_head


@dataclass(frozen=True, kw_only=True)
class LogFormat:
    """One format of log.

    name : for messages; endings : as such files are mostly called; what is in the file decides
    looks : whether the first bytes are those of this format; open : (path, file, decode) → Sheet
    extra : of pyproject.toml that reading needs, or None; decoded : whether it can be decoded by a DBC or TOML
    """

    name: str
    endings: tuple[str, ...]
    looks: Callable[[bytes], bool]
    open: Callable[[Path, str, Path | None], Sheet]
    extra: str | None = None
    decoded: bool = False


_LINE_BYTES = 400
"""A longer line is none of a log of lines."""


def _line(pattern: str, *, among: int = 50) -> Callable[[bytes], bool]:
    """Whether one of the first lines matches."""
    wanted = re.compile(pattern.encode(), re.IGNORECASE)

    def looks(head: bytes) -> bool:
        lines = head.removeprefix(b"\xef\xbb\xbf").splitlines()[:among]
        return any(wanted.match(line[:_LINE_BYTES]) for line in lines)

    return looks


def _magic(*starts: bytes) -> Callable[[bytes], bool]:
    return lambda head: head.startswith(starts)


def _trace(kind: TraceKind) -> Callable[[Path, str, Path | None], Sheet]:
    return lambda path, file, decode: open_trace(path, kind, file=file, decode=decode)


def _alone(reader: Callable[..., Sheet]) -> Callable[[Path, str, Path | None], Sheet]:
    """A reader of a format in which there is nothing to decode."""
    return lambda path, file, decode: reader(path, file=file)


def _decoded(reader: Callable[..., Sheet]) -> Callable[[Path, str, Path | None], Sheet]:
    return lambda path, file, decode: reader(path, file=file, decode=decode)


_STAMPED = r"\s*(?:[\[(<]?(?:[\d\-/.,:TZ+ ]|[A-Z]{3,9}[- ](?=(?:19|20)\d\d)){3,35}(?:[AP]\.?M\.?)?\s*[\])>]?[\s,;:|]*)?"
"""A line's beginning: nothing, or what may be a time."""

_ANSWER = (
    rf"{_STAMPED}(?:[A-Z]{{2,9}}\b\s*[:,;]?\s*|<+\s*|>\s*)?(?:01\s?[0-9A-F][0-9A-F ]*[,;|>\t]\s*)?"
    r"(?:(?:0x)?7E[89A-F][\s,;]*|18\s?DA\s?F1\s?[0-9A-F]{2}[\s,;]*|48\s?6B\s?[0-9A-F]{2}\s*|"
    r"8[0-9A-F]\s?F1\s?[0-9A-F]{2}\s*|0:\s*)?"
    r"(?:0[0-9A-F]\s?|10\s?[0-9A-F]{2}\s?)?41\s?(?:[0-9A-F]{2}\s?)*0[CD](?:\s?[0-9A-F]{2})+[\s>,;|\"]*$"
)
"""An answer with engine or vehicle speed, by which the log of an adapter is known: no table of numbers has it."""

FORMATS = (
    LogFormat(name="binary log", endings=(FRAMES_SUFFIX,), looks=holds_frames, open=_alone(open_frames)),
    LogFormat(name="CAN trace (BLF)", endings=(".blf",), extra="can", decoded=True,
              looks=_magic(b"LOGG"), open=_trace(BLF)),
    LogFormat(name="MDF 4 log", endings=(".mf4",), extra="mdf", decoded=True,
              looks=_magic(b"MDF     4", b"UnFinMF 4"), open=_decoded(open_mdf)),
    LogFormat(name="GPX track", endings=(".gpx",),
              looks=lambda head: b"<gpx" in head[:4096], open=_alone(open_gpx)),
    LogFormat(name="CAN trace (candump)", endings=(".log",), extra="can", decoded=True,
              looks=_line(r"\s*\(\d+\.\d+\)\s+\S+\s+[0-9A-F]{3,8}#"), open=_trace(CANDUMP)),
    LogFormat(name="CAN trace (candump's screen)", endings=(".log",), extra="can", decoded=True,
              looks=_line(r"\s*\((?:\d{4}-\d\d-\d\d \d\d:\d\d:)?\d+\.\d+\)\s+\S+\s+"
                          r"(?:[RT]X\s+\S+\s+)?[0-9A-F]{3,8}\s+\[\d+\]"),
              open=_trace(CANDUMP_SCREEN)),
    LogFormat(name="CAN trace (TRC)", endings=(".trc",), extra="can", decoded=True, open=_trace(TRC),
              looks=_line(r";\$FILEVERSION=|\s*\d+\)\s+\d+\.?\d*\s+(?:(?:\d+\s+)?(?:Rx|Tx)\s+)?[0-9A-F]{4,8}\s+(?:-\s+)?\d|"
                          r"\s*\d+\)?\s+\d+\.\d+\s+(?:DT|FD|FB|FE|BI|RR)\s+(?:\d+\s+)?[0-9A-F]{4,8}\s+[RT]x\s")),
    LogFormat(name="CAN trace (ASC)", endings=(".asc",), extra="can", decoded=True, open=_trace(ASC),
              looks=_line(r"base\s+(?:hex|dec)\b|\s*\d+\.\d+\s+(?:CANFD\s+\d+\s+(?:Rx|Tx)|\d+\s+[0-9A-F]+x?\s+(?:Rx|Tx)\s+[dr])")),
    LogFormat(name="NMEA 0183 log", endings=(".nmea", ".txt", ".log"),
              looks=_line(r".*[$][A-Z]{2}(?:RMC|GGA|VTG|GSA|GSV|GLL),"), open=_alone(open_nmea)),
    LogFormat(name="OBD log", endings=(".txt", ".log"), looks=_line(_ANSWER, among=400), open=_alone(open_obd_log)),
)  # fmt: skip
"""Looked through in this order; what is none of them is taken for delimited text."""


def open_sheet(path: Path, *, file: str, decode: Path | None = None) -> Sheet:
    """Opens a log of any known format. LogError, in one line, where it cannot be used.

    file : the name by which messages call it; decode : says what the frames of a bus trace hold
    """
    found = find_format(path, file=file)
    if found is None:
        if decode is not None:
            raise LogError(f"{file}: is no trace of a bus, so that {decode.name} decodes nothing. Leave it out.")
        return open_text(path, file=file)
    if decode is not None and not found.decoded:
        raise LogError(f"{file}: is a {found.name}, so that {decode.name} decodes nothing. Leave it out.")
    return found.open(path, file, decode)


def find_format(path: Path, *, file: str) -> LogFormat | None:
    """The format of a log by its first bytes; None where it is delimited text, if anything.

    LogError where the file cannot be opened, or is none of the format that its ending names.
    """
    head = read_head(path, file=file)
    found = _by_head(head) or _by_head(narrow(head, find_encoding(head)))
    if found is None and b"\0" in head and (named := _binary_by_ending(path)) is not None:
        raise LogError(f"{file}: does not begin as a {named.name} does. Export it again.")
    return found


def _by_head(head: bytes) -> LogFormat | None:
    return next((f for f in FORMATS if f.looks(head)), None)


_BINARY_ENDINGS = (".blf", ".mf4", FRAMES_SUFFIX)


def _binary_by_ending(path: Path) -> LogFormat | None:
    ending = path.suffix.lower()
    return next((f for f in FORMATS if ending in f.endings and ending in _BINARY_ENDINGS), None)
