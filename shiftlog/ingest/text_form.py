"""How a text log is written: its encoding, separator, decimal mark, and where its header stands."""

import re
from collections import Counter
from dataclasses import dataclass
from pathlib import Path

from shiftlog.errors import LogError
from shiftlog.ingest.cells import cells_of, is_comment, value_share
from shiftlog.ingest.text_bytes import find_encoding
from shiftlog.ingest.thousands import Thousands, find_thousands
from shiftlog.ingest.units import plain_unit

HEAD_BYTES = 1 << 17
"""How much of the file is looked at; 128 kB is a thousand rows and more."""

_SEPARATORS = ("\t", ";", ",", "|")
_RAGGED_SHARE = 0.2
"""Above this share of short rows the writer leaves empty cells at the end off; below it rows were cut."""

_LONGEST_NAME = 200
"""Beyond this a column's name is rubbish."""

_BINARY_SHARE = 0.1
"""A tenth of control characters at the top is no text; a burst of rubbish further down is."""


@dataclass(frozen=True, kw_only=True)
class TextForm:
    """What reading needs to know.

    separator : one character, a blank for any run of blanks; decimal : ``.`` or ``,``
    header : the columns' names as written; header_row : its line in the file, from 1; header_line : that line
    width : cells in a whole row
    quoted : cells stand in quotation marks; ragged : empty cells at the end of a row are left off
    thousands : columns in which a mark may part thousands
    """

    encoding: str
    separator: str
    decimal: str
    header: tuple[str, ...]
    header_row: int
    header_line: str
    width: int
    quoted: bool
    ragged: bool
    thousands: tuple[Thousands, ...] = ()


def read_form(path: Path, *, file: str) -> TextForm:
    """Looks at the top of a log. LogError where it is empty, has no header, or is no text.

    file : the name by which messages call it
    """
    head = read_head(path, file=file)
    encoding = find_encoding(head)
    text = head.decode(encoding, errors="replace").lstrip("\ufeff")
    lines = re.split(r"\r\n|\n|\r", text)
    if len(head) >= HEAD_BYTES and len(lines) > 2:
        lines = lines[:-1]
    if not any(line.strip() for line in lines):
        raise LogError(f"{file}: is empty. Record it again, or leave it out.")
    if _is_binary(text):
        raise LogError(f"{file}: is no text file, and no log of a format known here. Export it as CSV.")
    return _form(lines, encoding, file=file)


def read_head(path: Path, *, file: str) -> bytes:
    """The first bytes of a file. LogError where it cannot be opened."""
    try:
        with path.open("rb") as stream:
            return stream.read(HEAD_BYTES)
    except FileNotFoundError:
        raise LogError(f"{file}: there is no such file. Put it there, or mend the name.") from None
    except OSError as error:
        raise LogError(f"{file}: cannot be read ({error.strerror}).") from None


def _is_binary(text: str) -> bool:
    sample = text[:4096]
    odd = sum(1 for c in sample if (ord(c) < 32 and c not in "\t\r\n\f") or c == "\ufffd")
    return odd > _BINARY_SHARE * len(sample)


def _form(lines: list[str], encoding: str, *, file: str) -> TextForm:
    separator, width = _separator(lines)
    if width < 2:
        raise LogError(
            f"{file}: no columns found. A log needs a header line with channel names, "
            "and commas, semicolons or tabs between its columns."
        )
    first_data, rows, row_numbers = _data_rows(lines, separator, width)
    header_at, header = _header(lines[:first_data], separator, width, file=file)
    if any(len(cells_of(line, separator)) == len(header) > width for line in lines[first_data:]):
        # Most rows leave empty cells at their end off; the header has them all.
        width = len(header)
    _check_width(header, rows, width, separator, file=file)
    decimal = _decimal(rows, separator)
    return TextForm(
        encoding=encoding,
        separator=separator,
        decimal=decimal,
        header=tuple(_shown(name) for name in header),
        header_row=header_at + 1,
        header_line=lines[header_at],
        width=width,
        quoted=any('"' in line for line in lines[header_at + 1 :]),
        ragged=_is_ragged(lines[header_at + 1 :], separator, width),
        thousands=find_thousands(rows, row_numbers, min(width, *(len(row) for row in rows)) if rows else 0),
    )


