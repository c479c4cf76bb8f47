"""The fields of a job as people type and read them, and what changed from one version to the next."""

import math
import re
import unicodedata
from collections.abc import Sequence
from dataclasses import fields
from datetime import date

from shiftlog.errors import StoreError
from shiftlog.model.job import FIELDS, Field, Job

MOST_LETTERS = 20_000
_KEPT = "\t\n"
_SHIFT = re.compile(r"(?:[1-9]|R|N)-(?:[1-9]|R|N)|[1-9]|R")


def read_value(field: Field, typed: str | Sequence[Sequence[str]]) -> object:
    """The value of a field from what was typed; an empty text empties it. StoreError says what would be right.

    typed : a text; of a table its rows with their cells as well
    A table has one row a line, its cells apart by semicolons; a semicolon within a cell is written ``\\;``.
    """
    if not isinstance(typed, str):
        return tuple(read_row(field, list(cells)) for cells in typed)
    text = typed
    check_text(text, field.key)
    if len(text) > MOST_LETTERS:
        raise StoreError(f"{field.key}: has {len(text)} letters; {MOST_LETTERS} are the most")
    if field.kind == "long":
        return text if text.strip() else ""
    text = text.strip()
    if field.kind == "table":
        return tuple(read_row(field, split_row(line)) for line in text.split("\n") if line.strip())
    if field.kind in ("several", "drives"):
        return tuple(dict.fromkeys(part for part in re.split(r"\s*[,;\n]\s*", text) if part))
    if field.kind == "shifts":
        return _shifts(field, text)
    if field.kind == "number":
        return _number(field, text) if text else None
    return _date(field, text) if field.kind == "date" and text else text


_THOUSANDS = re.compile(r"[-+]?[1-9]\d{0,2}(,\d{3})+")


def read_row(field: Field, cells: list[str]) -> object:
    """One row of a table. StoreError where a cell is missing or is no number."""
    names = [f.name for f in fields(field.row)]
    cells = [_cell(field, cell.strip()) for cell in cells]
    cells += [""] * (len(names) - len(cells))
    if len(cells) > len(names) or not cells[0]:
        columns = "; ".join(label.lower() for _, label in field.columns)
        raise StoreError(f"{field.key}: {'; '.join(cells)!r} does not fit; a row is: {columns}")
    values = dict(zip(names, cells, strict=True))
    if "value" in values:
        values["value"] = _within(field, read_number(values["value"], f"{field.key}, {cells[0]}"))
        if not values["unit"]:
            raise StoreError(f"{field.key}, {cells[0]}: has no unit; give mm or ° after the number")
    return field.row(**values)


def _cell(field: Field, text: str) -> str:
    check_text(text, field.key)
    if "\n" in text:
        raise StoreError(f"{field.key}: {text.splitlines()[0]!r}: a cell holds one line; take the line end out")
    return text


def split_row(line: str) -> list[str]:
    """The cells of a row that was typed."""
    return [cell.strip().replace(r"\;", ";") for cell in re.split(r"(?<!\\);", line)]


def join_row(cells: Sequence[str]) -> str:
    """A row as it is typed; it reads back as just these cells."""
    typed = [cell.replace(";", r"\;") for cell in cells]
    return "; ".join(f"{cell} " if cell.endswith("\\") else cell for cell in typed)


def _within(field: Field, value: float) -> float:
    if not field.least <= value <= field.most:
        raise StoreError(f"{field.key}: {value:.12g} cannot be meant; give {field.least:g} to {field.most:.12g}")
    return value


def _number(field: Field, text: str) -> float:
    """The number of a field. A point before three digits parts thousands in some countries: km are never so exact."""
    if field.unit == "km" and _THOUSANDS.fullmatch(text.replace(".", ",")):
        raise StoreError(f"{field.key}: {text!r} may be two numbers; write it without a point or comma")
    return _within(field, read_number(text, field.key))


def read_number(text: str, where: str) -> float:
    """A number with a point or a comma. StoreError; also where a comma may stand for thousands."""
    if _THOUSANDS.fullmatch(text.strip()):
        raise StoreError(f"{where}: {text.strip()!r} may be two numbers; write it without a comma, or with a point")
    try:
        value = float(text.strip().replace(",", ".").replace("\N{MINUS SIGN}", "-"))
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        raise StoreError(f"{where}: {text.strip()!r} is no number; write it as 0.35")
    return value


def _shifts(field: Field, text: str) -> tuple[str, ...]:
    parts = [part.upper() for part in re.split(r"[\s,;]+", text) if part]
    for part in parts:
        if not _SHIFT.fullmatch(part):
            raise StoreError(f"{field.key}: {part!r} is no shift; write 2-3 for second to third, or a gear: R")
    return tuple(dict.fromkeys(parts))


def _date(field: Field, text: str) -> str:
    try:
        return date.fromisoformat(text).isoformat()
    except ValueError as error:
        raise StoreError(f"{field.key}: {text!r} is no date; write it as 2026-10-31") from error


def check_text(text: str, where: str) -> None:
    """Nothing typed is changed in silence: StoreError where a letter cannot be kept.

    Control characters other than tab and line end steer a terminal, and halves of letters fit in no file.
    """
    for at, letter in enumerate(text.replace("\r\n", " \n"), start=1):
        if letter not in _KEPT and unicodedata.category(letter) in ("Cc", "Cs"):
            what = "a control character" if unicodedata.category(letter) == "Cc" else "half a letter"
            raise StoreError(f"{where}: letter {at} is {what} (U+{ord(letter):04X}); take it out and save again")


def say_value(field: Field, value: object) -> str:
    """A field's value as it could be typed."""
    if value is None:
        return ""
    if field.kind == "table":
        return "\n".join(join_row(row_cells(field, row)) for row in value)
    if isinstance(value, tuple):
        return ", ".join(value)
    return _number_text(value) if isinstance(value, float) else str(value)


def _number_text(value: float) -> str:
    """All digits that anybody types, and no more."""
    return f"{value:.12g}"


def row_cells(field: Field, row: object) -> list[str]:
    """The cells of a table's row as texts."""
    values = [getattr(row, name) for name, _ in field.columns]
    return [_number_text(value) if isinstance(value, float) else value for value in values]


def find_changes(old: Job, new: Job) -> list[tuple[str, str, str]]:
    """(label, before, after) of every field that differs, photos among them."""
    changes = []
    for field in FIELDS:
        texts = tuple(say_value(field, getattr(job, field.key)) for job in (old, new))
        if texts[0] != texts[1]:
            changes.append((field.label, *texts))
    photos = tuple(", ".join(f"{p.of} {p.sha256[:8]} {p.caption}".strip() for p in job.photos) for job in (old, new))
    return changes + ([("Photos", *photos)] if photos[0] != photos[1] else [])
