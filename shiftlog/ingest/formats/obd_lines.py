"""Lines of a log of OBD-II requests and answers, as adapters print them, to answers of control units.

Plain Python on text, without arrays, so that it can be fuzzed. Read are answers with and without headers, with and
without blanks: ``41 0C 1A F8``, ``7E8 04 41 0C 1A F8``, ``18DAF11004410C1AF8``, ``48 6B 10 41 0C 1A F8 24``,
``83 F1 11 41 0C 1A F8 ..``, and long ones in numbered lines.
"""

import re
from dataclasses import dataclass, field

from shiftlog.ingest.formats.iso_tp import Assembler
from shiftlog.ingest.obd import ANSWER

_WORDS = re.compile(
    r"(?:(?:tx|rx|send|sent|recv|rcvd|received|request|response|req|resp|answer|out|in)\b|<-+|-+>|<+)[\s:,;|]*",
    re.IGNORECASE,
)
_NOTHING = re.compile(
    r"NO ?DATA|SEARCHING|STOPPED|UNABLE|BUS ?(?:INIT|BUSY|ERROR)|CAN ?ERROR|BUFFER FULL|<?RX ERROR|DATA ERROR|FB ERROR|"
    r"ERR\d|ACT ALERT|LV RESET|\?$|ERROR",
    re.IGNORECASE,
)
_HEX_ONLY = re.compile(r"(?:0x)?[0-9A-Fa-f\s]+$")
_NUMBERED = re.compile(r"([0-9A-Fa-f]):\s*((?:[0-9A-Fa-f]{2}\s*)+)$")
_UNIT = re.compile(r"(?:0x)?(?:7E[89A-F]|18 ?DA ?F1 ?[0-9A-F]{2})$", re.IGNORECASE)
_LENGTH = re.compile(r"0?[0-9A-Fa-f]{2,3}$")

_NO = ""


@dataclass(frozen=True, kw_only=True)
class Answer:
    """What a control unit answered; ``unit`` : its identifier, empty where the adapter shows none."""

    unit: str
    payload: bytes


@dataclass
class LineReader:
    """Reads one line after the other; ``empty`` : requests that got no data; ``odd`` : lines that are nothing known."""

    empty: int = 0
    odd: int = 0
    assembler: Assembler = field(default_factory=Assembler)
    _long: bytearray | None = None
    _long_length: int = 0

    def take(self, text: str) -> list[Answer]:
        """Answers in a line from which the time stamp was taken off: none, one, or one for each control unit."""
        found: list[Answer] = []
        unit = ""
        for piece in re.split(r"[>\r|,;\t]+", text):
            piece = unit + _WORDS.sub("", piece.strip().strip('"')).strip()
            # A table may hold the identifier in a column of its own.
            unit = piece + " " if _UNIT.match(piece) else ""
            if piece and not unit:
                found += self._piece(piece)
        return found

    def _piece(self, piece: str) -> list[Answer]:
        without = _NOTHING.sub(" ", piece).strip(" .")
        if without != piece.strip(" ."):
            # An adapter that says SEARCHING… may print the answer behind it.
            self.empty += not _HEX_ONLY.match(without or "x")
            piece = without
        if not piece or piece.upper().startswith(("AT", "ST", "OK", "ELM")):
            return []
        numbered = _NUMBERED.match(piece)
        if numbered is not None:
            return self._numbered(int(numbered[1], 16), bytes.fromhex(numbered[2]))
        if not _HEX_ONLY.match(piece):
            self.odd += 1
            return []
        return self._hex(piece)

    def _hex(self, piece: str) -> list[Answer]:
        digits = "".join(piece.split()).removeprefix("0x")
        if _LENGTH.match(digits) and len(digits) == 3:
            self._long, self._long_length = bytearray(), int(digits, 16)
            return []
        unit, frame = _headed(digits)
        if unit and frame:
            answer = frame if frame[0] == ANSWER else self.assembler.take(unit, frame)
            return [Answer(unit=unit, payload=answer)] if answer and answer[0] == ANSWER else []
        if len(digits) % 2:
            # A request may name the number of answers it waits for in one more digit: 010C1.
            self.odd += not digits.startswith("01")
            return []
        return _plain(bytes.fromhex(digits))

    def _numbered(self, number: int, data: bytes) -> list[Answer]:
        """A long answer without headers: a line with its length, then lines 0: 1: 2: …"""
        if number == 0 and self._long is not None:
            self._long = bytearray(data)
        elif self._long is not None:
            self._long += data
        if self._long is None or len(self._long) < self._long_length:
            return []
        payload, self._long = bytes(self._long[: self._long_length]), None
        return [Answer(unit=_NO, payload=payload)] if payload[:1] == bytes([ANSWER]) else []


def _headed(digits: str) -> tuple[str, bytes | None]:
    """The control unit and the CAN frame of an answer with an identifier before it, else an empty name."""
    text = digits.upper()
    if re.match(r"7E[89A-F]", text) and len(text) % 2 == 1:
        return text[:3], bytes.fromhex(text[3:])
    if text.startswith("18DAF1") and len(text) % 2 == 0 and len(text) > 10:
        return text[:8], bytes.fromhex(text[8:])
    return _NO, None


def _plain(data: bytes) -> list[Answer]:
    """Answers without an identifier of CAN: bare, or with three bytes of header and a checksum of the older buses."""
    if data[:1] == bytes([ANSWER]):
        return [Answer(unit=_NO, payload=data)]
    if len(data) > 6 and data[:2] == b"\x48\x6b" and data[3] == ANSWER:
        return [Answer(unit=f"{data[2]:02X}", payload=data[3:-1])]
    if len(data) > 6 and data[0] & 0xC0 == 0x80 and data[1] == 0xF1 and data[3] == ANSWER:
        return [Answer(unit=f"{data[2]:02X}", payload=data[3 : 3 + (data[0] & 0x3F)])]
    return []
