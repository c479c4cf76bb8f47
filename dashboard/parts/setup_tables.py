"""Tables of what a setup can show: repeatability of every measure, and the gauge study both ways."""

from dash import html

from dashboard import words
from dashboard.parts.table import TableRow, look_mark, table
from dashboard.setups import GaugeLine, count_classes, gauge_lines, rank_gauge, say_gauge, say_pooled, say_size
from shiftlog.model.repeatability import GaugeRow, GaugeStudy, Repeatability

MOST_DRIVES = 30
"""Beyond this a number of drives is no advice any more."""


def repeat_table(rows: tuple[Repeatability, ...]) -> html.Div:
    """One line a measure: how much drives differ, the smallest change, and what would show one that matters."""
    heads = [
        "Measure", "Drives", "Counted", "Within-setup standard deviation", "Within a drive", "Smallest change",
        "Matters from", "Drives a side to see that",
    ]  # fmt: skip
    return table(heads, [_repeat_row(row) for row in rows], caption="Repeatability", numbers=(1, 2, 3, 4, 5, 6, 7))


def _repeat_row(row: Repeatability) -> TableRow:
    sd, shift, smallest, margin = (
        _size(row, v) for v in (row.within_sd, row.shift_sd, row.smallest_change, row.margin)
    )
    cells = [words.label(row.measure), row.drives, row.shifts, sd, shift, smallest, margin, _needed(row)]
    if row.smallest_change and row.margin and row.smallest_change > row.margin:
        cells[5] = look_mark(smallest)
    return TableRow(cells=cells, muted=row.smallest_change is None, title=row.why)


def _size(row: Repeatability | GaugeRow, value: float | None) -> str:
    return words.NOTHING if value is None else say_size(row.measure, row.unit, value)


def _needed(row: Repeatability) -> str:
    if row.drives_needed is None:
        return words.NOTHING
    return f"over {MOST_DRIVES}" if row.drives_needed > MOST_DRIVES else str(row.drives_needed)


def repeat_reasons(rows: tuple[Repeatability, ...]) -> list[str]:
    """Why measures have no smallest change, those of one reason together."""
    whys: dict[str, list[str]] = {}
    for row in rows:
        if row.why:
            whys.setdefault(row.why, []).append(words.label(row.measure))
    return [f"{words.sentence_list(names)}: {why}." for why, names in whys.items()]


def gauge_ranks(rows: list[GaugeRow]) -> list[str]:
    """How the studies stand to the usual rule by ANOVA, measures of one rank together."""
    ranks: dict[str, list[str]] = {}
    for row in rows:
        ranks.setdefault(rank_gauge(row.anova), []).append(words.label(row.measure))
    return [f"{words.sentence_list(names)}: {rank}." for rank, names in ranks.items()]


def gauge_table(rows: list[GaugeRow]) -> html.Div:
    """Every study in two lines, one a method: what each part takes of the total, and the gauge of the tolerance."""
    heads = [
        "Measure", "Method", "Repeatability, % of total", "Reproducibility, % of total", "Gauge, % of total",
        "Gauge, % of tolerance", "Classes of setups told apart",
    ]  # fmt: skip
    lines = [_gauge_row(row, study, first=study is row.average_range) for row in rows for study in _studies(row)]
    return table(heads, lines, caption="Gauge study by both methods", numbers=(2, 3, 4, 5, 6))


def _studies(row: GaugeRow) -> list[GaugeStudy]:
    return [study for study in (row.average_range, row.anova) if study is not None]


def _gauge_row(row: GaugeRow, study: GaugeStudy, *, first: bool) -> TableRow:
    repeat, driver, gauge, *_ = gauge_lines(study, row.margin)
    name = words.label(row.measure) if first else ""
    told = [_percent(part.of_total) for part in (repeat, driver, gauge)]
    return TableRow(cells=[name, study.method, *told, _percent(gauge.of_tolerance), count_classes(study)])


def gauge_details(row: GaugeRow) -> html.Details:
    """A measure's study: what it says, then its parts by both methods side by side."""
    both = tuple(gauge_lines(study, row.margin) for study in _studies(row))
    lines = [
        TableRow(cells=[_part(line[0]), *(cell for one in line for cell in _figures(row, one))])
        for line in zip(*both, strict=True)
    ]
    heads = ["Part"] + [f"{study.method}: {what}" for study in _studies(row) for what in _heads(row)]
    name, said = words.label(row.measure), say_gauge(row)
    return html.Details(
        [
            html.Summary(f"{name}, part by part"),
            html.P(f"{said[0].upper()}{said[1:]}.", className="verdict"),
            table(heads, lines, caption=f"Gauge study: {name}", numbers=tuple(range(1, len(heads)))),
            *(html.P(f"{note[0].upper()}{note[1:]}.", className="soft") for note in _notes(row)),
        ],
        className="gauge",
    )


def _part(line: GaugeLine) -> html.Span:
    return html.Span([html.B(line.name), html.Br(), html.Span(line.means, className="soft")])


def _notes(row: GaugeRow) -> list[str]:
    pooled = [said for study in _studies(row) if (said := say_pooled(study))]
    return pooled + [
        f"repeats of driver {driver} at stage {setup} differ more than chance allows; look at these drives first"
        for setup, driver in row.unsteady
    ]


def _heads(row: GaugeRow) -> list[str]:
    return ["standard deviation", "% of total"] + (["% of tolerance"] if row.margin else [])


def _figures(row: GaugeRow, line: GaugeLine) -> list[str]:
    told = [_size(row, line.sd), _percent(line.of_total)]
    return told + ([_percent(line.of_tolerance)] if row.margin else [])


def _percent(value: float | None) -> str:
    return words.NOTHING if value is None else f"{value:.0f}"


def gauge_reasons(rows: tuple[GaugeRow, ...]) -> list[str]:
    """Why measures have no study, those of one reason together."""
    whys: dict[str, list[str]] = {}
    for row in rows:
        if row.why:
            whys.setdefault(row.why, []).append(words.label(row.measure).lower())
    return [f"No study of {words.sentence_list(names)}: {why}." for why, names in whys.items()]
