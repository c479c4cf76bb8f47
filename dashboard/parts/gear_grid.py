"""The grid of gears against measures, as a table in which the odd one stands out."""

from collections.abc import Sequence

from dash import html

from dashboard import words
from dashboard.gear_grid import LEAST_KINDS, LEAST_SHIFTS, ODD, SHARES, Cell, GearGrid, goes_up, make_gear_grid
from dashboard.parts.page import section
from shiftlog.model.shift import Shift

TINTED = 2.0
"""Robust spreads from which a cell is tinted; every twentieth or so lies beyond by chance."""
TINTS = 3
_ASIDE = (
    "Medians by kind of shift, within this drive. A cell is tinted the further it lies from the median of its "
    f"direction; ◆ marks one {words.number(ODD, digits=2)} robust spreads off or more, or for grinds, a share that is "
    f"higher than the others' together by more than chance. Odd is not yet faulty: gears "
    "differ in ratio and in way."
)


def gear_grid_section(shifts: Sequence[Shift]) -> html.Section | None:
    """The grid, or None where no kind of shift has a figure to show."""
    grid = make_gear_grid(shifts)
    if not grid.measures:
        return None
    return section("Which gear stands out", *_odd_words(grid), draw_gear_grid(grid), _pale_words(grid), aside=_ASIDE)


def draw_gear_grid(grid: GearGrid) -> html.Div:
    """Upshifts above downshifts; the first column stays in sight while the rest scrolls inside its box."""
    heads = [html.Th("Shift", scope="col")]
    heads += [html.Th(_head(key), scope="col", className="number") for key in grid.measures]
    rows, upwards = [], None
    for kind in grid.kinds:
        if goes_up(kind) != upwards:
            upwards = goes_up(kind)
            name = html.Th("Up" if upwards else "Down", scope="rowgroup", className="group")
            rows.append(html.Tr([name, html.Td(colSpan=len(grid.measures), className="group")]))
        rows.append(_row(grid, kind))
    caption = "Gears against measures: medians, number of shifts below"
    inner = html.Table([html.Caption(caption), html.Thead(html.Tr(heads)), html.Tbody(rows)], className="grid")
    return html.Div(inner, className="scroll", id="gear-grid", tabIndex=0, role="region", **{"aria-label": caption})


def _head(key: str) -> str:
    unit = "share" if key == "grind" else words.unit(key)
    return f"{words.label(key)}, {unit}" if unit else words.label(key)


def _row(grid: GearGrid, kind: tuple[str, str]) -> html.Tr:
    name = html.Th(f"{kind[0]} → {kind[1]}", scope="row")
    return html.Tr([name, *(_cell(grid.cells[kind, key], key) for key in grid.measures)])


def _cell(cell: Cell, key: str) -> html.Td:
    if cell.value is None:
        return html.Td(words.NOTHING, className="number pale", title="no shift of this kind has the figure")
    pale = cell.n < LEAST_SHIFTS
    mark = [html.Span("◆ ", className="lookmark", **{"aria-hidden": "true"})] if cell.odd else []
    lines = [html.Div([*mark, _value(cell, key)])]
    lines += [html.Div("higher" if cell.spreads > 0 else "lower", className="odd")] if cell.odd else []
    lines.append(html.Div(f"n = {cell.n}", className="soft"))
    return html.Td(lines, className=f"number {'pale' if pale else _tint(cell)}".rstrip(), title=_title(cell, key))


def _value(cell: Cell, key: str) -> str:
    return words.percent(cell.value) if key == "grind" else words.bare(key, cell.value)


def _tint(cell: Cell) -> str:
    """Deeper from two spreads on, one step for each further spread and a half."""
    if cell.spreads is None or abs(cell.spreads) < TINTED:
        return ""
    return f"tint{min(1 + int((abs(cell.spreads) - TINTED) / (ODD - TINTED)), TINTS)}"


def _title(cell: Cell, key: str) -> str:
    if cell.n < LEAST_SHIFTS:
        return f"fewer than {LEAST_SHIFTS} shifts: not held against the others"
    if cell.spreads is None:
        return "too few kinds of shift, or nothing to judge the spread by"
    if key in SHARES:
        often = "more" if cell.spreads > 0 else "less"
        return f"{often} often than the others of its direction by {_far(cell)} standard deviations of chance"
    side = "above" if cell.spreads > 0 else "below"
    return f"{_far(cell)} robust spreads {side} the median of its direction"


def _far(cell: Cell) -> str:
    return words.number(abs(cell.spreads), digits=2)


def _odd_words(grid: GearGrid) -> list:
    """The marked cells once more as sentences."""
    found = [(kind, key, grid.cells[kind, key]) for key in grid.measures for kind in grid.kinds]
    said = [
        f"{kind[0]} → {kind[1]}: {_odd_how(cell, key)} than the other {'upshifts' if goes_up(kind) else 'downshifts'} "
        f"({_with_unit(cell, key)}, n = {cell.n})"
        for kind, key, cell in found
        if cell.odd
    ]
    whole, could = len(found), sum(cell.spreads is not None for _, _, cell in found)
    if not could:
        return [
            html.P(
                "Whether a kind of shift stands out cannot be told from this drive: no measure has "
                f"{LEAST_KINDS} kinds of one direction with {LEAST_SHIFTS} shifts each. Drive each gear more often."
            )
        ]
    judged = html.P(f"{could} of {whole} figures could be judged.", className="soft")
    if not said:
        return [html.P("No figure that could be judged stands out from those of its direction."), judged]
    return [html.Ul([html.Li(text) for text in said], className="plain"), judged]


def _odd_how(cell: Cell, key: str) -> str:
    if key in SHARES:
        return f"{words.label(key).lower()} {'more' if cell.spreads > 0 else 'less'} often"
    return f"{words.label(key).lower()} {'higher' if cell.spreads > 0 else 'lower'}"


def _with_unit(cell: Cell, key: str) -> str:
    return words.percent(cell.value) if key == "grind" else words.value(key, cell.value)


def _pale_words(grid: GearGrid) -> html.P:
    return html.P(
        f"Pale: fewer than {LEAST_SHIFTS} shifts. But for grinds, nothing is tinted where fewer than {LEAST_KINDS} "
        "kinds of one direction have enough shifts. Paused and standing shifts, and those through several gears, are "
        "left out.",
        className="soft",
    )
