"""What stands out in a drive, and how its synchronisers work."""

from dash import dcc, html

from dashboard import words
from dashboard.parts.notes import bullets, caution
from dashboard.parts.page import section
from dashboard.parts.table import TableRow, look_mark, table
from dashboard.routes import Place, Query, link
from shiftlog.findings.words import CAUTION, HEADING
from shiftlog.measure.synchro import COLD_C, CRASH, CRASHES, HOT_C, SLOPE
from shiftlog.model.result import DriveResult, Finding, SynchroRow
from shiftlog.model.share import Share

_BANDS = {
    "cold": f"below {COLD_C:.0f} °C",
    "between": f"{COLD_C:.0f} to {HOT_C:.0f} °C",
    "hot": f"{HOT_C:.0f} °C and more",
}


def finding_sections(result: DriveResult, place: Place, query: Query) -> list[html.Section]:
    """Each finding with its shifts, what to look at, what would look the same; nothing where nothing stands out."""
    if not result.findings:
        return []
    return [section(HEADING, caution(CAUTION), *(_finding(f, place, query) for f in result.findings))]


def _finding(finding: Finding, place: Place, query: Query) -> html.Article:
    named = {f"shift {number}": number for number in finding.shifts}
    shown = [_shift_link(named[text], place, query) if text in named else text for text in finding.evidence]
    evidence = [part for one in shown for part in (one, ", ")][:-1]
    parts = [
        html.H3(look_mark(finding.what)),
        html.P(["Evidence: ", *evidence, "."], className="soft"),
        *(html.P(note, className="soft") for note in finding.notes),
        html.P("Look at next:"),
        bullets(list(finding.look_at)),
        html.P("Would look the same:"),
        bullets(list(finding.also_looks_like)),
        html.P(f"Cheapest next test: {finding.next_test}."),
    ]
    return html.Article(parts)


def _shift_link(number: int, place: Place, query: Query) -> dcc.Link:
    to = Place(page="shift", car=place.car, visit=place.visit, drive=place.drive, shift=number)
    return dcc.Link(f"shift {number}", href=link(to, Query(speed=query.speed)), className="open")


def synchro_sections(result: DriveResult) -> list[html.Section]:
    """One row for each gear, direction and temperature band."""
    rows = result.summary.synchro
    if not rows:
        return []
    heads = [
        "Into", "Shift", "Gearbox", "Stood", f"{words.label(SLOPE)}, {words.unit(SLOPE)}", "Difference",
        words.label(CRASH), "What it tells",
    ]  # fmt: skip
    aside = (
        "How much longer the lever stands for each 1,000 rpm of difference in speed, and how many quick shifts went in "
        "with a grind and no stand. Gears are compared within this drive and driver only."
    )
    body = table(heads, [_synchro_row(row) for row in rows], caption="Synchronisers", numbers=(3, 4, 6))
    return [section("How the synchronisers work", body, aside=aside)]


def _synchro_row(row: SynchroRow) -> TableRow:
    cells = [
        row.gear,
        row.direction,
        _BANDS.get(row.band, row.band),
        str(row.n),
        _or_why(_slope(row), row.unmeasured.get(SLOPE)),
        words.SIDES[row.side],
        _or_why(_crash(row.crash_through), row.unmeasured.get(CRASH)),
        row.reading,
    ]
    return TableRow(cells=cells)


def _or_why(figure: object, why: str | None) -> object:
    """A figure, or why it is missing, in the open: a finger on a screen never hovers."""
    return figure if why is None else html.Td(why, className="why")


def _slope(row: SynchroRow) -> str:
    if row.slope_ms_per_krpm is None:
        return words.NOTHING
    text = words.number(row.slope_ms_per_krpm, digits=2)
    if row.interval95 is None:
        return text
    low, high = (words.number(v, digits=2) for v in row.interval95)
    return f"{text} ({low} to {high})"


def _crash(share: Share | None) -> object:
    if share is None:
        return words.NOTHING
    text = f"{share.k} of {share.n} ({words.percent(share.low)} to {words.percent(share.high)})"
    return look_mark(text) if share.low > CRASHES else text
