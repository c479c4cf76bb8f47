"""The answer in three sentences, never more certain than the verdicts it is made of."""

from collections.abc import Sequence

from shiftlog.model.comparison import Row
from shiftlog.report.content import FIRM, Content
from shiftlog.report.count_words import count_clause, drives_told, tally
from shiftlog.report.counts import Count
from shiftlog.report.language import Language
from shiftlog.report.row_words import list_rows, row_name, share_of_row, things

CHANGED = "changed"
ORDER = ("worse", "better", CHANGED, "same", "unclear", "too_few")
CLAIMS = (*FIRM, CHANGED)
MOST_COUNTED = 2
LEAST_DRIVES = 3
"""Below this many drives a side the day and the work cannot be told apart (definition of this project)."""


def answer(content: Content, words: Language) -> tuple[str, str, str]:
    """What was counted; what the comparison says; what neither can say."""
    return _counted(content, words), _compared(content, words), _doubt(content, words)


def _counted(content: Content, words: Language) -> str:
    if not content.counts:
        return words.say("answer.none")
    counted = _counts_told(content, words)
    return sentence([words.say("answer.not_cold", said=said) for said in counted[:1]] + counted[1:]
                    if content.cold_lacks or content.cold_hint else counted)  # fmt: skip


def _counts_told(content: Content, words: Language) -> list[str]:
    return [count_clause(count, words) for count in counts_answered(content)]


def counts_answered(content: Content) -> list[Count]:
    """The first count of each event that the complaint is about, or the first of all."""
    asked = list({count.event: count for count in reversed(content.counts)}.values())[::-1]
    return asked[: max(1, content.asked)][:MOST_COUNTED]


def sentence(clauses: Sequence[str]) -> str:
    """Clauses as one sentence."""
    return f"{capital('; '.join(clauses))}."


def capital(text: str) -> str:
    """A sentence as it begins a line."""
    return f"{text[:1].upper()}{text[1:]}"


def _compared(content: Content, words: Language) -> str:
    if not content.after:
        return words.say("answer.no_after_recheck" if content.recheck else "answer.no_after")
    if not content.before:
        return words.say("answer.no_before")
    rows = content.headline
    if not rows:
        return words.say("answer.no_rows")
    worse, *others = [_of_verdict(rows, verdict, words) for verdict in ORDER]
    said = [*worse, *grown(content, words), *(part for parts in others for part in parts)]
    return words.say("answer.compared_all" if content.cold_hint else "answer.compared", list="; ".join(said))


def grown(content: Content, words: Language, *, key: str = "answer.grown") -> list[str]:
    """What the car did more often after in one kind of shift, though that may be chance; one clause or none."""
    told = [
        words.say(
            "answer.grown_row",
            what=row_name(row, words),
            before=tally(share_of_row(row, "before"), words),
            after=tally(share_of_row(row, "after"), words),
        )
        for row in content.grown
    ]
    return [words.say(key, list=words.listed(told))] if told else []


def _of_verdict(rows: Sequence[Row], verdict: str, words: Language) -> list[str]:
    """Rows of one verdict together, the provisional ones apart from the others."""
    parts = []
    for provisional in (False, True):
        some = [r for r in rows if _state(r) == verdict and (r.provisional and verdict in CLAIMS) == provisional]
        for alike in _by_noun(some) if verdict == "too_few" else [some] if some else []:
            said = words.say(f"answer.{verdict}", list=list_rows(alike, words), things=things(alike[0], words))
            parts.append(words.say("answer.provisional", said=said) if provisional else said)
    return parts


def _state(row: Row) -> str:
    return CHANGED if row.changed else row.verdict


def _by_noun(rows: Sequence[Row]) -> list[list[Row]]:
    """Those that are too few of the same thing together."""
    return [[r for r in rows if r.counted == noun] for noun in dict.fromkeys(r.counted for r in rows)]


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
    if content.cold_hint:
        said = words.listed([words.say("answer.quoted", text=word) for word in content.cold_hint.words])
        return words.say("answer.cold_unsettled", words=said)
    if content.after and content.not_seen:
        return words.say(f"answer.reproduced_{content.not_seen}")
    sides = len(content.before), len(content.after)
    claims = [r for r in content.headline if r.provisional and r.verdict in FIRM]
    if claims and min(sides) < LEAST_DRIVES:
        return words.say("answer.day", before=drives_told(sides[0], words), after=drives_told(sides[1], words))
    return words.say("answer.spread" if claims else "answer.holds")
