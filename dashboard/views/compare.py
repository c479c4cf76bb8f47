"""Before and after: is it better?"""

from dataclasses import replace

import dash
from dash import Input, Output, dcc, html

from dashboard import answers, ids, words
from dashboard.complaints import cold_job
from dashboard.figures.distribution import draw_distribution
from dashboard.figures.frame import CONFIG
from dashboard.library import Library
from dashboard.parts.drive_list import drive_place
from dashboard.parts.notes import CERTIFICATE, caution, empty, error_line
from dashboard.parts.page import question, section
from dashboard.parts.table import TableRow, table
from dashboard.routes import COMPARE, Place, Query, link, read_query
from dashboard.theme import palette
from shiftlog.errors import ShiftlogError
from shiftlog.measure.catalogue import MEASURES, Measure
from shiftlog.measure.nouns import count_of, is_share, many, say_count, say_kind
from shiftlog.measure.share import share_of
from shiftlog.model.comparison import Comparison, Row
from shiftlog.model.job import JobVersion
from shiftlog.model.told import Told

_EXPLORE = 0.05
_READING = (
    "The drive is the unit: an interval counts how much drives differ. Smallest change: what these drives can show at "
    "all. p is corrected by Holm over the rows for all kinds, and within a measure that passed over its kinds."
)
_BOX = "Box: from the lower to the upper quartile of all values."


def layout(place: Place, query: Query, library: Library) -> html.Div:
    """Verdict over all measures, then the pictures of one, then the table."""
    if not query.before or not query.after:
        return html.Div([question("Is it better?"), _choose(query)])
    try:
        job = cold_job(library, query.before, query.after)
        comparison = library.compare(query.before, query.after, cold=job is not None)
    except ShiftlogError as error:
        back = dcc.Link("Choose other drives", href=link(Place(page="drives"), _keep(query)), className="button")
        return html.Div(
            [question("Is it better?"), empty("These drives cannot be compared", error_line(str(error)), back)]
        )
    chosen = {"before": list(query.before), "after": list(query.after), "cold": job is not None}
    store = dcc.Store(id=ids.COMPARISON, data=chosen)
    return html.Div(
        [
            question("Is it better?", answers.answer_comparison(comparison, query.speed)),
            store,
            _sides(library, query),
            _of_job(job, comparison, query),
            _provisional(comparison),
            html.Div(id=ids.DISTRIBUTIONS),
            _all_section(comparison, query),
            _exploring(comparison),
            _advice(comparison),
            caution(CERTIFICATE),
        ]
    )


def _of_job(job: JobVersion | None, comparison: Comparison, query: Query) -> html.Section | None:
    """For a complaint about the cold gearbox: what counts, or what is missing, and whose complaint it is."""
    if job is None:
        return None
    record = dcc.Link(f"Job {job.id}", href=link(Place(page="job", job=job.id), Query(speed=query.speed)))
    said = [text for text in (*comparison.caveats, *comparison.advice) if _of_cold(text)]
    lines = [html.P(f"{text[0].upper()}{text[1:]}.") for text in said]
    return section("A complaint about the cold gearbox", *lines, html.P(["The record: ", record]))


def _of_cold(text: str) -> bool:
    return isinstance(text, Told) and text.key.startswith("cold.")


def _keep(query: Query) -> Query:
    return Query(speed=query.speed, before=query.before, after=query.after)


def _choose(query: Query) -> html.Section:
    text = "Choose drives from before the repair and drives from after it. Three on each side are a good number."
    button = dcc.Link("Choose drives", href=link(Place(page="drives"), _keep(query)), className="button")
    return empty("Nothing is chosen yet", html.P(text), button)


def _sides(library: Library, query: Query) -> html.Div:
    sides = (("before", query.before), ("after", query.after))
    return html.Div([_side(library, name, drives, query) for name, drives in sides], className="twosides")


def _side(library: Library, name: str, drives: tuple[str, ...], query: Query) -> html.Div:
    entries = [library.entry(drive) for drive in drives]
    links = [dcc.Link(e.name, href=link(drive_place(e), Query(speed=query.speed))) for e in entries if e is not None]
    spaced = [part for one in links for part in (one, " ")]
    return html.Div(
        [html.Span(className=f"swatch {name}"), html.B(f"{name.capitalize()}: "), *spaced], className="side"
    )


