"""Writes binary logs byte by byte as ``firmware_notes/frames.md`` says, without the reader's or the encoder's code."""

import struct
from dataclasses import dataclass, field

DEVICE, PLACE = "bench", "lever"
CHANNELS = (("select", "count", 0, 1, 0, 0, 0), ("accel_x", "mg", 0, 61, -3, 0, 0))


def encode_cobs(raw: bytes) -> bytes:
    """Runs of up to 254 bytes that are not zero, each behind its length and one."""
    out = bytearray()
    runs = raw.split(b"\0")
    for number, run in enumerate(runs):
        while len(run) > 254:
            out += b"\xff" + run[:254]
            run = run[254:]
        out += bytes([len(run) + 1]) + run
        if len(run) == 254 and number < len(runs) - 1:
            # A full run stands for no zero; an empty one behind it does.
            out += b"\x01"
    return bytes(out)


def crc16(data: bytes) -> int:
    """CRC-16/IBM-3740."""
    crc = 0xFFFF
    for byte in data:
        crc = (crc << 8 ^ _CRC_OF_BYTE[crc >> 8 ^ byte]) & 0xFFFF
    return crc


def _crc_of(byte: int) -> int:
    crc = byte << 8
    for _ in range(8):
        crc = (crc << 1 ^ 0x1021 if crc & 0x8000 else crc << 1) & 0xFFFF
    return crc


_CRC_OF_BYTE = [_crc_of(byte) for byte in range(256)]


def framed(raw: bytes) -> bytes:
    return encode_cobs(raw + struct.pack("<H", crc16(raw))) + b"\0"


def text(words: str) -> bytes:
    return bytes([len(words.encode())]) + words.encode()


@dataclass
class FrameWriter:
    """A recorder: ``frames`` are its bytes, frame by frame, and ``samples`` what it wrote as (time in us, counts)."""

    device: str = DEVICE
    place: str = PLACE
    clock: str = ""
    session: int = 7
    rate_hz: float = 250.0
    channels: tuple = CHANNELS
    sequence: int = 0
    frames: list[bytes] = field(default_factory=lambda: [b"\0"])
    samples: list[tuple[int, tuple[int, ...]]] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.layout = crc16(self.description())

    def description(self) -> bytes:
        body = struct.pack("<BHI", 1, self.session, round(self.rate_hz * 1000))
        body += text(self.device) + text(self.place) + text(self.clock) + bytes([len(self.channels)])
        for name, unit, flags, scale, scale_exponent, offset, offset_exponent in self.channels:
            body += (
                text(name) + text(unit) + struct.pack("<Bibib", flags, scale, scale_exponent, offset, offset_exponent)
            )
        return body

    def record(self, kind: int, counter_us: int, body: bytes) -> None:
        head = struct.pack(
            "<BBHHI", kind, counter_us >> 32 & 0xFF, self.sequence & 0xFFFF, self.layout, counter_us & 0xFFFFFFFF
        )
        self.sequence += 1
        self.frames.append(framed(head + body))

    def header(self, counter_us: int = 0) -> None:
        self.record(1, counter_us, self.description())

    def even(self, counter_us: int, step_us: int, rows: list[tuple[int, ...]]) -> None:
        body = struct.pack("<I", step_us * 1000) + b"".join(struct.pack(f"<{len(r)}h", *r) for r in rows)
        self.record(2, counter_us, body)
        self.samples += [(counter_us + i * step_us, tuple(row)) for i, row in enumerate(rows)]

    def stamped(self, times_us: list[int], rows: list[tuple[int, ...]]) -> None:
        deltas = [0, *(b - a for a, b in zip(times_us, times_us[1:], strict=False))]
        body = b"".join(struct.pack(f"<H{len(r)}h", d, *r) for d, r in zip(deltas, rows, strict=True))
        self.record(3, times_us[0], body)
        self.samples += [(t, tuple(row)) for t, row in zip(times_us, rows, strict=True)]

    def marker(self, counter_us: int, code: int) -> None:
        self.record(4, counter_us, bytes([code]))

    @property
    def data(self) -> bytes:
        return b"".join(self.frames)
