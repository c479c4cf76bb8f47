"""What a difference allows to be said, and why no more."""

from dataclasses import dataclass

from shiftlog.compare.estimate import DAYS_KNOWN, SHIFTS
from shiftlog.compare.evidence import Evidence
from shiftlog.compare.power import Need, find_need
from shiftlog.compare.words import say_change, say_difference, say_need
from shiftlog.measure.catalogue import Measure

LEAST_SHIFTS = 3
# Fewer values than this and no range of theirs covers a median in 95 % (2 · 0.5⁶ = 3 %): too few to say `same`.
LEAST_FOR_SAME = 6
ALPHA = 0.05


@dataclass(frozen=True, eq=False, kw_only=True)
class Verdict:
    """One of the verdicts, with its sentence; need : what would settle it where it is unclear."""

    word: str
    why: str
    need: Need | None = None


@dataclass(frozen=True, eq=False, kw_only=True)
class Counts:
    """How much a row rests on: values and drives, before and after."""

    values: tuple[int, int]
    drives: tuple[int, int]


def judge(
    measure: Measure, evidence: Evidence | None, counts: Counts, *, margin: float | None, p_corrected: float | None
) -> Verdict:
    """The verdict of one row. ``same`` takes precedence; better and worse need p after the page's correction."""
    if evidence is None or min(counts.values) < LEAST_SHIFTS:
        before, after = counts.values
        return Verdict(word="too_few", why=f"{before} before and {after} after; {LEAST_SHIFTS} a side are the least")
    known = _say_known(evidence, counts)
    low, high = evidence.ci90
    if margin is not None and -margin < low and high < margin:
        return _judge_inside(measure, evidence, counts, margin, known)
    if p_corrected is None or p_corrected > ALPHA:
        return _leave_open(measure, evidence, counts, margin, p_corrected, known)
    if measure.better is None:
        why = f"{say_change(measure, evidence)}, and neither direction is better by itself{known}"
        return Verdict(word="unclear", why=why)
    word = "better" if (evidence.difference < 0) == (measure.better == "lower") else "worse"
    return Verdict(word=word, why=say_difference(measure, evidence, word, margin) + known)


def _judge_inside(measure: Measure, evidence: Evidence, counts: Counts, margin: float, known: str) -> Verdict:
    before, after = counts.values
    if min(before, after) >= LEAST_FOR_SAME:
        return Verdict(word="same", why=say_difference(measure, evidence, "same", margin) + known)
    said = f"no change shows, but {before} before and {after} after are too few to say that there is none"
    return Verdict(word="unclear", why=said + known)


def _leave_open(
    measure: Measure, evidence: Evidence, counts: Counts, margin: float | None, p_corrected: float | None, known: str
) -> Verdict:
    said = say_difference(measure, evidence, "unclear", margin)
    if p_corrected is None and evidence.difference:
        said = f"{say_change(measure, evidence)}, but all values of a side are alike: their spread is not known"
    elif evidence.p is not None and evidence.p <= ALPHA:
        said = f"{say_change(measure, evidence)}, but of all rows of the page one or another does so by chance"
    need = None
    if evidence.estimate is not None and evidence.estimate.rests_on != SHIFTS:
        level = ALPHA * evidence.p / p_corrected if evidence.p and p_corrected else ALPHA
        need = find_need(evidence.estimate, counts.drives, margin=margin, alpha=level)
    more = say_need(need)
    return Verdict(word="unclear", why=said + (f"; {more}" if more else "") + known, need=need)


def _say_known(evidence: Evidence, counts: Counts) -> str:
    """Why a verdict is provisional, or what makes it firm where few drives would not; begins with a semicolon."""
    if not evidence.firm:
        return f"; {say_provisional(counts.drives)}"
    if evidence.exact:
        return "; counted in a marked standstill test"
    if evidence.estimate is not None and evidence.estimate.rests_on == DAYS_KNOWN:
        return f"; how drives differ is known from repeat drives ({evidence.estimate.history_df} degrees of freedom)"
    return ""


def say_provisional(drives: tuple[int, int]) -> str:
    """Why a verdict is provisional."""
    few = "one drive" if min(drives) == 1 else f"{min(drives)} drives"
    return f"provisional: with {few} a side the day and the repair cannot be told apart"
