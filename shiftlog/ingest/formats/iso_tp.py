"""ISO 15765-2 (ISO-TP): answers longer than a CAN frame, put together again.

Plain Python on bytes, without arrays, so that it can be fuzzed.
"""

from dataclasses import dataclass, field

_SINGLE, _FIRST, _FOLLOWING = 0, 1, 2


@dataclass
class _Part:
    length: int
    data: bytes
    next_number: int


@dataclass
class Assembler:
    """Answers of several senders that come frame by frame; ``lost`` : answers of which a frame was missing."""

    lost: int = 0
    _open: dict[str, _Part] = field(default_factory=dict)

    def take(self, sender: str, frame: bytes) -> bytes | None:
        """The answer that a frame completes, or None."""
        if not frame:
            return None
        kind = frame[0] >> 4
        if kind == _SINGLE:
            return self._single(sender, frame)
        if kind == _FIRST and len(frame) >= 3:
            self._give_up(sender)
            length = (frame[0] & 0x0F) << 8 | frame[1]
            self._open[sender] = _Part(length=length, data=frame[2:], next_number=1)
            return None
        return self._following(sender, frame) if kind == _FOLLOWING else None

    def _single(self, sender: str, frame: bytes) -> bytes | None:
        self._give_up(sender)
        length = frame[0] & 0x0F
        return frame[1 : 1 + length] if 0 < length < len(frame) else None

    def _following(self, sender: str, frame: bytes) -> bytes | None:
        part = self._open.get(sender)
        if part is None:
            return None
        if frame[0] & 0x0F != part.next_number:
            self._give_up(sender)
            return None
        part.data += frame[1:]
        part.next_number = (part.next_number + 1) & 0x0F
        if len(part.data) < part.length:
            return None
        del self._open[sender]
        return part.data[: part.length]

    def _give_up(self, sender: str) -> None:
        if self._open.pop(sender, None) is not None:
            self.lost += 1
