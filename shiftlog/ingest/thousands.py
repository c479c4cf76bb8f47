"""Marks between thousands: columns in which 1.000 may be a thousand, told from decimal marks."""

import re
from collections.abc import Sequence
from dataclasses import dataclass

_MARKED = re.compile(r"[+-]?\d*[.,]\d+(?:[eE][+-]?\d+)?$|[+-]?\d{1,3}(?:[.,]\d{3})+(?:[.,]\d+)?$")
_PLAIN = re.compile(r"[+-]?\d+$")
_GROUPED = {
    ".": re.compile(r"[+-]?[1-9]\d{0,2}(?:\.\d{3})+(?:,\d+)?$"),
    ",": re.compile(r"[+-]?[1-9]\d{0,2}(?:,\d{3})+(?:\.\d+)?$"),
}


@dataclass(frozen=True, kw_only=True)
class Thousands:
    """A column whose numbers may have marks between thousands: its index, and the first such cell with its row."""

    column: int
    row: int
    cell: str


def find_thousands(rows: Sequence[Sequence[str]], row_numbers: Sequence[int], width: int) -> tuple[Thousands, ...]:
    """The columns of a log in which a mark may stand between thousands.

    That is where all its cells with this mark have three digits behind it, and where the other mark is a decimal one
    elsewhere and this one nowhere, or where 990 is followed by 1.000, or cells have both marks.
    """
    columns = [[row[at] for row in rows] for at in range(width)]
    decimals = {mark for cells in columns for mark in _GROUPED if _shows_decimal(cells, mark)}
    found = []
    for at, cells in enumerate(columns):
        for mark, other in ((".", ","), (",", ".")):
            if not _may_be_grouped(cells, mark):
                continue
            if (other in decimals and mark not in decimals) or _goes_on(cells, mark):
                first = next(i for i, cell in enumerate(cells) if _GROUPED[mark].match(cell))
                found.append(Thousands(column=at, row=row_numbers[first], cell=cells[first]))
                break
    return tuple(found)


def _shows_decimal(cells: Sequence[str], mark: str) -> bool:
    return any(mark in cell and _MARKED.match(cell) and not _is_either(cell) for cell in cells)


def _is_either(cell: str) -> bool:
    """Whether a mark in this cell may part thousands."""
    return any(pattern.match(cell) for pattern in _GROUPED.values())


def _may_be_grouped(cells: Sequence[str], mark: str) -> bool:
    """Whether every cell of a thousand and more has the mark, with three digits behind it, and no other cell has."""
    marked = [cell for cell in cells if mark in cell]
    plain = [cell for cell in cells if _PLAIN.match(cell)]
    return (
        bool(marked)
        and all(_GROUPED[mark].match(cell) for cell in marked)
        and all(abs(int(cell)) < 1000 for cell in plain)
    )


def _goes_on(cells: Sequence[str], mark: str) -> bool:
    """Whether cells with the mark go on from those without it better as thousands than as fractions, or have both."""
    if any("." in cell and "," in cell for cell in cells):
        return True
    votes = 0
    for one, two in zip(cells, cells[1:], strict=False):
        if (mark in one) == (mark in two) or not all(_PLAIN.match(c) or mark in c for c in (one, two)):
            continue
        as_thousands = abs(_number(one, mark, "") - _number(two, mark, ""))
        as_fractions = abs(_number(one, mark, ".") - _number(two, mark, "."))
        votes += 1 if as_thousands < as_fractions else -1
    return votes > 0


def _number(cell: str, mark: str, instead: str) -> float:
    """The number in a cell whose mark stands for ``instead``; beside another mark it can only part thousands."""
    if cell.count(".") + cell.count(",") > 1:
        instead = ""
    return float(cell.replace(mark, instead).replace(",", "."))