def _separator(lines: list[str]) -> tuple[str, int]:
    """The separator whose rows are most alike and whose cells are most like values; a blank as a last resort."""
    plain = [line for line in lines if line.strip() and not is_comment(line)] or lines
    scored = [(_score(plain, separator), separator) for separator in _SEPARATORS]
    (score, width), separator = max(scored, key=lambda item: item[0][0])
    if score < 0.5:
        (blank_score, blank_width) = _score(plain, " ")
        if blank_score > max(score, 0.5):
            return " ", blank_width
    return separator, width


def _score(lines: list[str], separator: str) -> tuple[float, int]:
    rows = [cells_of(line, separator) for line in lines[:2000]]
    body = rows[1:] or rows
    width = max(Counter(len(row) for row in body).items(), key=lambda item: (item[1], item[0]))[0]
    if width < 2:
        return 0.0, width
    alike = [row for row in body if len(row) == width]
    values = sum(value_share(row) for row in alike) / len(alike)
    if body is rows:
        values = 0.5 + width / 1000
    return len(alike) / len(body) * values, width


def _data_rows(lines: list[str], separator: str, width: int) -> tuple[int, list[list[str]], list[int]]:
    """Index of the first row of values, all rows from there that have the full width, and their lines, from 1."""
    rows = [cells_of(line, separator) for line in lines]
    shares = [
        value_share(row) if len(row) == width and not is_comment(line) else 0.0
        for row, line in zip(rows, lines, strict=True)
    ]
    # Where every sensor's column holds words, the time alone makes a row of values.
    least = 0.5 if max(shares) >= 0.5 else min((share for share in shares if share > 0), default=1.0)
    is_data = [share >= least for share in shares]
    first = is_data.index(True) if True in is_data else len(lines)
    at = [i for i in range(first, len(lines)) if is_data[i]]
    return first, [rows[i] for i in at], [i + 1 for i in at]


def _header(top: list[str], separator: str, width: int, *, file: str) -> tuple[int, tuple[str, ...]]:
    """Line index and names: the last line above the values that splits as they do; a commented one if need be."""
    for wanted_comment in (False, True):
        found = [
            (i, cells_of(line.lstrip("#/%; \t") if wanted_comment else line, separator, header=True))
            for i, line in enumerate(top)
            if line.strip() and is_comment(line) == wanted_comment
        ]
        found = [(i, cells) for i, cells in found if len(cells) > 1 and value_share(cells) < 0.5]
        if found:
            return _with_units_row(found)
    raise LogError(
        f"{file}, row 1: numbers where the header should be. Put a line with channel names on top, "
        "such as: time [s],select [count],engage [count]"
    )


def _shown(name: str) -> str:
    """A column's name as it can stand in a line of text."""
    return "".join(c if c.isprintable() else "?" for c in name)[:_LONGEST_NAME]


def _with_units_row(found: list[tuple[int, list[str]]]) -> tuple[int, tuple[str, ...]]:
    index, cells = found[-1]
    if len(found) < 2 or len(found[-2][1]) != len(cells):
        return index, tuple(cells)
    names = found[-2][1]
    units = [cell.strip("[]() ") for cell in cells]
    if not all(unit == "" or plain_unit(unit) for unit in units) or not any(units):
        return index, tuple(cells)
    return index, tuple(f"{name} [{unit}]" if unit else name for name, unit in zip(names, units, strict=True))


def _check_width(header: tuple[str, ...], rows: list[list[str]], width: int, separator: str, *, file: str) -> None:
    if len(header) == width or not rows:
        return
    if len(header) == width - 1 and all(not row[-1].strip() for row in rows):
        return
    if separator == "," and width > len(header):
        raise LogError(
            f"{file}: {len(header)} columns in the header, {width} in the rows. If the numbers have decimal commas, "
            "export them with semicolons between the columns."
        )
    raise LogError(f"{file}: {len(header)} columns in the header, {width} in the rows. Give every column a name.")


def _decimal(rows: list[list[str]], separator: str) -> str:
    cells = [cell for row in rows[:500] for cell in row]
    commas = sum(1 for cell in cells if re.fullmatch(r"\s*[+-]?\d*,\d+(?:[eE][+-]?\d+)?\s*", cell))
    dots = sum(1 for cell in cells if re.fullmatch(r"\s*[+-]?\d*\.\d+(?:[eE][+-]?\d+)?\s*", cell))
    return "," if commas > dots else "."


def _is_ragged(lines: list[str], separator: str, width: int) -> bool:
    counts = [len(cells_of(line, separator)) for line in lines if line.strip() and not is_comment(line)]
    short = sum(1 for count in counts if 1 < count < width)
    return bool(counts) and short > _RAGGED_SHARE * len(counts)
