"""A delimited text log to columns of numbers: quick where it is clean, line by line where it is not."""

import io
import re
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pandas as pd

from shiftlog.errors import LogError
from shiftlog.ingest.cells import MISSING
from shiftlog.ingest.clock_text import parse_clock
from shiftlog.ingest.dirty_lines import Tally, clean_lines, decoded, header_bytes
from shiftlog.ingest.second_header import check_header
from shiftlog.ingest.sheet import Sheet, Table
from shiftlog.ingest.text_bytes import open_bytes
from shiftlog.ingest.text_form import TextForm, read_form
from shiftlog.ingest.time_forms import FORMS

BLOCK_BYTES = 1 << 25
"""32 MB at a time: half a million rows, so that an hour at 1.6 kHz never lies in memory as text."""

_TEXT_SHARE = 0.01
"""Cells of text in a column of numbers up to this share are a fault in passing; above it the column is wrong."""

_BAD_ROWS_SHARE = 0.05
"""Above this share of rows cut short or spoilt the file is not what its header says."""

_FEW = 2
"""Rows that any file may lose, however short: the last one is cut by the pulled plug."""


@dataclass
class _Parts:
    """What the blocks gave so far."""

    times: list[np.ndarray]
    values: list[np.ndarray]
    rows: list[np.ndarray]
    text_cells: Counter
    first_text: dict[int, tuple[int, str]]
    time_is_text: bool | None = None
    first_time: str = ""


def open_text(path: Path, *, file: str) -> Sheet:
    """A delimited text log. LogError where it is empty, has no header, or is no text."""
    form = read_form(path, file=file)
    return Sheet(
        header=form.header, read=lambda time, columns: read_table(path, form, time=time, columns=columns, file=file)
    )


def read_table(path: Path, form: TextForm, *, time: int, columns: Sequence[int], file: str) -> Table:
    """Reads the time column and ``columns`` (indices into ``form.header``) of a log.

    LogError where there are no rows, or too many rows or cells that cannot be read; it names the first of them.
    """
    _check_thousands(form, [time, *columns], file=file)
    tally = Tally(file=file)
    parts = _Parts(times=[], values=[], rows=[], text_cells=Counter(), first_text={})
    header = header_bytes(form)
    for block, first_row in _blocks(path, form):
        body, rows = clean_lines(block, form, header=header, first_row=first_row, tally=tally)
        if rows.size:
            _read_block(body, rows, form, [time, *columns], parts, file=file)
    count = sum(part.size for part in parts.rows)
    _check(parts, tally, form, count, file=file)
    _check_times(parts, form.header[time], file=file)
    values = _joined(parts.values, count, len(columns))
    for column, (row, cell) in parts.first_text.items():
        tally.note("cells that are no number", row, f'"{cell}" in column {form.header[column]}')
    tally.counts.update({"cells that are no number": sum(parts.text_cells.values())} if parts.text_cells else {})
    rows = np.concatenate(parts.rows)
    return Table(
        time=np.concatenate(parts.times),
        time_is_text=bool(parts.time_is_text),
        values=values,
        rows=rows,
        mended=dict(tally.counts),
        remarks=tuple(tally.remarks.values()),
        headed=tuple(np.searchsorted(rows, tally.header_rows).tolist()),
    )


def _joined(blocks: list[np.ndarray], count: int, width: int) -> np.ndarray:
    """One array of all blocks, each freed once it is copied."""
    values = np.empty((count, width))
    at = 0
    blocks.reverse()
    while blocks:
        block = blocks.pop()
        values[at : at + len(block)] = block
        at += len(block)
    return values


def _blocks(path: Path, form: TextForm) -> Iterator[tuple[bytes, int]]:
    """Whole lines below the header, a block at a time, with ``\\n`` ends, and the row of each block's first line."""
    row, rest = 1, b""
    with open_bytes(path, form.encoding) as stream:
        while chunk := stream.read(BLOCK_BYTES):
            text = rest + chunk
            if text.endswith(b"\r"):
                text += stream.read(1)
            text = text.replace(b"\r\n", b"\n").replace(b"\r", b"\n") if b"\r" in text else text
            cut = text.rfind(b"\n") + 1
            block, rest = text[:cut], text[cut:]
            if block:
                yield _below_header(block, row, form.header_row)
                row += block.count(b"\n")
    if rest:
        yield _below_header(rest + b"\n", row, form.header_row)


def _below_header(block: bytes, first_row: int, header_row: int) -> tuple[bytes, int]:
    while first_row <= header_row and block:
        block = block[block.find(b"\n") + 1 :]
        first_row += 1
    return block, first_row


