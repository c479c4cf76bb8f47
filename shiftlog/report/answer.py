"""The answer in three sentences, never more certain than the verdicts it is made of."""

from collections.abc import Sequence

from shiftlog.measure.catalogue import MEASURES
from shiftlog.measure.nouns import find_direction
from shiftlog.model.comparison import Row
from shiftlog.model.share import Share
from shiftlog.report.content import ALL, FIRM, Content
from shiftlog.report.counts import HOME, TEST, Count
from shiftlog.report.kind_words import TOGETHER, kind_name, where_key, where_name
from shiftlog.report.language import Language

ORDER = ("worse", "better", "same", "unclear", "too_few")
MOST_NAMED, MOST_COUNTED = 3, 2
LEAST_DRIVES, MOST_P = 3, 0.05
"""Below this many drives a side the day and the work cannot be told apart (definition of this project)."""


def answer(content: Content, words: Language) -> tuple[str, str, str]:
    """What was counted; what the comparison says; what neither can say."""
    return _counted(content, words), _compared(content, words), _doubt(content, words)


def _counted(content: Content, words: Language) -> str:
    if not content.counts:
        return words.say("answer.none")
    counted = _counts_told(content, words)
    return sentence([words.say("answer.not_cold", said=said) for said in counted[:1]] + counted[1:]
                    if content.cold_lacks else counted)  # fmt: skip


def _counts_told(content: Content, words: Language) -> list[str]:
    asked = list({count.event: count for count in reversed(content.counts)}.values())[::-1]
    return [_with_limit(count, words) for count in asked[: max(1, content.asked)][:MOST_COUNTED]]


def sentence(clauses: Sequence[str]) -> str:
    """Clauses as one sentence."""
    return f"{capital('; '.join(clauses))}."


def capital(text: str) -> str:
    """A sentence as it begins a line."""
    return f"{text[:1].upper()}{text[1:]}"


def _with_limit(count: Count, words: Language) -> str:
    """What was counted, and what a none or an all after the work still allows."""
    allowed, said = limit(count.share("after"), words), count_clause(count, words)
    return words.say("answer.with_limit", said=said, limit=allowed) if allowed else said


def count_clause(count: Count, words: Language) -> str:
    """What happened how often, before and after."""
    sides = {side: told_over(count, side, words) or words.say("answer.missing") for side in ("before", "after")}
    if count.event == TEST:
        return words.say("answer.test", test=test_name(count, words), figure=figure_name(count, words), **sides)
    if count.event == HOME:
        return words.say(f"answer.home_{where_key(count.row)}", **sides)
    key = f"answer.{count.event}_kind" if count.group != ALL else f"answer.{count.event}"
    return words.say(key, kind=kind_name(count.row, words), **sides)


def told_over(count: Count, side: str, words: Language) -> str:
    """``9 of 12 let-goes over 3 drives``: what was counted, and the days that are added up, are named."""
    share, drives = count.share(side), len(count.tried(side))
    if share is None:
        return ""
    told = words.say("count.of_things", k=share.k, n=share.n, things=words.say(f"of_things.{count.row.counted}"))
    return words.say("count.over", tally=told, drives=_drives(drives, words)) if drives > 1 else told


def drive_by_drive(count: Count, side: str, words: Language) -> str:
    """The count of each drive, or an empty text where there is one."""
    tried = count.tried(side)
    told = [words.say("count.of", k=sum(t.tries), n=len(t.tries)) for t in tried]
    return words.say("count.each", list="; ".join(told)) if len(tried) > 1 else ""


def tally(share: Share | None, words: Language) -> str:
    """``9 of 12``, or an empty text."""
    return words.say("count.of", k=share.k, n=share.n) if share else ""


def test_name(count: Count, words: Language) -> str:
    """A guided test as its kind is called."""
    key = f"test.{count.test}"
    return words.say(key) if words.knows(key) else count.test.replace("_", " ")


def figure_name(count: Count, words: Language) -> str:
    """What a guided test counts, and the gear or side it is of."""
    key = f"figure.{count.figure}"
    named = words.say(key) if words.knows(key) else count.label
    return named if count.group == ALL else f"{named} {kind_name(count.row, words)}"


def count_label(count: Count, words: Language) -> str:
    """What is counted, as a heading."""
    if count.event == TEST:
        return words.say("count.test", test=test_name(count, words), figure=figure_name(count, words))
    if count.event == HOME:
        return words.say("count.where", what=words.say("count.home"), where=where_name(count.row, words))
    key = f"count.{count.event}_kind" if count.group != ALL else f"count.{count.event}"
    return words.say(key, kind=kind_name(count.row, words))


def limit(share: Share | None, words: Language) -> str:
    """What a count that is none or all still allows, or an empty text."""
    if share is None or 0 < share.k < share.n:
        return ""
    key, upper = ("count.none_seen", share.high) if share.k == 0 else ("count.all_seen", 1 - share.low)
    return words.say(key, n=share.n, upper=words.per_cent(upper))


def _compared(content: Content, words: Language) -> str:
    if not content.after:
        return words.say("answer.no_after")
    if not content.before:
        return words.say("answer.no_before")
    rows = content.headline
    if not rows:
        return words.say("answer.no_rows")
    said = [part for verdict in ORDER for part in _of_verdict(rows, verdict, words)]
    return words.say("answer.compared", list="; ".join(said))


