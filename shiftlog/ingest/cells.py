"""One line of a text log split into cells, and what a cell looks like."""

import csv
import re

MISSING = ("", "nan", "null", "none", "na", "n/a", "-", "--", "#n/a")
"""What writers put, in any case, where they have no value."""

_NUMBER = re.compile(r"[+-]?(\d+([.,]\d*)?|[.,]\d+)([eE][+-]?\d+)?$")
_TIME = re.compile(r"\d{1,4}[-/.:]\d{1,2}[-/.:]\d")
_COMMENT = ("#", "//", "%")
_NAME = re.compile(r"\S+(?:\s+[\[(][^\])]*[\])])?")


def cells_of(line: str, separator: str, *, header: bool = False) -> list[str]:
    """The cells of a line, without blanks around them or quotation marks.

    ``header`` keeps a unit in brackets with its name where blanks are the separator.
    """
    if separator == " ":
        return [cell.strip('"') for cell in (_NAME.findall(line) if header else line.split())]
    if '"' in line:
        return [cell.strip() for cell in next(csv.reader([line], delimiter=separator, skipinitialspace=True), [])]
    return [cell.strip() for cell in line.split(separator)]


def is_comment(line: str) -> bool:
    """Whether a line is a remark and no data."""
    return line.lstrip().startswith(_COMMENT)


def is_value(cell: str) -> bool:
    """Whether a cell is a number, a time or date, or one of the ways to say that there is none."""
    text = cell.strip()
    return bool(text.lower() in (*MISSING, "true", "false") or _NUMBER.match(text) or _TIME.match(text))


def value_share(cells: list[str]) -> float:
    """Share of the cells that hold something and are values; 0 where all are empty."""
    held = [cell for cell in cells if cell]
    return sum(is_value(cell) for cell in held) / len(held) if held else 0.0
