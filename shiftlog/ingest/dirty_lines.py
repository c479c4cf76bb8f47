"""Lines that do not split as the header does: found by counting, put right or dropped, and counted."""

import re
from collections import Counter
from dataclasses import dataclass, field

import numpy as np

from shiftlog.ingest.second_header import check_header
from shiftlog.ingest.text_form import TextForm

_COMMENTS = (b"#", b"//", b"%")
_QUOTED_COMMA = re.compile(rb'"[ \t]*([^",\n]*),(\d+(?:[eE][+-]?\d+)?)[ \t]*"')
"""A decimal comma of a number or of a time: "0,25", "13:53:20,000"."""

_CONTROL = bytes(b for b in (*range(32), 127) if b not in b"\t\n\r")


@dataclass
class Tally:
    """What was put right in one file so far."""

    file: str
    counts: Counter = field(default_factory=Counter)
    remarks: dict[str, str] = field(default_factory=dict)
    first_spoilt: str = ""
    spoilt_rows: int = 0
    header_rows: list[int] = field(default_factory=list)

    def note(self, kind: str, row: int, what: str) -> None:
        """Keeps the first of each kind, to be shown."""
        self.remarks.setdefault(kind, f"{self.file}, row {row}: {what}")

    def count(self, kind: str, row: int, what: str, *, spoilt: bool) -> None:
        """Counts one row that was dropped; ``spoilt`` where data were lost with it."""
        self.counts[kind] += 1
        self.note(kind, row, what)
        if spoilt:
            self.spoilt_rows += 1
            self.first_spoilt = self.first_spoilt or self.remarks[kind]


def header_bytes(form: TextForm) -> bytes:
    """The header as it stands in a block, to know it again when a restart repeats it."""
    return _plain(form.header_line.encode(_block_encoding(form)), form).strip()


def decoded(line: bytes, form: TextForm) -> str:
    """A line of a block as text."""
    return line.decode(_block_encoding(form), errors="replace")


def _block_encoding(form: TextForm) -> str:
    return "latin-1" if form.encoding == "latin-1" else "utf-8"


def clean_lines(
    block: bytes, form: TextForm, *, header: bytes, first_row: int, tally: Tally
) -> tuple[bytes, np.ndarray]:
    """The lines of a block that are whole rows, and the row of each in the file, (n,) int.

    A clean block goes through untouched: its separators are as many as its lines ask for.
    """
    block = _plain(block, form)
    separator = form.separator.encode()
    lines = block.count(b"\n")
    wanted = form.width - 1
    clean = block.count(separator) == lines * wanted and not _has_control(block)
    if clean and header not in block:
        return block, np.arange(first_row, first_row + lines, dtype=np.int64)
    kept, rows = [], []
    for row, line in enumerate(block.split(b"\n")[:lines], start=first_row):
        count = line.count(separator)
        if count < wanted and form.ragged and line.strip() and not line.startswith(_COMMENTS):
            line += separator * (wanted - count)
            count = wanted
        whole = count == wanted and line.strip() != header
        if whole and not line.startswith(_COMMENTS) and not _has_control(line):
            kept.append(line)
            rows.append(row)
        else:
            _classify(line, row, count + 1, form, header, tally)
    return b"\n".join(kept) + b"\n", np.array(rows, dtype=np.int64)


def _has_control(text: bytes) -> bool:
    return len(text.translate(None, _CONTROL)) != len(text)


def _plain(block: bytes, form: TextForm) -> bytes:
    """Quotation marks and runs of blanks taken out where the form has them."""
    if form.quoted:
        if form.separator == ",":
            block = _QUOTED_COMMA.sub(rb"\1.\2", block)
        block = block.replace(b'"', b"")
    if form.separator == " ":
        block = re.sub(rb"[ \t]+", b" ", block)
        block = re.sub(rb"^ | $", b"", block, flags=re.MULTILINE)
    return block


def _classify(line: bytes, row: int, cells: int, form: TextForm, header: bytes, tally: Tally) -> None:
    if not line.strip():
        return
    if line.strip() == header:
        tally.count("repeated headers", row, "the header again", spoilt=False)
        tally.header_rows.append(row)
        return
    if not _has_control(line):
        check_header(decoded(line, form), row, form, file=tally.file)
    if line.startswith(_COMMENTS):
        tally.count("comment lines", row, "a comment", spoilt=False)
    elif _has_control(line):
        tally.count("rows of rubbish", row, "bytes that are no text", spoilt=True)
    elif cells < form.width:
        what = f"{cells} cells where the header has {form.width}"
        tally.count("rows cut short", row, what, spoilt=True)
    else:
        what = f"{cells} cells where the header has {form.width}"
        tally.count("rows too long", row, what, spoilt=True)
