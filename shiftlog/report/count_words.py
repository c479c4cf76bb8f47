"""A count in words: what happened how often before and after, and what a none or an all still allows."""

from shiftlog.model.share import Share
from shiftlog.report.content import ALL
from shiftlog.report.counts import HOME, TEST, Count
from shiftlog.report.kind_words import kind_name, where_key, where_name
from shiftlog.report.language import THIN, Language


def count_clause(count: Count, words: Language) -> str:
    """What happened how often, before and after."""
    sides = {side: told_side(count, side, words) or words.say("answer.missing") for side in ("before", "after")}
    if count.event == TEST:
        return words.say("answer.test", test=test_name(count, words), figure=figure_name(count, words), **sides)
    if count.event == HOME:
        return words.say(f"answer.home_{where_key(count.row)}", **sides)
    key = f"answer.{count.event}_kind" if count.group != ALL else f"answer.{count.event}"
    return words.say(key, kind=kind_name(count.row, words), **sides)


def drive_by_drive(count: Count, side: str, words: Language) -> str:
    """The count of each drive, or an empty text where there is one."""
    tried = count.tried(side)
    told = [words.say("count.of", k=sum(t.tries), n=len(t.tries)).replace(" ", THIN) for t in tried]
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
    if share.k == 0:
        return words.say("count.none_seen", upper=words.per_cent(share.high))
    return words.say("count.all_seen", upper=words.per_cent(1 - share.low))


def told_side(count: Count, side: str, words: Language) -> str:
    """``0 of 12 let-goes over 3 drives (none in 12: …)``: what was counted on how many days, and what that allows."""
    share, drives = count.share(side), len(count.tried(side))
    if share is None:
        return ""
    told = words.say("count.of_things", k=share.k, n=share.n, things=words.say(f"of_things.{count.row.counted}"))
    told = words.say("count.over", tally=told, drives=drives_told(drives, words)) if drives > 1 else told
    allowed = limit(share, words)
    return f"{told} ({allowed})" if allowed else told


def drives_told(n: int, words: Language) -> str:
    """``one drive``, ``3 drives``."""
    return words.say("answer.drives_1") if n == 1 else words.say("answer.drives", n=n)
