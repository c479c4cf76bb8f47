"""What the drives of a car say of its profile: ratios learnt, and where they do not fit."""

from dash import dcc, html

from dashboard import ids, words
from dashboard.car_form import ratio_differences
from dashboard.library import Library
from dashboard.parts.notes import bullets
from dashboard.parts.page import section
from dashboard.parts.table import TableRow, look_mark, table
from dashboard.routes import Query
from shiftlog.model.car import Car

FITS = 0.03
"""A worn or differently pumped tyre moves engine speed over vehicle speed by up to this share (common practice,
no source); more points at a wrong ratio, final drive or tyre."""


def learnt_section(library: Library, name: str | None, car: Car | None, query: Query) -> html.Section:
    """The table of what was learnt, the offer to keep it, and the faults the drives show."""
    learnt = library.learnt(name)
    keep = dcc.Checklist(id=ids.CAR_LEARN, options=_offer(learnt), value=[], className="sides")
    if not learnt:
        return section("What the drives say", html.P(_nothing(name), className="reason"), keep)
    differences = ratio_differences(car, learnt) if car else {}
    heads = ["Gear", f"Learnt, rpm per {query.speed}", f"Profile, rpm per {query.speed}", "Difference"]
    rows = [_row(gear, value, car, differences, query) for gear, value in sorted(learnt.items())]
    faults = library.profile_notes(name)
    pointed = [html.H3("What does not fit"), bullets(faults)] if faults else []
    body = table(heads, rows, caption="Engine speed over vehicle speed, by gear", numbers=(1, 2, 3))
    return section("What the drives say", body, keep, *pointed)


def _offer(learnt: dict[str, float]) -> list[dict[str, str]]:
    text = "Keep these figures in the profile; they stand in for gears whose ratio, final drive or tyre is not given"
    return [{"label": text, "value": "keep"}] if learnt else []


def _nothing(name: str | None) -> str:
    if not name:
        return "No drive of this car yet. Once one is measured, its ratios are offered here."
    return "No measured drive of this car shows engine speed and vehicle speed well enough to learn its ratios."


def _row(gear: str, value: float, car: Car | None, differences: dict[str, float], query: Query) -> TableRow:
    known = car.rpm_per_mps(gear) if car else None
    gap = differences.get(gear)
    shown = words.NOTHING if gap is None else f"{words.number(gap * 100, step=0.1)}{words.THIN}%"
    wrong = gap is not None and abs(gap) > FITS
    cells = [gear, _per(value, query), _per(known, query), look_mark(shown) if wrong else shown]
    return TableRow(cells=cells)


def _per(rpm_per_mps: float | None, query: Query) -> str:
    """rpm for one km/h or mph: the value of one m/s spread over its km/h or mph."""
    return words.NOTHING if rpm_per_mps is None else words.number(rpm_per_mps / words.speed_value(1.0, query.speed))
