"""The tables of a drive's page."""

from dash import dcc, html

from dashboard import ids, words
from dashboard.figures.traces import odd
from dashboard.library import Library
from dashboard.parts.notes import OVER_REV, caution, empty, error_line
from dashboard.parts.page import section
from dashboard.parts.table import TableRow, look_mark, table
from dashboard.parts.working import working
from dashboard.routes import Place, Query, link
from shiftlog.model.rest import Rest
from shiftlog.model.result import DriveResult
from shiftlog.model.settings import Settings
from shiftlog.model.shift import Rejected, Shift

STANDING_MPS = Settings().standing_mps
_LEVER_FIGURES = ("shift_time_s", "neutral_time_s", "baulk_time_s", "knock_peak_mps2", "grind")
_DRIVE_FIGURES = ("drive_gap_s", "engine_speed_rpm")


def not_measured(library: Library, drive_id: str) -> html.Section:
    """What stands in place of a result: the work, the fault, or the button."""
    said, failed = library.work.said().get(drive_id), library.work.failed(drive_id)
    unread = None if said or failed else library.why_unread(drive_id)
    tick = working({drive_id: said} if said else {}, {drive_id: "This drive"})
    if said:
        return empty("This drive is not measured yet", tick)
    parts = [error_line(why) for why in (failed, unread) if why]
    parts.append(html.Button("Measure this drive", id=ids.MEASURE_DRIVE, className="button"))
    return empty("This drive could not be measured" if failed else "This drive is not measured yet", *parts, tick)


def shift_section(result: DriveResult, place: Place, query: Query) -> html.Section:
    """All shifts and all candidates that were none, in order of time."""
    lever = [s for s in result.shifts if s.seen_by == "lever"]
    drive = [s for s in result.shifts if s.seen_by != "lever"]
    gone = [r for r in result.rejected if r.kind == "shift"]
    parts = []
    if not result.shifts and not gone:
        return section("The shifts", html.P("None was found, and nothing that looked like one.", className="reason"))
    if lever or not drive:
        parts.append(_shift_table("Shifts of the lever", lever, gone, _LEVER_FIGURES, place, query))
    if drive:
        parts.append(html.P("No lever sensor saw these. A drive gap is not a lever time.", className="reason"))
        # Where only the body felt them there is no engine speed at all.
        figures = tuple(k for k in _DRIVE_FIGURES if k == "drive_gap_s" or any(s.value(k) is not None for s in drive))
        parts.append(_shift_table("Changes of gear seen in the drive", drive, gone, figures, place, query))
    return section("The shifts", *parts)


def _shift_table(
    caption: str, shifts: list[Shift], gone: list[Rejected], figures: tuple[str, ...], place: Place, query: Query
) -> html.Div:
    by_lever = figures == _LEVER_FIGURES
    # What only the drive itself shows may be none: how sure each is stands beside it.
    sure = any(s.confidence is not None for s in shifts)
    own = [*(["Outcome"] if by_lever else []), *(["Sure"] if sure else [])]
    heads = ["Shift", "At", *own, *(_head(key) for key in figures)]
    rows = [(s.start_s, _shift_row(s, figures, place, query, own=own)) for s in shifts]
    rows += [(r.start_s, _gone_row(r, len(heads))) for r in gone]
    ordered = [row for _, row in sorted(rows, key=lambda pair: pair[0])]
    return table(heads, ordered, caption=caption, numbers=tuple(range(2 + by_lever, len(heads))))


def _head(key: str) -> str:
    return ", ".join(part for part in (words.label(key), words.unit(key)) if part)


def _shift_row(shift: Shift, figures: tuple[str, ...], place: Place, query: Query, *, own: list[str]) -> TableRow:
    to = Place(page="shift", car=place.car, visit=place.visit, drive=place.drive, shift=shift.number)
    name = [html.Span(f"{shift.number} ", className="soft"), words.change(shift)]
    cells = [dcc.Link(name, href=link(to, Query(speed=query.speed)), className="open"), words.clock(shift.start_s)]
    cells += [_outcome_cell(shift)] if "Outcome" in own else []
    cells += [words.sure(shift)] if "Sure" in own else []
    cells += [_figure_cell(shift, key) for key in figures]
    return TableRow(cells=cells, muted=shift.outcome == "to_neutral", title=_why_muted(shift))


