"""Diagnostic frames in a CAN trace to columns: answers of control units to OBD-II requests (ISO 15765-4)."""

from shiftlog.ingest.formats.can_frames import FrameKey, Frames
from shiftlog.ingest.formats.iso_tp import Assembler
from shiftlog.ingest.formats.obd_series import ObdColumns
from shiftlog.ingest.obd import ANSWER
from shiftlog.ingest.sheet import Sheet, sheet_of_series

ANSWERS: frozenset[FrameKey] = frozenset(
    {(identifier, False) for identifier in range(0x7E8, 0x7F0)} | {(0x18DAF100 + unit, True) for unit in range(256)}
)
"""Identifiers under which control units answer a tester (ISO 15765-4)."""


def open_obd_frames(frames: Frames, *, file: str) -> Sheet | None:
    """The answers in a trace; None where it holds none of service 01."""
    columns, assembler = ObdColumns(), Assembler()
    data = frames.data.tobytes()
    rows = zip(frames.row, frames.time, frames.key, frames.start, frames.length, strict=True)
    for row, time, key, start, length in rows:
        identifier, _, interface = frames.keys[key]
        unit = f"{identifier:03X}"
        payload = assembler.take(f"{interface} {unit}", data[start : start + length])
        if payload and payload[0] == ANSWER:
            columns.take(unit, payload, row=int(row), time=float(time))
    series, remarks = columns.series(file)
    if not series:
        return None
    remarks.append(f"{file}: answers to OBD requests were read; a DBC or TOML (decode) reads the bus itself.")
    counts = {"answers of which a frame is missing": assembler.lost, "answers without a known figure": columns.other}
    return sheet_of_series(series, mended={name: n for name, n in counts.items() if n}, remarks=tuple(remarks))
