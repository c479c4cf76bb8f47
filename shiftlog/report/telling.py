"""Which figures say something to a client; all others are named in one line and stand in the engineer's table."""

from collections.abc import Collection, Sequence

from shiftlog.model.comparison import Row
from shiftlog.report.content import ALL, FIRM, Content
from shiftlog.report.counts import MEASURE_OF, asked_events
from shiftlog.report.language import Language
from shiftlog.report.markup import Html, tag
from shiftlog.report.row_words import row_name

LONG = 8
"""Up to so many rows are read at a glance, whatever they say."""


def telling_rows(content: Content, *, also: Collection[tuple[str, str]] = ()) -> tuple[list[Row], list[Row]]:
    """(rows that say something, the others), in their order. also : (measure, group) of rows that are looked for"""
    rows = content.headline
    if len(rows) <= LONG:
        return list(rows), []
    asked = {MEASURE_OF[event] for event in asked_events(content.version.job if content.version else None)}
    grown = content.grown
    told = [
        r for r in rows
        if _says_something(r) or r in grown or (r.measure, r.group) in also or (r.measure in asked and r.group == ALL)
    ]  # fmt: skip
    return told, [r for r in rows if r not in told]


def _says_something(row: Row) -> bool:
    return row.verdict in FIRM or row.changed or row.maybe_chance or row.taken_back is not None


def name_others(rows: Sequence[Row], words: Language) -> Html | None:
    """The line below a table that names what it leaves out, or None."""
    if not rows:
        return None
    return tag("p", words.say("table.others", list=words.listed([row_name(r, words) for r in rows])), class_="soft")
