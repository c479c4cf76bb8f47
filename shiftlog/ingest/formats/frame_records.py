"""The records of a binary log as ``firmware_notes/frames.md`` lays them down: bytes to headers, samples and marks.

Plain Python on bytes, without arrays, so that it can be fuzzed. What a checksum does not vouch for is counted and
never returned; reading goes on behind the next zero byte.
"""

import binascii
import struct
from collections.abc import Iterator
from dataclasses import dataclass

from shiftlog.ingest.formats.cobs import decode_cobs
from shiftlog.ingest.formats.frame_header import FrameHeader, read_description

HEADER, EVEN, STAMPED, MARKER = 1, 2, 3, 4

_HEAD = struct.Struct("<BBHHI")
_CRC_BYTES = 2
_SHORTEST = _HEAD.size + _CRC_BYTES


@dataclass(frozen=True, kw_only=True, slots=True)
class FrameRecord:
    """One record whose checksum is right.

    at : its first byte in the file; kind : as numbered above, or a later one; layout : of the header it belongs to
    counter_us : 40 bits [us], of the first sample; body : what follows the head
    """

    at: int
    kind: int
    sequence: int
    layout: int
    counter_us: int
    body: bytes


@dataclass(frozen=True, kw_only=True)
class FrameFile:
    """Everything a file holds: headers by layout, records in the order of the file, and what was lost.

    damaged : frames with a wrong checksum; rubbish : bytes that are no frame; unfit : frames with a right checksum that
    do not fit their header, or have none
    """

    headers: dict[int, FrameHeader]
    records: tuple[FrameRecord, ...]
    damaged: int
    rubbish: int
    unfit: int


def parse_frames(data: bytes, *, file: str) -> FrameFile:
    """All records of a file. LogError where a header is written in a later version."""
    headers: dict[int, FrameHeader] = {}
    records: list[FrameRecord] = []
    damaged = rubbish = 0
    for at, block in _blocks(data):
        raw = decode_cobs(block)
        if raw is None or len(raw) < _SHORTEST:
            rubbish += len(block)
        elif not has_right_crc(raw):
            damaged += 1
        else:
            record = _record(raw, at)
            records.append(record)
            _keep_header(record, headers, file)
    fitting = [record for record in records if _fits(record, headers)]
    return FrameFile(
        headers=headers, records=tuple(fitting), damaged=damaged, rubbish=rubbish, unfit=len(records) - len(fitting)
    )


def has_right_crc(raw: bytes) -> bool:
    """Whether a decoded frame ends with the CRC-16/IBM-3740 of what stands before, low byte first."""
    return binascii.crc_hqx(raw[:-_CRC_BYTES], 0xFFFF) == int.from_bytes(raw[-_CRC_BYTES:], "little")


def holds_frames(head: bytes) -> bool:
    """Whether the first bytes of a file hold a header, or two records of one layout, with right checksums."""
    layouts: set[int] = set()
    for _, block in _blocks(head):
        raw = decode_cobs(block)
        if raw is None or len(raw) <= _SHORTEST or not has_right_crc(raw):
            continue
        record = _record(raw, 0)
        if record.layout in layouts or (record.kind == HEADER and _names_itself(record)):
            return True
        layouts.add(record.layout)
    return False


def _blocks(data: bytes) -> Iterator[tuple[int, bytes]]:
    """What stands between zero bytes, each with its place in the file."""
    at = 0
    while at < len(data):
        end = data.find(b"\0", at)
        end = len(data) if end < 0 else end
        if end > at:
            yield at, data[at:end]
        at = end + 1


def _record(raw: bytes, at: int) -> FrameRecord:
    kind, wraps, sequence, layout, counter = _HEAD.unpack_from(raw)
    return FrameRecord(
        at=at, kind=kind, sequence=sequence, layout=layout, counter_us=wraps << 32 | counter,
        body=raw[_HEAD.size : -_CRC_BYTES],
    )  # fmt: skip


def _keep_header(record: FrameRecord, headers: dict[int, FrameHeader], file: str) -> None:
    if record.kind != HEADER or record.layout in headers:
        return
    if not _names_itself(record):
        return
    header = read_description(record.body, layout=record.layout, file=file)
    if header is not None:
        headers[record.layout] = header


def _names_itself(record: FrameRecord) -> bool:
    """Whether a header's layout is the checksum of its own description, as it must be."""
    return binascii.crc_hqx(record.body, 0xFFFF) == record.layout


def _fits(record: FrameRecord, headers: dict[int, FrameHeader]) -> bool:
    """Whether a record has its header and a body of the length that goes with it; of later kinds nothing is asked."""
    header = headers.get(record.layout)
    if header is None:
        return False
    length, sample = len(record.body), 2 * len(header.channels)
    if record.kind == EVEN:
        return length > 4 and (length - 4) % sample == 0 and record.body[:4] != bytes(4)
    if record.kind == STAMPED:
        return length > 0 and length % (sample + 2) == 0
    return length == 1 if record.kind == MARKER else True