def _of_verdict(rows: Sequence[Row], verdict: str, words: Language) -> list[str]:
    """Rows of one verdict together, the provisional ones apart from the others."""
    parts = []
    for provisional in (False, True):
        some = [r for r in rows if r.verdict == verdict and (r.provisional and verdict in FIRM) == provisional]
        for alike in _by_noun(some) if verdict == "too_few" else [some] if some else []:
            said = words.say(f"answer.{verdict}", list=_listed(alike, words), things=things(alike[0], words))
            parts.append(words.say("answer.provisional", said=said) if provisional else said)
    return parts


def _by_noun(rows: Sequence[Row]) -> list[list[Row]]:
    """Those that are too few of the same thing together."""
    return [[r for r in rows if r.counted == noun] for noun in dict.fromkeys(r.counted for r in rows)]


def things(row: Row, words: Language) -> str:
    """What a row counts, several of them."""
    return words.say(f"things.{row.counted}")


def _listed(rows: Sequence[Row], words: Language) -> str:
    """All that got better or worse; of what shows nothing the first few, the table has the others."""
    if rows[0].verdict in ("better", "worse"):
        return words.listed([_with_change(r, words) for r in rows])
    whole = [r for r in rows if r.group == ALL or not any(a.group == ALL and a.measure == r.measure for a in rows)]
    names = [row_name(r, words) for r in whole[:MOST_NAMED]]
    more = len(whole) - len(names)
    return words.listed(
        [*names, words.say("answer.others", n=more)] if more > 1 else [row_name(r, words) for r in whole]
    )


def _with_change(row: Row, words: Language) -> str:
    name = row_name(row, words)
    return f"{name} ({change(row, words, with_interval=False)})" if row.verdict in ("better", "worse") else name


def row_name(row: Row, words: Language) -> str:
    """The figure, and the kind of shift where it is one."""
    name = measure_name(row.measure, words)
    if row.group not in TOGETHER:
        return f"{name} {kind_name(row, words)}"
    return words.say("count.where", what=name, where=where_name(row, words)) if row.where else name


def measure_name(measure: str, words: Language) -> str:
    """A figure as the client reads it; the catalogue's name where the language has none."""
    if words.knows(f"measure.{measure}"):
        return words.say(f"measure.{measure}")
    return MEASURES[measure].label if measure in MEASURES else measure.replace("_", " ")


def verdict_word(row: Row, words: Language) -> str:
    """The verdict, provisional where it is."""
    if _is_one_of_many(row):
        return words.say("verdict.chance")
    said = words.say(f"verdict.{row.verdict}", things=things(row, words))
    return words.say("verdict.provisional", verdict=said) if row.provisional and row.verdict in FIRM else said


def _is_one_of_many(row: Row) -> bool:
    """Its own interval shows a difference, but not after what looking at many figures brings by chance."""
    if row.verdict != "unclear" or row.ci_low is None or row.ci_high is None or row.p_corrected is None:
        return False
    return (row.ci_low > 0 or row.ci_high < 0) and row.p_corrected > MOST_P


def change(row: Row, words: Language, *, with_interval: bool = True) -> str:
    """``shorter by 0.08 s (95 %: 0.05 to 0.10)``; the range alone where the verdict knows no direction."""
    if row.difference is None or row.verdict == "too_few":
        return ""
    if row.verdict not in ("better", "worse"):
        return _range(row, words)
    size = amount(row, abs(row.difference), words)
    if with_interval and row.ci_low is not None and row.ci_high is not None:
        near, far = sorted((row.ci_low, row.ci_high), key=abs)
        low, high = (amount(row, abs(end), words, bare=True) for end in (near, far))
        size = words.say("number.interval", value=size, low=low, high=high)
    return words.say(f"change.{find_direction(row.measure, row.unit, row.difference)}", size=size)


def _range(row: Row, words: Language) -> str:
    if row.ci_low is None or row.ci_high is None:
        return ""
    low, high = amount(row, row.ci_low, words, bare=True), amount(row, row.ci_high, words)
    return words.say("change.within", low=low, high=high)


def is_share(row: Row) -> bool:
    """Whether a row's figures are shares of all tries."""
    return row.measure.endswith("_share")


def amount(row: Row, value: float, words: Language, *, bare: bool = False) -> str:
    """A difference in the unit people read it in."""
    if is_share(row):
        number = words.number(100 * value, digits=9, places=1 if abs(value) < 0.02 else 0)
        return number if bare else words.say("number.of_100", value=number)
    return words.number(value, places=3 if row.unit == "s" else 4) if bare else words.figure(value, row.unit)


def level(row: Row, value: float | None, words: Language) -> str:
    """A figure of one side, or a dash."""
    if value is None:
        return "–"
    return words.per_cent(value) if is_share(row) else words.figure(value, row.unit)


def hand(content: Content, words: Language) -> str:
    """How much gentler or harder the hand was after the work, or an empty text where it was about the same."""
    change = content.comparison.hand if content.comparison else None
    if not change:
        return ""
    return words.say("hand.gentler" if change < 0 else "hand.harder", value=words.per_cent(abs(change)))


def _doubt(content: Content, words: Language) -> str:
    if content.cold_lacks:
        which = "both" if len(content.cold_lacks) == 2 else content.cold_lacks[0]
        return words.say("answer.cold_open", missing=words.say(f"answer.cold_{which}"))
    if content.after and content.not_seen:
        return words.say(f"answer.reproduced_{content.not_seen}")
    sides = len(content.before), len(content.after)
    claims = [r for r in content.headline if r.provisional and r.verdict in FIRM]
    if claims and min(sides) < LEAST_DRIVES:
        return words.say("answer.day", before=_drives(sides[0], words), after=_drives(sides[1], words))
    return words.say("answer.spread" if claims else "answer.holds")


def _drives(n: int, words: Language) -> str:
    return words.say("answer.drives_1") if n == 1 else words.say("answer.drives", n=n)
