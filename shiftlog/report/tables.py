"""The two tables of a client's page: what was counted, and what was measured."""

from collections.abc import Callable, Sequence

from shiftlog.model.comparison import Row
from shiftlog.report.answer import capital
from shiftlog.report.count_words import count_label, drive_by_drive, limit, tally
from shiftlog.report.counts import Count
from shiftlog.report.language import Language
from shiftlog.report.markup import Html, tag
from shiftlog.report.parts import table
from shiftlog.report.row_words import (
    change,
    is_share,
    level,
    of_days,
    row_name,
    share_of_row,
    verdict_word,
    what_settles,
)  # fmt: skip

Says = Callable[[Row, Language], str]


def counts_table(columns: Sequence[tuple[str, Sequence[Count], str]], words: Language) -> Html:
    """Counts side by side. columns : heading's key, counts, and which side of them"""
    named = {count.key: count for _, counts, _ in reversed(columns) for count in counts}
    found = [({count.key: count for count in counts}, side) for _, counts, side in columns]
    rows = [
        [count_label(count, words), *(_count_cell(by_key.get(key), side, words) for by_key, side in found)]
        for key, count in named.items()
    ]
    heads = [words.say("table.what"), *(words.say(f"table.{key}") for key, _, _ in columns)]
    return table(heads, rows, caption=words.say("table.counted"))


def _count_cell(count: Count | None, side: str, words: Language) -> object:
    share = count.share(side) if count else None
    if share is None:
        return words.say("count.no_trials")
    range_ = words.say("number.range", low=words.per_cent(share.low), high=words.per_cent(share.high))
    under = limit(share, words) or range_
    return tag("span", tag("b", tally(share, words)), soft(drive_by_drive(count, side, words)), soft(under))


def figures_table(
    rows: Sequence[Row], words: Language, *, sides: tuple[str, str] = ("before", "after"), says: Says = verdict_word
) -> Html:
    """Rows of a comparison. sides : keys of the headings of its two sides"""
    heads = [words.say(f"table.{key}") for key in ("what", *sides, "difference", "says")]
    body = [_figure_row(row, words, says) for row in rows]
    return table(heads, body, caption=words.say("table.measured"), kind="stack figures")


def _figure_row(row: Row, words: Language, says: Says) -> list[object]:
    levels = [_level_cell(row, side, words) for side in ("before", "after")]
    doubt = capital(words.tell(row.taken_back)) if row.taken_back else ""
    differs = change(row, words)
    return [
        row_name(row, words), *levels, tag("span", differs or "–", soft(of_days(row, words) if differs else "")),
        tag("span", says(row, words), soft(doubt), soft(what_settles(row, words))),
    ]  # fmt: skip


def _level_cell(row: Row, side: str, words: Language) -> object:
    """A figure of one side; a share with its count, and with what a none or an all still allows."""
    text = level(row, getattr(row, side), words)
    share = share_of_row(row, side) if is_share(row) else None
    if share is None:
        return text
    counted, allowed = tally(share, words), limit(share, words)
    return tag("span", text, soft(f"{counted}: {allowed}" if allowed else counted))


def soft(text: str) -> list[Html]:
    """A line below, in a softer colour; nothing for an empty text."""
    return [tag("br"), tag("span", text, class_="soft")] if text else []
