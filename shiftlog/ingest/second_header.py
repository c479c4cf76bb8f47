"""A header in mid-file that is not the one on top: from there on its columns mean something else."""

from shiftlog.errors import LogError
from shiftlog.ingest.cells import cells_of, is_comment, value_share
from shiftlog.ingest.header_names import split_header
from shiftlog.ingest.headers import recognise_header
from shiftlog.ingest.text_form import TextForm

_LEAST_NAMES = 2
"""So many cells that name channels, or stand in the header on top, make a line of words a header."""

_MARKS = "#/%; \t"


def check_header(line: str, row: int, form: TextForm, *, file: str) -> None:
    """LogError where a line of a log is a header, and another one than that on top; all other lines pass.

    line : without its end; row : its number in the file
    """
    if is_comment(line) and not is_comment(form.header_line):
        return
    cells = cells_of(line.strip().lstrip(_MARKS), form.separator, header=True)
    if value_share(cells) >= 0.5:
        return
    on_top = [name for name in form.header if name]
    named = sum(1 for cell in cells if cell and (cell in on_top or recognise_header(cell).channels))
    if named < _LEAST_NAMES or any(_is_same(cells, way) for way in _ways_of(form)):
        return
    raise LogError(
        f"{file}, row {row}: another header than in row {form.header_row} ({_difference(cells, list(form.header))}). "
        "Split the file there."
    )


def _ways_of(form: TextForm) -> list[list[str]]:
    """The header on top as it may be written again; names and units may stand in rows of their own."""
    written = cells_of(form.header_line.strip().lstrip(_MARKS), form.separator, header=True)
    whole = list(form.header)
    return [whole, written] if written == whole else [whole, written, [split_header(name).name for name in whole]]


def _is_same(cells: list[str], others: list[str]) -> bool:
    """Whether both read alike, in any case of letters; a pulled plug may have cut the first short."""
    first, second = ("\n".join(one).rstrip("\n").lower() for one in (cells, others))
    return second.startswith(first)


def _difference(cells: list[str], others: list[str]) -> str:
    for cell, other in zip(cells, others, strict=False):
        if cell.lower() != other.lower():
            return f"{cell or 'an empty name'} in place of {other or 'an empty name'}"
    return f"{len(cells)} columns in place of {len(others)}"
