"""The tables of the seats: gear by gear, and travel plane by plane."""

from dash import html

from dashboard import words
from dashboard.parts.page import section
from dashboard.parts.table import TableRow, look_mark, table
from shiftlog.model.reading import K95, Reading
from shiftlog.model.seats import SeatFigures, SeatReport, Travel
from shiftlog.neutral.seat_report import find_off, stands_out

HEADS = [
    "Gear", "Stays", "Time in gear, s", "Off along, mm", "Off across, mm", "Spread, mm", "Overrun to drive, mm",
    "Depth, mm", "Hand on it",
]  # fmt: skip


def seat_table(report: SeatReport) -> html.Div:
    """One row a gear; a dash where a figure could not be had, its reason on hover and under the table."""
    rows = [_row(seat) for seat in report.seats]
    body = table(HEADS, rows, caption="Where the lever lies, gear by gear", numbers=tuple(range(1, len(HEADS))))
    return html.Div([body, *(html.P(line, className="reason") for line in missing_lines(report))])


def _row(seat: SeatFigures) -> TableRow:
    spread = None if seat.spread is None else max(seat.spread[0][0], seat.spread[1][1]) ** 0.5
    share = seat.hand_share
    cells = [
        look_mark(seat.gear) if find_off(seat) else seat.gear, str(seat.stays), f"{seat.in_gear_s:.0f}",
        _cell(seat.off_engage_mm), _cell(seat.off_select_mm),
        words.NOTHING if spread is None else words.number(spread, step=0.01), _cell(seat.torque_engage_mm),
        _cell(seat.depth_mm),
        html.Span(words.NOTHING if share.value is None else words.percent(float(share.value)), title=share.why or ""),
    ]  # fmt: skip
    return TableRow(cells=cells)


def _cell(reading: Reading) -> html.Span:
    """A figure with its 95 %, or a dash with the reason."""
    if reading.value is None:
        return html.Span(words.NOTHING, title=reading.why or "")
    low, high = reading.interval95 or (float(reading.value), float(reading.value))
    text = f"{words.number(float(reading.value), step=0.1)} ± {max((high - low) / 2, 0.1):.1f}"
    marked = reading.key.startswith("off") and stands_out(reading)
    return html.Span(look_mark(text) if marked else text)


def missing_lines(report: SeatReport) -> list[str]:
    """Each reason for a dash once, with its gears."""
    reasons: dict[str, list[str]] = {}
    for seat in report.seats:
        for reading in (seat.engage_mm, seat.off_engage_mm, seat.torque_engage_mm, seat.hand_share):
            if reading.why:
                gears = reasons.setdefault(f" {reading.why}".replace(f" {seat.gear} ", " @ "), [])
                gears += [seat.gear] if seat.gear not in gears else []
    said = [why.strip().replace("@", words.sentence_list(gears)) for why, gears in reasons.items()]
    return [f"{line[:1].upper()}{line[1:]}." for line in said]


def travel_table(report: SeatReport) -> list[html.Section]:
    """Travel by plane and over all; nothing where there is no ruler, which the answer and the notes say."""
    if all(row.travel_mm.value is None for row in report.travel):
        return []
    rows = [TableRow(cells=_travel_cells(row)) for row in report.travel]
    heads = ["Plane", "Travel, mm", "Profile, mm", "Short by, mm"]
    body = table(heads, rows, caption="From rearward seat to forward seat", numbers=(1, 2, 3))
    return [section("How far the lever travels", body)]


def _travel_cells(row: Travel) -> list:
    short = row.short_mm
    text = words.NOTHING
    if short.value is not None:
        text = f"{words.number(float(short.value), step=0.1)} ± {K95 * (short.uncertainty or 0.0):.1f}"
    travel = words.NOTHING if row.travel_mm.value is None else words.number(float(row.travel_mm.value), step=0.1)
    return [
        row.plane or "all", html.Span(travel, title=row.travel_mm.why or ""), f"{row.wanted_mm:.1f}",
        look_mark(text) if stands_out(short) else text,
    ]  # fmt: skip
