"""Where does the lever rest, and what would a push straight in from there mean?"""

from dataclasses import replace

import dash
from dash import Input, Output, State, dcc, html

from dashboard import ids, words
from dashboard.figures.frame import CONFIG
from dashboard.figures.rests import draw_rests
from dashboard.library import Library
from dashboard.parts.notes import bullets, caution, empty, reason
from dashboard.parts.page import crumbs, question, section
from dashboard.parts.table import TableRow, look_mark, table
from dashboard.resting import read_neutral
from dashboard.routes import MPH, Place, Query, link, read_query
from dashboard.theme import palette
from shiftlog.model.neutral import NearMiss, NeutralReport, Reach, RestGroup
from shiftlog.neutral.words import CAUTIONS, name_group, say_miss, say_rests, worst_misses
from shiftlog.units import MPS_PER_KMH, MPS_PER_MPH

QUESTION = "Where does the lever rest?"
MOST_SHOWN = 20
RELEASED = {True: "yes", False: "no, guided or held", None: "not known"}
FASTEST = {False: 250, True: 155}
"""End of the slider, in km/h and mph."""


def layout(place: Place, query: Query, library: Library) -> html.Div:
    """The answer, the picture, the figures by group, near misses, and the speeds above which a gear over-revs."""
    entry = library.entry(place.drive)
    top = crumbs(place, query, drive_name=entry.name if entry else None)
    report = read_neutral(library, place.drive, whole_visit=query.whole_visit)
    if isinstance(report, str):
        return html.Div([top, question(QUESTION), empty(report)])
    return html.Div(
        [
            top,
            dcc.Store(id=ids.NEUTRAL, data={"drive": place.drive, "visit": query.whole_visit}),
            question(QUESTION, _answer(report, query)),
            _across(place, query, report),
            _groups(report),
            *_misses(report, query),
            _reach(report, query),
        ]
    )  # fmt: skip


_ASIDE = (
    "Each point is a rest, and points the way the lever ran. Full: let go. Hollow: guided, held, or not known. "
    "Red: let go and out of home."
)


def _answer(report: NeutralReport, query: Query) -> list[str]:
    """Where it rests, and the worst moment of all."""
    misses = worst_misses(report)[:1]
    told = [_capital(say_miss(m, words.speed(m.vehicle_speed_mps, query.speed))) for m in misses]
    return [_headline(report), *told]


def _headline(report: NeutralReport) -> str:
    """The group of most let-goes speaks first."""
    order = sorted(report.groups, key=lambda group: -group.released)
    return say_rests(replace(report, groups=tuple(order)))[0]


def _across(place: Place, query: Query, report: NeutralReport) -> html.Section:
    graph = dcc.Graph(id=ids.NEUTRAL_PICTURE, config=CONFIG)
    further = bullets(list(say_rests(report)))
    return section("Across the gate", graph, further, _together(place, query, report), aside=_ASIDE)


def _rpm(rpm: float) -> str:
    """To the nearest turn: these are computed, not measured."""
    return f"{rpm:,.0f}{words.THIN}rpm"


def _capital(text: str) -> str:
    return text[0].upper() + text[1:]


def _together(place: Place, query: Query, report: NeutralReport) -> html.Div:
    """The way from this drive to all of its visit, and back."""
    text = "This drive alone" if query.whole_visit else "All drives of this visit together"
    to = link(place, replace(query, whole_visit=not query.whole_visit))
    told = html.Span(words.count(len(report.drives), "drive"), className="soft")
    return html.Div([told, dcc.Link(text, href=to, className="button quiet", id="neutral-drives")], className="row")


def _groups(report: NeutralReport) -> html.Section:
    heads = ["Rests", "Let go", "Guided or held", "Not known", "In bends", "Out of home"]
    heads += ["Offset, mm", "Hysteresis, mm", "Return time, s"]
    rows = [_group_row(group) for group in report.groups]
    body = table(heads, rows, caption="Rests by what they share", numbers=tuple(range(1, len(heads))))
    missing = [_why(group, "hysteresis_mm") for group in report.groups if group.value("hysteresis_mm") is None]
    whys = [reason("; ".join(missing) + ".")] if missing else []
    return section("Standing and under way, cold and hot", body, *whys)


def _why(group: RestGroup, key: str) -> str:
    return f"{name_group(group)}: no {words.label(key).lower()}, as {group.readings[key].why}"


def _group_row(group: RestGroup) -> TableRow:
    share = group.wrong_plane
    out = words.NOTHING if share is None else f"{share.k} of {share.n}"
    cells = [
        name_group(group), str(group.released), str(group.guided), str(group.unknown), str(group.in_bends),
        look_mark(out) if share is not None and share.k else out,
        *(_with_doubt(group, key) for key in ("offset_mm", "hysteresis_mm", "return_time_s")),
    ]  # fmt: skip
    return TableRow(cells=cells)


def _with_doubt(group: RestGroup, key: str) -> html.Span:
    """A figure, its 95 % interval beside it."""
    reading = group.readings[key]
    shown = words.bare(key, reading.value)
    if reading.interval95 is None:
        return html.Span(shown, title=reading.why or "")
    low, high = (words.bare(key, end) for end in reading.interval95)
    return html.Span([shown, html.Span(f" ({low} to {high})", className="soft")])


