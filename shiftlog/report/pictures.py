"""Which pictures a report shows: the counts, the rests, and at most two figures that the comparison speaks of."""

from collections.abc import Sequence

from shiftlog.compare.sample import RESTS_OF
from shiftlog.model.comparison import Row
from shiftlog.model.rest import Rest
from shiftlog.report.answer import capital
from shiftlog.report.charts import choose_ticks, draw_rests, draw_strip, draw_tries
from shiftlog.report.content import FIRM, Content
from shiftlog.report.count_words import count_label, tally
from shiftlog.report.counts import HOME, Count, on_both_sides
from shiftlog.report.kind_words import where_name
from shiftlog.report.language import Language
from shiftlog.report.markup import Html, tag
from shiftlog.report.parts import figure, section
from shiftlog.report.row_words import is_least, measure_name, row_name

MOST_COUNTS, MOST_STRIPS = 2, 2
_LEAST_VALUES = 3


def pictures(content: Content, words: Language) -> Html | None:
    """All pictures of a report under their heading, or None where there is nothing to draw."""
    counts = on_both_sides(content.counts) or content.counts
    drawn = [_tries(count, words) for count in counts[:MOST_COUNTS]]
    drawn += _rests(content, words)
    drawn += [_strip(row, words) for row in _worth_drawing(content.headline)]
    return section(words.say("section.pictures"), tag("div", drawn, class_="pictures"), kind="long") if drawn else None


def _tries(count: Count, words: Language) -> Html:
    sides = []
    for side in ("before", "after"):
        tries = [came for tried in getattr(count, side) for came in tried.tries]
        told = tally(count.share(side), words) or words.say("count.no_trials")
        sides.append((side, f"{words.say(f'side.{side}')}: {told}", tries))
    label = count_label(count, words)
    return figure(label, draw_tries(sides, title=label), words.say("count.marks", event=label))


def _rests(content: Content, words: Language) -> list[Html]:
    """The rests that a count is of, those of marked tests and those while driving each on a picture of its own."""
    layout = next((d.result.gate.layout for _, d in content.drives if d.result.gate), None)
    if layout is None or layout.home is None:
        return []
    drawn = []
    for count in (c for c in content.counts if c.event == HOME):
        sides = [(words.say(f"side.{side}"), counted_rests(content, count, side)) for side in ("before", "after")]
        title = words.say("chart.rests", where=where_name(count.row, words))
        home, away = words.say("chart.rest_home"), words.say("chart.rest_away")
        note = words.say("chart.caption_rests", home=home, away=away)
        drawn.append(figure(title, draw_rests(layout, sides, title=title), note))
    return drawn


def counted_rests(content: Content, count: Count, side: str) -> list[Rest]:
    """Every rest that a count of a side is of; drives that the comparison left out are left out."""
    tried = getattr(count, side)
    drives = zip(getattr(content, side), tried, strict=True)
    return [rest for drive, one in drives if one.tries for rest in RESTS_OF[count.where](drive.result)]


def _worth_drawing(rows: Sequence[Row]) -> list[Row]:
    """Rows that claim something first, then the others; shares are drawn as tries already."""
    drawable = [
        r for r in rows if not r.measure.endswith("_share") and len(_flat(r.values_before)) >= _LEAST_VALUES
        and len(_flat(r.values_after)) >= _LEAST_VALUES
    ]  # fmt: skip
    return sorted(drawable, key=lambda r: r.verdict not in FIRM)[:MOST_STRIPS]


def _flat(values) -> list[float]:
    return [v for some in values.values() for v in some]


def _strip(row: Row, words: Language) -> Html:
    sides = [
        ("before", words.say("side.before"), _flat(row.values_before), row.before),
        ("after", words.say("side.after"), _flat(row.values_after), row.after),
    ]
    ticks = {v: words.number(v, places=2) for v in choose_ticks(sides[0][2] + sides[1][2])}
    name = row_name(row, words)
    title = f"{capital(name)}, {words.unit(row.unit)}" if row.unit else name
    alt = words.say("chart.strip", measure=measure_name(row.measure, words))
    note = words.say("chart.least" if is_least(row) else "chart.mean")
    return figure(title, draw_strip(sides, ticks=ticks, title=alt), note)
