"""The recheck: another occasion some hundred km later, compared by itself and never pooled."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

from shiftlog.model.comparison import Row
from shiftlog.model.told import Told, tell
from shiftlog.report.answer import counts_answered, grown, sentence
from shiftlog.report.content import FIRM, Content
from shiftlog.report.count_words import count_label, drives_told, told_side
from shiftlog.report.language import Language
from shiftlog.report.markup import Html, tag
from shiftlog.report.masking import Mask
from shiftlog.report.parts import section, told
from shiftlog.report.row_words import list_rows, verdict_word
from shiftlog.report.tables import counts_table, figures_table
from shiftlog.report.telling import name_others, telling_rows

HELD, NOT_HELD, OPEN = "held", "not_held", "open"
ORDER = (NOT_HELD, "worse", HELD, "better", "same", OPEN)
"""In what order states are told; what shows nothing stands in the table alone."""
_HOLDS = {"same": HELD, "better": HELD, "worse": NOT_HELD}


def recheck_part(content: Content, words: Language, mask: Mask, *, speed: str) -> Html | None:
    """What was agreed on, what its drives show, and whether what had become better held."""
    written = _written(content, words, mask, speed)
    shown = _shown(content, content.later, words) if content.later else []
    if not (written or shown):
        return None
    return section(words.say("section.recheck"), written, shown, kind="long" if shown else None)


def _written(content: Content, words: Language, mask: Mask, speed: str) -> Html | None:
    if content.version is None:
        return None
    job = content.version.job
    km = "" if job.recheck_km is None else words.distance(job.recheck_km, speed)
    return told([(words.say("job.recheck_km"), km), (words.say("job.other"), mask.text(job.recheck_notes))])


def _shown(content: Content, later: Content, words: Language) -> list[Html | None]:
    against = "after" if content.after else "before"
    said = [words.say(f"recheck.apart_{against}", drives=drives_told(len(later.after), words))]
    said += [words.say("recheck.cold")] if later.cold_lacks else []
    said += [sentence([f"{count_label(c, words)}: {told_side(c, 'after', words)}"]) for c in _asked(later)]
    became = became_better(content) if against == "after" else {}
    said += _verdicts(later, became, words)
    said += [sentence([clause]) for clause in grown(later, words, key="recheck.grown")]
    rows, others = telling_rows(later, also=became.keys())
    rows = [_with_own_doubt(row) for row in rows]
    figures = figures_table(
        rows, words, sides=(against, "recheck"), says=lambda row, w: say_state(row, became, w)
    )  # fmt: skip
    return [
        *(tag("p", line) for line in said), counts_table(_columns(content, later), words) if later.counts else None,
        figures if rows else None, name_others(others, words),
    ]  # fmt: skip


def _with_own_doubt(row: Row) -> Row:
    """What speaks against a figure because of warmth is told of two sides of the work; these are two occasions."""
    key = row.taken_back.key if isinstance(row.taken_back, Told) else ""
    if not key.startswith(("cold.", "guard.warm", "guard.cold")):
        return row
    return replace(row, taken_back=tell("recheck.warmth", "not both occasions were driven cold"))


def _asked(later: Content) -> list:
    """Counts of the recheck that the complaint is about."""
    return [count for count in counts_answered(later) if count.share("after")]


def _columns(content: Content, later: Content) -> list[tuple]:
    """The three occasions; the recheck alone where cold stretches count on one of them and whole drives on another."""
    recheck = ("recheck", later.counts, "after")
    if bool(content.cold_said) != bool(later.cold_said):
        return [recheck]
    sides = [side for side in ("before", "after") if getattr(content, side)]
    return [*((side, content.counts, side) for side in sides), recheck]


def became_better(content: Content) -> Mapping[tuple[str, str], Row]:
    """Rows that were better right after the work."""
    rows = content.comparison.rows if content.comparison else ()
    return {(r.measure, r.group): r for r in rows if r.verdict == "better"}


def find_state(row: Row, became: Mapping[tuple[str, str], Row]) -> str:
    """Of what had become better: ``held``, ``not_held`` or ``open``; of all else the verdict."""
    if (row.measure, row.group) not in became:
        return row.verdict
    return _HOLDS.get(row.verdict, OPEN)


def say_state(row: Row, became: Mapping[tuple[str, str], Row], words: Language) -> str:
    """The state as a cell of a table has it."""
    state = find_state(row, became)
    if state == row.verdict:
        return verdict_word(row, words)
    said = words.say(f"recheck.{state}")
    return words.say("verdict.provisional", verdict=said) if _is_provisional(row, became) else said


def _is_provisional(row: Row, became: Mapping[tuple[str, str], Row]) -> bool:
    """Never firmer than what is said to have held."""
    first = became.get((row.measure, row.group))
    return row.verdict in FIRM and (row.provisional or (first is not None and first.provisional))


def _verdicts(later: Content, became: Mapping[tuple[str, str], Row], words: Language) -> list[str]:
    """What held and what did not, what else changed, each with the rows it is of."""
    clauses = []
    for state in ORDER:
        for provisional in (False, True):
            rows = [r for r in later.headline if find_state(r, became) == state]
            rows = [r for r in rows if _is_provisional(r, became) == provisional]
            clauses += [_clause(state, rows, words, provisional=provisional)] if rows else []
    return [sentence(clauses)] if clauses else []


def _clause(state: str, rows: Sequence[Row], words: Language, *, provisional: bool) -> str:
    said = words.say(f"recheck.list_{state}", list=list_rows(rows, words))
    return words.say("answer.provisional", said=said) if provisional else said