def _misses(report: NeutralReport, query: Query) -> list[html.Section]:
    unchecked = [reason(f"{report.unchecked[0].upper()}{report.unchecked[1:]}.")] if report.unchecked else []
    if not report.near_misses:
        none = [] if unchecked else [html.P("No rest out of home lay above the redline at its speed.")]
        return [section("The nearest misses", *none, *unchecked)]
    heads = ["Drive", "At", "Speed", "Lay in", "For, s", "Let go", "Pushed into", "Engine speed would have been"]
    rows = [_miss_row(miss, query) for miss in report.near_misses[:MOST_SHOWN]]
    body = table(
        heads, rows, caption="Moments at which a straight push would have over-revved the engine", numbers=(4,)
    )
    more = len(report.near_misses) - len(rows)
    rest = [html.P(f"The worst {len(rows)}; {more} more are in the JSON document.")] if more > 0 else []
    return [section("The nearest misses", body, *rest, *unchecked)]


def _miss_row(miss: NearMiss, query: Query) -> TableRow:
    cells = [
        miss.drive, words.clock(miss.at_s), words.speed(miss.vehicle_speed_mps, query.speed), miss.plane,
        f"{miss.lay_s:.1f}", RELEASED[miss.released], miss.gear, look_mark(_rpm(miss.rpm)),
    ]  # fmt: skip
    return TableRow(cells=cells)


def _reach(report: NeutralReport, query: Query) -> html.Section:
    """Every gear straight from where the lever was found, at a speed one may turn to."""
    is_mph = query.speed == MPH
    start = (report.fastest_mps or 100 * MPS_PER_KMH) / (MPS_PER_MPH if is_mph else MPS_PER_KMH)
    slider = dcc.Slider(
        id=ids.NEUTRAL_SPEED, min=0, max=FASTEST[is_mph], step=1, value=min(round(start), FASTEST[is_mph]),
        marks={k: str(k) for k in range(0, FASTEST[is_mph] + 1, 25)},
    )  # fmt: skip
    return section(
        "What a push straight in would mean", *(caution(text) for text in CAUTIONS),
        html.Div([html.Label(f"Vehicle speed, {query.speed}"), slider], className="slider"),
        html.Div(id=ids.NEUTRAL_REACH, role="status"),
        aside="Gears straight ahead and behind of every plane the lever was found resting in.",
    )  # fmt: skip


def reach_table(report: NeutralReport, speed_mps: float, speed_unit: str) -> html.Div:
    """The limit of each gear, and the engine speed at one vehicle speed."""
    heads = ["Resting in", "Rests", "Pushed into", "Over-revs above", f"At {words.speed(speed_mps, speed_unit)}"]
    rows = [_reach_row(reach, speed_mps, report.redline_rpm, speed_unit) for reach in report.reach]
    known = report.redline_rpm is not None
    limit = f"Redline: {words.figure(report.redline_rpm, 'rpm')}." if known else "The profile names no redline."
    notes = [html.P(f"{note[:1].upper()}{note[1:]}.") for note in report.notes]
    return html.Div(
        [html.P(limit), *notes, table(heads, rows, caption="Engine speed after a push straight in", numbers=(1,))]
    )


def _reach_row(reach: Reach, speed_mps: float, redline_rpm: float | None, speed_unit: str) -> TableRow:
    limit, rpm = reach.over_rev_above_mps, None if reach.rpm_per_mps is None else reach.rpm_per_mps * speed_mps
    shown = reach.why or words.NOTHING if rpm is None else _rpm(rpm)
    above = rpm is not None and redline_rpm is not None and rpm > redline_rpm
    cells = [
        f"{reach.plane}{', home' if reach.home else ''}", str(reach.rests), reach.gear,
        words.NOTHING if limit is None else words.speed(limit, speed_unit),
        look_mark(f"{shown}, above the redline") if above else shown,
    ]  # fmt: skip
    return TableRow(cells=cells)


def register(app: dash.Dash, library: Library) -> None:
    """The picture, and the table that follows the speed."""

    @app.callback(Output(ids.NEUTRAL_PICTURE, "figure"), Input(ids.NEUTRAL, "data"), Input(ids.SCHEME, "data"))
    def show(choice: dict, scheme: str | None):
        report = read_neutral(library, choice["drive"], whole_visit=choice["visit"])
        gate = library.result(choice["drive"]).gate
        if isinstance(report, str) or gate is None:
            return dash.no_update
        return draw_rests([(name_group(g), g.rests) for g in report.groups], gate.layout, palette(scheme))

    @app.callback(
        Output(ids.NEUTRAL_REACH, "children"), Input(ids.NEUTRAL_SPEED, "value"), Input(ids.NEUTRAL, "data"),
        State(ids.URL, "search"),
    )  # fmt: skip
    def at_speed(value: float | None, choice: dict, search: str):
        query = read_query(search)
        report = read_neutral(library, choice["drive"], whole_visit=choice["visit"])
        if isinstance(report, str):
            return reason(report)
        return reach_table(report, (value or 0) * (MPS_PER_MPH if query.speed == MPH else MPS_PER_KMH), query.speed)
