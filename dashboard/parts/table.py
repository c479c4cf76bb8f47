"""Tables that can be read on a phone."""

from dataclasses import dataclass

from dash import html


@dataclass(frozen=True, kw_only=True)
class TableRow:
    """One row.

    cells : in the order of the heads, a ready-made Td as it is; muted : left out, shown grey; title : the
    reason on hover
    """

    cells: list
    muted: bool = False
    title: str | None = None


def table(heads: list[str], rows: list[TableRow], *, caption: str, numbers: tuple[int, ...] = ()) -> html.Div:
    """A table with its caption; ``numbers`` are the columns set to the right."""
    head = html.Tr([html.Th(text, scope="col", className=_side(i, numbers)) for i, text in enumerate(heads)])
    body = [_row(row, numbers) for row in rows]
    inner = html.Table([html.Caption(caption), html.Thead(head), html.Tbody(body)])
    return html.Div(inner, className="scroll", tabIndex=0, role="region", **{"aria-label": caption})


def _row(row: TableRow, numbers: tuple[int, ...]) -> html.Tr:
    cells = [
        cell if isinstance(cell, html.Td) else html.Td(cell, className=_side(i, numbers))
        for i, cell in enumerate(row.cells)
    ]
    return html.Tr(cells, className="muted" if row.muted else "", title=row.title or "")


def _side(column: int, numbers: tuple[int, ...]) -> str:
    return "number" if column in numbers else ""


def look_mark(text: str) -> html.Span:
    """A word with the mark of something to look at: colour never speaks alone."""
    return html.Span([html.Span("◆", className="lookmark", **{"aria-hidden": "true"}), " ", text])