def _provisional(comparison: Comparison) -> html.Section | None:
    caveats = [html.Li(text) for text in comparison.caveats if not _of_cold(text)]
    # A kind that was driven in a few of the drives only says so beside its own picture.
    headlines = tuple(row for row in comparison.rows if row.group == "all")
    if not any(row.provisional for row in headlines):
        return section("To bear in mind", html.Ul(caveats, className="plain")) if caveats else None
    reasons = [html.Li(f"{why[0].upper()}{why[1:]}.".replace("..", ".")) for why in answers.why_provisional(headlines)]
    return section("Why these verdicts are provisional", html.Ul(reasons + caveats, className="plain"))


def _advice(comparison: Comparison) -> html.Section | None:
    lines = [html.Li(f"{text[0].upper()}{text[1:]}.") for text in comparison.advice if not _of_cold(text)]
    return section("What would make the answer stronger", html.Ul(lines, className="plain")) if lines else None


def measures_of(comparison: Comparison) -> list[str]:
    """Measures with rows, in the comparison's order: what the car does first, what the hand does last."""
    return list(dict.fromkeys(row.measure for row in comparison.rows))


def _all_section(comparison: Comparison, query: Query) -> html.Section:
    rows = [_table_row(row, query) for key in measures_of(comparison) for row in comparison.rows if row.measure == key]
    heads = [
        "Measure", "Kind", "Verdict", "Before", "After", "Difference, 95 % interval", "Smallest change",
        "Matters from", "p (Holm)",
    ]  # fmt: skip
    body = table(heads, rows, caption="Before against after", numbers=(3, 4))
    return section("Every measure", body, aside=_READING)


def _table_row(row: Row, query: Query) -> TableRow:
    to = link(COMPARE, replace(_keep(query), measure=row.measure))
    cells = [
        dcc.Link(words.label(row.measure), href=to, className="open"),
        kind(row),
        answers.verdict_words(row),
        html.Td(_with_count(row, row.before, (row.k_before, row.n_before), query), className="number wraps"),
        html.Td(_with_count(row, row.after, (row.k_after, row.n_after), query), className="number wraps"),
        html.Td((row.verdict != "too_few" and answers.difference(row, query.speed)) or words.NOTHING, className="wide"),
        words.NOTHING if row.smallest_change is None else answers.size_value(row, row.smallest_change, query.speed),
        words.NOTHING if row.margin is None else answers.size_value(row, row.margin, query.speed),
        answers.chance(row.p_corrected),
    ]
    return TableRow(cells=cells, muted=row.verdict == "too_few", title=row.why)


def _exploring(comparison: Comparison) -> html.Details | None:
    """Rows that stand out when false alarms are allowed one in twenty: where to look next."""
    rows = [row for row in comparison.rows if row.p_explore is not None and row.p_explore <= _EXPLORE]
    rows.sort(key=lambda row: row.p_explore)
    lines = [
        TableRow(cells=[words.label(r.measure), kind(r), answers.chance(r.p), answers.chance(r.p_explore), _delta(r)])
        for r in rows
    ]
    if not lines:
        return None
    heads = ["Measure", "Kind", "p alone", "p, Benjamini and Hochberg", "Cliff's delta"]
    note = html.P("About one in twenty of these is chance. For looking further, not for claims.", className="soft")
    summary = html.Summary(f"For exploring: {words.count(len(lines), 'row stands', 'rows stand')} out")
    return html.Details([summary, note, table(heads, lines, caption="For exploring", numbers=(2, 3, 4))])


def _delta(row: Row) -> str:
    return words.NOTHING if row.cliffs_delta is None else words.number(row.cliffs_delta, step=0.01)


def _with_count(row: Row, value: float | None, counted: tuple[int | None, int], query: Query) -> list:
    """A side's figure and how many it rests on; of a share what was counted, and what a none or an all leaves open."""
    k, n = counted
    if k is not None and n:
        return [say_count(share_of(k, n))]
    return [answers.side_value(row, value, query.speed), html.Span(f" of {n}", className="soft")]


def kind(row: Row) -> str:
    """The kind of shift of a row, in words."""
    return say_kind(row)


def chosen_measure(comparison: Comparison, asked: str | None) -> str | None:
    """The measure asked for; else the first that says something over all kinds; else the first; None without rows."""
    measures = measures_of(comparison)
    if asked in measures:
        return asked
    telling = {row.measure for row in comparison.rows if row.group == "all" and row.verdict in answers.FIRM}
    return next((key for key in measures if key in telling), next(iter(measures), None))