def _outcome_cell(shift: Shift) -> object:
    marks = {
        "paused": shift.paused,
        "standing": shift.standing,
        "double-declutched": shift.double_declutched,
    }
    text = ", ".join([words.outcome(shift), *(name for name, on in marks.items() if on)])
    return look_mark(text) if odd(shift) else text


def _why_muted(shift: Shift) -> str | None:
    return words.OUTCOMES_MEAN.get(shift.outcome or "")


def _figure_cell(shift: Shift, key: str) -> html.Span:
    reading = shift.readings.get(key)
    why = reading.why if reading is not None else None
    if key == "grind" and shift.value(key):
        return look_mark("yes")
    return html.Span(words.bare(key, shift.value(key)), title=why or "")


def _gone_row(gone: Rejected, columns: int) -> TableRow:
    reason = html.Td(gone.why, colSpan=columns - 2)
    return TableRow(cells=["left out", words.clock(gone.start_s), reason], muted=True, title=gone.why)


def rest_sections(library: Library, drive_id: str, result: DriveResult, query: Query) -> list:
    """Rests, and what a push from the wrong plane would mean."""
    if not result.rests:
        return []
    rows = [_rest_row(rest, result, query) for rest in result.rests]
    heads = ["At", "Plane", "Offset, mm", "Let go", "Came from", "Return time, s", "Speed"]
    rests = table(heads, rows, caption="Rests in neutral", numbers=(2, 5))
    wrong = [html.P(f"{words.label('wrong_plane_share')}: {why}", className="reason") for why in _why(result)]
    parts = [section("Where the lever rested", *wrong, rests)]
    exposed = [rest for rest in result.rests if rest.over_rev_if and _moving(rest)]
    return parts + ([_over_rev(exposed, _redline(library, drive_id), query)] if exposed else [])


def _moving(rest: Rest) -> bool:
    """At standstill the wrong plane turns no engine too fast."""
    return (rest.value("vehicle_speed_mps") or 0.0) > STANDING_MPS


def _why(result: DriveResult) -> list[str]:
    why = result.summary.unmeasured.get("wrong_plane_share") or result.summary.unmeasured.get("wrong_plane")
    return [why] if why else []


def _rest_row(rest: Rest, result: DriveResult, query: Query) -> TableRow:
    home = result.gate.layout.home if result.gate else None
    released = {True: "yes", False: "no, guided or held", None: "not known"}[rest.released]
    counted = rest.released and not rest.in_bend
    elsewhere = home is not None and rest.plane != home and counted
    cells = [
        words.clock(rest.start_s),
        look_mark(rest.plane) if elsewhere else rest.plane,
        words.bare("offset_mm", rest.value("offset_mm")),
        released + (", in a bend" if rest.in_bend else ""),
        rest.came_from or words.NOTHING,
        words.bare("return_time_s", rest.value("return_time_s")),
        words.speed(rest.value("vehicle_speed_mps"), query.speed),
    ]
    return TableRow(cells=cells, muted=not counted, title=None if counted else "left out of the statistics")


def _redline(library: Library, drive_id: str) -> float | None:
    car = library.drive_car(drive_id)
    return None if car is None else car.redline_rpm


def _over_rev(rests: list[Rest], redline_rpm: float | None, query: Query) -> html.Section:
    pushes = [(rest, gear, rpm) for rest in rests for gear, rpm in rest.over_rev_if.items()]
    ranked = sorted(pushes, key=lambda push: -push[2])
    rows = [_over_rev_row(rest, gear, rpm, redline_rpm, query) for rest, gear, rpm in ranked]
    known = f"Redline: {words.figure(redline_rpm, 'rpm')}."
    limit = known if redline_rpm else "The profile names no redline, so no row can be marked."
    heads = ["At", "Speed", "Resting in", "Pushed into", "Engine speed would be"]
    body = table(heads, rows, caption="Engine speed if the lever were pushed straight in from where it rested")
    return section("What a straight push from the wrong plane would mean", caution(OVER_REV), html.P(limit), body)


def _over_rev_row(rest: Rest, gear: str, rpm: float, redline_rpm: float | None, query: Query) -> TableRow:
    above = redline_rpm is not None and rpm > redline_rpm
    shown = words.figure(rpm, "rpm")
    at = words.speed(rest.value("vehicle_speed_mps"), query.speed)
    last = look_mark(f"{shown}, above the redline") if above else shown
    return TableRow(cells=[words.clock(rest.start_s), at, rest.plane, gear, last])
