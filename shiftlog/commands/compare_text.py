"""What `shiftlog compare` prints."""

import textwrap

from shiftlog.commands.terminal import WIDTH, table
from shiftlog.compare.gauge_words import count_classes, gauge_lines, say_gauge
from shiftlog.compare.words import say_range, say_row, say_size
from shiftlog.measure.catalogue import MEASURES
from shiftlog.measure.nouns import many, say_count, say_covered, say_verdict
from shiftlog.measure.share import share_of
from shiftlog.model.comparison import Comparison, Row
from shiftlog.model.repeatability import GaugeRow, GaugeStudy, Repeatability, SetupWorth


def comparison_lines(comparison: Comparison) -> list[str]:
    """Headlines first for each measure, its kinds below them."""
    lines = [f"Before: {', '.join(comparison.before)}. After: {', '.join(comparison.after)}."]
    lines += [f"Mind: {caveat}." for caveat in comparison.caveats]
    for row in comparison.rows:
        if row.group == "all":
            lines += _measure_lines(row, comparison)
    if not comparison.rows:
        lines.append("These drives share nothing that can be compared.")
    return lines + [f"{said[0].upper()}{said[1:]}." for said in comparison.advice]


def _measure_lines(row: Row, comparison: Comparison) -> list[str]:
    """The headline, what was left out of it, and its kinds."""
    label, left = MEASURES[row.measure].label, row.left_out
    kinds = [r for r in comparison.rows if r.measure == row.measure and r.group != "all"]
    few = [r.group for r in kinds if r.verdict == "too_few"]
    lines = ["", *_wrapped(say_row(row, label))]
    lines += (
        _wrapped(f"  left out: {left.before} before, {left.after} after ({'; '.join(left.why)})") if left.why else []
    )
    told = [_kind_cells(r) for r in kinds if r.verdict != "too_few"]
    counts = ["before", "after"] if row.k_before is not None else []
    heads = ["kind", *counts, "change", "95 %", "smallest change", "verdict"]
    lines += [f"  {line}" for line in table(heads, told).splitlines()] if told else []
    return lines + (_wrapped(f"  too few {many(row.counted)} to tell: {', '.join(few)}") if few else [])


def _wrapped(text: str) -> list[str]:
    return textwrap.wrap(text, WIDTH, subsequent_indent="    " if text.startswith(" ") else "  ")


def _kind_cells(row: Row) -> list[str]:
    """A kind in one line: the change, its interval, and the smallest change beside it."""
    change, smallest = (
        "not known" if v is None else say_size(row.measure, row.unit, v) for v in (row.difference, row.smallest_change)
    )
    known = row.ci_low is not None and row.ci_high is not None
    within = say_range(row.measure, row.unit, row.ci_low, row.ci_high) if known else "not known"
    doubt = ", provisional" if row.provisional else ""
    alone = say_covered(row.interval_covers, row.counted)
    return [
        row.group,
        *_tallies(row),
        change,
        within + (f" ({alone})" if alone else ""),
        smallest,
        say_verdict(row) + doubt,
    ]


def _tallies(row: Row) -> list[str]:
    """Of a share what was counted on each side; nothing of other figures."""
    if row.k_before is None:
        return []
    sides = ((row.k_before, row.n_before), (row.k_after, row.n_after))
    return [say_count(share_of(k, n)) if n else "none" for k, n in sides]


def setup_lines(worth: SetupWorth) -> list[str]:
    """Repeatability of every measure, then the gauge study of those that have one."""
    head = ["figure", "drives", "counted", "drive sd", "sd within a drive", "smallest change"]
    lines = [f"Nothing changed between drives of one stage and driver: {', '.join(worth.drives)}.", ""]
    lines += [table(head, [_repeat_cells(row) for row in worth.repeatability]), ""]
    lines += [
        f"Smallest change: with {row.a_side} drives a side of as many shifts, 95 %." for row in worth.repeatability[:1]
    ]
    whys = dict.fromkeys(f"{MEASURES[r.measure].label}: {r.why}" for r in worth.repeatability if r.why)
    lines += [f"{why}." for why in whys]
    studied = [row for row in worth.gauge if row.anova is not None]
    if not studied:
        lines += [f"No gauge study: {why}." for why in dict.fromkeys(row.why for row in worth.gauge)]
        return [*lines, *(f"Missing: {one}." for one in worth.missing)]
    head = [
        "gauge study", "method", "repeatability", "reproducibility", "setup to setup", "gauge of total",
        "of tolerance", "classes told apart",
    ]  # fmt: skip
    rows = [_gauge_cells(row, s) for row in studied for s in (row.average_range, row.anova) if s is not None]
    lines += ["", table(head, rows)]
    for row in studied:
        lines += _wrapped(f"{MEASURES[row.measure].label}: {say_gauge(row)}.")
        lines += [
            f"{MEASURES[row.measure].label}: repeats of {d} in {s} differ more than chance allows."
            for s, d in row.unsteady
        ]
    return lines


def _repeat_cells(row: Repeatability) -> list[str]:
    figures = [
        "not known" if v is None else say_size(row.measure, row.unit, v)
        for v in (row.within_sd, row.shift_sd, row.smallest_change)
    ]
    return [MEASURES[row.measure].label, str(row.drives), str(row.shifts), *figures]


def _gauge_cells(row: GaugeRow, study: GaugeStudy) -> list[str]:
    repeat, driver, gauge, setup, _ = gauge_lines(study, row.margin)
    sds = [say_size(row.measure, row.unit, part.sd) for part in (repeat, driver, setup)]
    total = "nothing varies" if gauge.of_total is None else f"{gauge.of_total:.0f} %"
    tolerance = "none set" if gauge.of_tolerance is None else f"{gauge.of_tolerance:.0f} %"
    return [MEASURES[row.measure].label, study.method, *sds, total, tolerance, count_classes(study)]
