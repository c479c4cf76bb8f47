"""The description in a header record: who wrote the file, and what each channel's counts mean."""

import struct
from dataclasses import dataclass

from shiftlog.errors import LogError

VERSION = 1

_START = struct.Struct("<BHI")
_SCALING = struct.Struct("<Bibib")
_UNSIGNED, _HAS_MISSING = 1, 2

_GREATEST_EXPONENT = 18
"""No sensor's scale lies beyond 10^18 or below 10^-18; a damaged description with a lucky checksum may."""


@dataclass(frozen=True, kw_only=True)
class FrameChannel:
    """One channel of a header: value = count · scale + offset, in ``unit``.

    missing : the count that says that there is no value, or None
    """

    name: str
    unit: str
    unsigned: bool
    missing: int | None
    scale: float
    offset: float


@dataclass(frozen=True, kw_only=True)
class FrameHeader:
    """What a header record says.

    layout : the number by which other records name it; session : which start of the recorder, 0 where it cannot know
    rate_hz : nominal samples a second [Hz]
    """

    layout: int
    device: str
    place: str
    clock: str
    session: int
    rate_hz: float
    channels: tuple[FrameChannel, ...]


@dataclass
class _Cursor:
    """Bytes and how far they have been read."""

    body: bytes
    at: int = 0

    def take(self, form: struct.Struct) -> tuple:
        """The next fields. struct.error where the bytes end before."""
        fields = form.unpack_from(self.body, self.at)
        self.at += form.size
        return fields

    def take_byte(self) -> int:
        """The next byte. IndexError where there is none."""
        self.at += 1
        return self.body[self.at - 1]

    def take_text(self) -> str:
        """A length and as many bytes of UTF-8. ValueError where the bytes end before."""
        length = self.take_byte()
        text = self.body[self.at : self.at + length]
        if len(text) < length:
            raise ValueError("the text is cut short")
        self.at += length
        return text.decode("utf-8", errors="replace")


def read_description(body: bytes, *, layout: int, file: str) -> FrameHeader | None:
    """The description in a header's body, None where it is none. LogError where its version is not known."""
    if body and body[0] != VERSION:
        raise LogError(f"{file}: holds frames of version {body[0]}; this program reads version {VERSION}. Update it.")
    cursor = _Cursor(body=body)
    try:
        _, session, rate_mhz = cursor.take(_START)
        device, place, clock = cursor.take_text(), cursor.take_text(), cursor.take_text()
        channels = tuple(_channel(cursor) for _ in range(cursor.take_byte()))
    except (struct.error, IndexError, ValueError):
        return None
    if cursor.at != len(body) or not channels:
        return None
    return FrameHeader(
        layout=layout, device=device, place=place, clock=clock, session=session, rate_hz=rate_mhz / 1000,
        channels=channels,
    )  # fmt: skip


def _channel(cursor: _Cursor) -> FrameChannel:
    name, unit = cursor.take_text(), cursor.take_text()
    flags, scale, scale_exponent, offset, offset_exponent = cursor.take(_SCALING)
    unsigned = bool(flags & _UNSIGNED)
    return FrameChannel(
        name=name,
        unit=unit,
        unsigned=unsigned,
        missing=(0xFFFF if unsigned else -0x8000) if flags & _HAS_MISSING else None,
        scale=_decimal(scale, scale_exponent),
        offset=_decimal(offset, offset_exponent),
    )


def _decimal(mantissa: int, exponent: int) -> float:
    """mantissa · 10^exponent, as near as a float can be. ValueError beyond what a sensor needs."""
    if abs(exponent) > _GREATEST_EXPONENT:
        raise ValueError("no scale of a sensor")
    return mantissa * 10**exponent if exponent >= 0 else mantissa / 10**-exponent