def _read_block(body: bytes, rows: np.ndarray, form: TextForm, columns: list[int], parts: _Parts, *, file: str) -> None:
    frame = pd.read_csv(
        io.BytesIO(body),
        sep=form.separator,
        decimal=form.decimal,
        header=None,
        names=list(range(form.width)),
        usecols=columns,
        index_col=False,
        skipinitialspace=True,
        skip_blank_lines=False,
        quoting=3,
        na_values=[*MISSING, *(word.upper() for word in MISSING), "Null"],
        encoding_errors="replace",
        low_memory=False,
    )
    time, is_text = _time(frame[columns[0]], form, parts.time_is_text)
    parts.time_is_text = is_text
    _check_headers(body, rows, np.isnan(time) & frame[columns[0]].notna().to_numpy(), form, file=file)
    parts.first_time = parts.first_time or next((str(cell) for cell in frame[columns[0]].dropna()), "")
    values = np.empty((len(frame), len(columns) - 1))
    for at, column in enumerate(columns[1:]):
        values[:, at] = _numbers(frame[column], np.where(np.isnan(time), 0, rows), form, parts)
    values[np.isinf(values)] = np.nan
    parts.times.append(time)
    parts.values.append(values)
    parts.rows.append(rows)


def _check_thousands(form: TextForm, columns: list[int], *, file: str) -> None:
    """LogError where a column that is read may have marks between thousands."""
    for found in form.thousands:
        if found.column in columns:
            raise LogError(
                f'{file}, row {found.row}: "{found.cell}" in column {form.header[found.column]} may be a thousand and '
                "more, or a fraction. Export the log again without marks between thousands."
            )


def _check_headers(body: bytes, rows: np.ndarray, suspect: np.ndarray, form: TextForm, *, file: str) -> None:
    """LogError where one of the lines without a time, (n,) bool, is a header that is not the one on top."""
    if not suspect.any():
        return
    lines = body.split(b"\n")
    for at in np.flatnonzero(suspect):
        check_header(decoded(lines[at], form), int(rows[at]), form, file=file)


def _time(cells: pd.Series, form: TextForm, known_text: bool | None) -> tuple[np.ndarray, bool]:
    if pd.api.types.is_numeric_dtype(cells):
        return cells.to_numpy(dtype=float), bool(known_text)
    numbers = _as_numbers(cells, form)
    if known_text is False or (known_text is None and np.isfinite(numbers).mean() > 0.5):
        return numbers, False
    return parse_clock(cells), True


def _numbers(cells: pd.Series, rows: np.ndarray, form: TextForm, parts: _Parts) -> np.ndarray:
    if pd.api.types.is_numeric_dtype(cells) or pd.api.types.is_bool_dtype(cells):
        return cells.to_numpy(dtype=float)
    numbers = _as_numbers(cells, form)
    # Rows without a time (0 here) are dropped whole and counted as such.
    text = np.isnan(numbers) & cells.notna().to_numpy() & (rows > 0)
    if text.any():
        at = int(np.argmax(text))
        parts.text_cells[cells.name] += int(text.sum())
        parts.first_text.setdefault(cells.name, (int(rows[at]), str(cells.iloc[at])[:30]))
    return numbers


def _as_numbers(cells: pd.Series, form: TextForm) -> np.ndarray:
    text = cells.astype("str").str.strip()
    if form.decimal == ",":
        text = text.str.replace(",", ".")
    truth = text.str.lower().map({"true": 1.0, "false": 0.0})
    return np.array(pd.to_numeric(text, errors="coerce").fillna(truth), dtype=float)


def _check(parts: _Parts, tally: Tally, form: TextForm, count: int, *, file: str) -> None:
    spoilt = tally.spoilt_rows
    if spoilt > max(_FEW, _BAD_ROWS_SHARE * (count + spoilt)):
        raise LogError(f"{tally.first_spoilt} ({spoilt} such rows). Export the log again.")
    if count == 0:
        raise LogError(f"{file}: a header and no rows. Record it again, or leave it out.")
    if count == 1:
        raise LogError(f"{file}: a header and one row; nothing can be timed from it. Record it again.")
    for column, cells in parts.text_cells.items():
        if cells > _TEXT_SHARE * count:
            row, cell = parts.first_text[column]
            raise LogError(
                f'{file}, row {row}: "{_printable(cell)}" in column {form.header[column]}, where a number should be '
                f"({cells} such cells). Mend the column, or leave it out."
            )


def _check_times(parts: _Parts, header: str, *, file: str) -> None:
    """LogError where a column of text holds no time in any form that is read."""
    if parts.time_is_text and not any(np.any(np.isfinite(part)) for part in parts.times):
        raise LogError(
            f'{file}, row {parts.rows[0][0]}: "{_printable(parts.first_time[:30])}" in column {header} is no time in a '
            f"form that is read. Write it as a number with its unit, or as {FORMS}."
        )


def _printable(text: str) -> str:
    return re.sub(r"[^\x20-\x7e\xa0-\uffff]", "?", text)
