"""What the clearance test found in each gear: measured, or known only to be less than something."""

from collections.abc import Sequence

from dash import html

from dashboard import words
from dashboard.parts.table import TableRow, table
from shiftlog.model.cables import Clearance
from shiftlog.model.reading import K95

HEADS = ["Gear", "Room, mm", "To the left, mm", "To the right, mm", "Wanted, mm", "Presses"]
BOUNDS = (
    "“Less than” is no measurement: no press moved the lever by more than its sensor can tell. It lies on its stop "
    "there, or nearly, and how much is missing is not known."
)
CAPTION = "Room in each gear, as measured"


def clearance_table(clearances: Sequence[Clearance]) -> list:
    """The table, and what a bound in it means; nothing where no gear was pressed."""
    if not clearances:
        return []
    shown = table(HEADS, [_row(c) for c in clearances], caption=CAPTION, numbers=(1, 2, 3, 4, 5))
    return [shown, *([html.P(BOUNDS, className="soft")] if any(_bounded(c) for c in clearances) else [])]


def _bounded(c: Clearance) -> bool:
    return c.leans or c.left_mm == 0 or c.right_mm == 0


def _row(c: Clearance) -> TableRow:
    cells = [
        f"{c.gear} (its stop gives with force)" if c.soft else c.gear,
        say_room(c.clearance_mm, c.u_mm, c.bound_mm, leans=c.leans),
        *(
            say_room(mm, u or c.u_mm, bound, leans=mm is not None and mm <= 0)
            for mm, u, bound in (
                (c.left_mm, c.left_u_mm, c.left_bound_mm), (c.right_mm, c.right_u_mm, c.right_bound_mm),
            )
        ),
        f"{c.wanted_mm:.1f}", str(c.presses),
    ]  # fmt: skip
    return TableRow(cells=cells)


def say_room(mm: float | None, u_mm: float, bound_mm: float | None, *, leans: bool) -> str:
    """A room with its 95 % interval, or what it is less than; leans : whether no press moved the lever there."""
    if mm is None:
        return words.NOTHING
    if bound_mm is not None:
        return f"less than {bound_mm:.1f}"
    if leans:
        return f"at most {mm:.1f}"
    return f"{mm:.1f} (± {max(K95 * u_mm, 0.1):.1f})"