def distribution_rows(comparison: Comparison, measure: str, *, speed_unit: str, scheme: str | None) -> list:
    """A picture and its verdict in words for each kind of shift; kinds with too few shifts fold away."""
    rows = [row for row in comparison.rows if row.measure == measure]
    told = [row for row in rows if row.verdict != "too_few" or row.group == "all"]
    few = [row for row in rows if row not in told]
    return [_strip(row, speed_unit, scheme) for row in told] + ([_too_few(few)] if few else [])


def _too_few(rows: list[Row]) -> html.Details:
    lines = [TableRow(cells=[kind(row), row.n_before, row.n_after, _left_out(row) or "nothing"]) for row in rows]
    body = table(["Kind", "Before", "After", "Left out"], lines, caption="Counts", numbers=(1, 2))
    return html.Details(
        [html.Summary(f"{words.count(len(rows), 'kind')} with too few {many(rows[0].counted)} to tell"), body]
    )


def _strip(row: Row, speed_unit: str, scheme: str | None) -> html.Div:
    lines = [
        html.H3(kind(row)),
        html.P(answers.verdict_sentence(row, speed_unit), className="verdict"),
        html.P(_counts(row), className="soft"),
    ]
    lines += [html.P(said, className="soft") for said in answers.evidence_sentences(row, speed_unit)]
    but = row.why.partition("; but ")[2]
    lines += [html.P(f"But {but}.", className="reason")] if but else []
    left_out = _left_out(row)
    lines += [html.P(f"Left out: {left_out}.", className="soft")] if left_out else []
    graph = dcc.Graph(figure=draw_distribution(row, palette(scheme), speed_unit=speed_unit), config=CONFIG)
    return html.Div([graph, html.Div(lines)], className="strip")


def _say_marks(about: Measure) -> str:
    """What rule, box and marks of a picture are."""
    if is_share(about.key):
        return "Every mark is one try. Bold rule: the mean of the drives' shares."
    rule = "of all gears the one with the least" if about.least else "the mean of the drives' medians"
    return f"Bold rule: {rule}. {_BOX}"


def _left_out(row: Row) -> str:
    left = row.left_out
    if not (left.before or left.after):
        return ""
    return f"{left.before} before, {left.after} after" + (f" ({'; '.join(left.why)})" if left.why else "")


def _counts(row: Row) -> str:
    sides = ((row.n_before, row.drives_before, "before"), (row.n_after, row.drives_after, "after"))
    return (
        ", ".join(f"{count_of(n, row.counted)} from {words.count(drives, 'drive')} {side}" for n, drives, side in sides)
        + "."
    )


def _measure_tabs(comparison: Comparison, query: Query, chosen: str) -> html.Nav:
    links = []
    for key in measures_of(comparison):
        on = {"aria-current": "true"} if key == chosen else {}
        href = link(COMPARE, replace(_keep(query), measure=key))
        links.append(
            html.Span(dcc.Link(words.label(key), href=href, className="go"), className="on" if on else "", **on)
        )
    return html.Nav(links, className="tabs", **{"aria-label": "Measures"})


def register(app: dash.Dash, library: Library) -> None:
    """The pictures of the chosen measure."""

    @app.callback(
        Output(ids.DISTRIBUTIONS, "children"),
        Input(ids.COMPARISON, "data"),
        Input(ids.URL, "search"),
        Input(ids.SCHEME, "data"),
    )
    def show_distributions(choice: dict, search: str, scheme: str | None):
        query = read_query(search)
        sides = tuple(choice["before"]), tuple(choice["after"])
        comparison = library.compare(*sides, cold=choice["cold"])
        chosen = chosen_measure(comparison, query.measure)
        if chosen is None:
            return section("Nothing to compare", html.P("These drives share no kind of shift that could be compared."))
        about = MEASURES[chosen]
        strips = distribution_rows(comparison, chosen, speed_unit=query.speed, scheme=scheme)
        way = {"lower": " Lower is better.", "higher": " Higher is better."}.get(about.better or "", "")
        aside = f"{about.definition[0].upper()}{about.definition[1:]}.{way} {_say_marks(about)}"
        return section(about.label, _measure_tabs(comparison, query, chosen), *strips, aside=aside)
