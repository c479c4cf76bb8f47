"""Which lines of a text trace are whole: readers pass over what they do not know, and that would be lost unsaid."""

import re
from collections.abc import Sequence

_ASC_FRAME = re.compile(
    r"\s*\d+\.\d+\s+\d+\s+[0-9A-Fa-f]+x?\s+[RT]x\s+(?:[Rr]\b|[Dd]\s+(?P<length>[0-9A-Fa-f]+)(?P<data>(?:\s.*)?)$)"
)
_ASC_LIKE = re.compile(r"\s*\d+[.,]\d+(?:\s+\d+(?:\s+[0-9A-Fa-f]+x?(?!\s+TxRq)(?:\s.*)?)?)?\s*$", re.IGNORECASE)
"""Time, interface and a number: a frame, were it whole. Statistics, states and comments have words there."""

_TRC_NUMBERED = re.compile(r"\s*\d+\)?\s+\d+\.?\d*\s+\S+\s+\S+")
_TRC_OTHER = {"ST", "ER", "EC", "EV", "RR", "Error", "Warng", "FFFFFFFF"}
"""Lines of a TRC that are whole and hold no data: states, errors, requests, events, news of the bus."""

_HEX_BYTE = re.compile(r"[0-9A-Fa-f]{2}$")
_LONG = {9: 12, 10: 16, 11: 20, 12: 24, 13: 32, 14: 48, 15: 64}
"""Codes of the lengths of long frames (ISO 11898-1)."""


def is_whole_asc(line: str, head: Sequence[str]) -> bool:
    """Whether a line of an ASC is a frame with all its bytes, or no frame at all; ``head`` says in what base."""
    found = _ASC_FRAME.match(line)
    if found is None:
        return not _ASC_LIKE.match(line) and line.strip().isprintable()
    if found["length"] is None:
        return True
    decimal = any("base dec" in " ".join(text.lower().split()) for text in head)
    count = min(8, int(found["length"], 16))
    held = found["data"].split()[:count]
    return len(held) == count and (decimal or all(map(_HEX_BYTE.match, held)))


def is_whole_trc(line: str, _: Sequence[str]) -> bool:
    """Whether a line of a TRC is numbered and, where it is a frame with data, has as many bytes as it says."""
    if not _TRC_NUMBERED.match(line):
        return False
    cells = line.split()
    if cells[-1] == "RTR" or _TRC_OTHER & set(cells[2:4]):
        return True
    for at in range(len(cells) - 1, 2, -1):
        behind = len(cells) - at - 1
        if cells[at].isdecimal() and behind in (int(cells[at]), _LONG.get(int(cells[at]))):
            return True
        if not _HEX_BYTE.match(cells[at]):
            return False
    return False
