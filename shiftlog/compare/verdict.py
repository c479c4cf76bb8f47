"""What a difference allows to be said, and why no more."""

from dataclasses import dataclass, replace

from shiftlog.compare.estimate import DAYS_KNOWN
from shiftlog.compare.evidence import LEAST_VALUES, Evidence
from shiftlog.compare.power import Need, find_need, find_tries
from shiftlog.compare.words import say_change, say_counts, say_difference, say_need
from shiftlog.measure.catalogue import Measure
from shiftlog.measure.nouns import DRIVE, count_of
from shiftlog.model.comparison import SHIFTS

ALPHA = 0.05


@dataclass(frozen=True, eq=False, kw_only=True)
class Verdict:
    """One of the verdicts, with its sentence; need : what would settle it where it is unclear.

    notes : the parts of the sentence that are no difference and no doubt
    """

    word: str
    why: str
    need: Need | None = None
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, eq=False, kw_only=True)
class Counts:
    """How much a row rests on: values and drives, before and after; noun : what one value is of.

    lacks : what it takes where nothing can be said, if not more values
    """

    values: tuple[int, int]
    drives: tuple[int, int]
    noun: str = "shift"
    lacks: str = ""


def judge(
    measure: Measure, evidence: Evidence | None, counts: Counts, *, margin: float | None, p_corrected: float | None,
    gated: bool = False,
) -> Verdict:  # fmt: skip
    """The verdict of one row. ``same`` takes precedence; better and worse need p after the page's correction.

    gated : whether it is of one kind, and all kinds together claim nothing: then more of this kind settles nothing
    """
    if evidence is None or min(counts.values) < evidence.least:
        before, after = counts.values
        need = counts.lacks or f"{LEAST_VALUES} a side are the least"
        said = f"{count_of(before, counts.noun)} before and {after} after; {need}"
        return Verdict(word="too_few", why=said)
    low, high = evidence.ci90
    if margin is not None and -margin < low and high < margin:
        return _judge_inside(measure, evidence, counts, margin)
    if measure.better is None and evidence.p is not None and evidence.p <= ALPHA:
        said = f"{say_change(measure, evidence)}, and neither direction is better by itself"
        return _verdict("unclear", said, evidence, counts)
    if p_corrected is None or p_corrected > ALPHA:
        return _leave_open(measure, evidence, counts, margin, p_corrected, gated=gated)
    word = "better" if (evidence.difference < 0) == (measure.better == "lower") else "worse"
    return _verdict(word, say_difference(measure, evidence, word, margin), evidence, counts)


def _verdict(word: str, said: str, evidence: Evidence, counts: Counts, need: Need | None = None) -> Verdict:
    if evidence.counted is not None:
        said = f"{say_counts(evidence.counted)}: {said}"
    notes = tuple(note for note in (say_need(need, counts.noun), _say_known(evidence)) if note)
    doubt = () if evidence.firm else (say_provisional(counts.drives),)
    return Verdict(word=word, why="; ".join((said, *notes, *doubt)), need=need, notes=notes)


def _judge_inside(measure: Measure, evidence: Evidence, counts: Counts, margin: float) -> Verdict:
    before, after = counts.values
    if min(before, after) >= evidence.least_for_same:
        return _verdict("same", say_difference(measure, evidence, "same", margin), evidence, counts)
    few = f"{count_of(before, counts.noun)} before and {after} after"
    said = f"no change shows, but {few} are too few to say that there is none"
    return _verdict("unclear", said, evidence, counts)


def _leave_open(
    measure: Measure, evidence: Evidence, counts: Counts, margin: float | None, p_corrected: float | None, *,
    gated: bool,
) -> Verdict:  # fmt: skip
    said = say_difference(measure, evidence, "unclear", margin)
    if evidence.p is None and evidence.difference:
        said = f"{say_change(measure, evidence)}, but all values of a side are alike: their spread is not known"
    elif evidence.p is not None and evidence.p <= ALPHA:
        together = "all together do not show it, and " if gated else ""
        said = (
            f"{say_change(measure, evidence)}, but {together}of all rows of the page one or another does so by chance"
        )
    level, need = ALPHA * evidence.p / p_corrected if evidence.p and p_corrected else ALPHA, None
    if evidence.estimate is None and evidence.counted is not None:
        need = find_tries(evidence.counted, margin=margin, alpha=level)
    elif evidence.estimate is not None and evidence.estimate.rests_on != SHIFTS:
        need = find_need(evidence.estimate, counts.drives, margin=margin, alpha=level)
        if need is not None and counts.noun == DRIVE:
            need = replace(need, times_shifts=None)
    if (gated or measure.better is None) and (margin is None or abs(evidence.difference) >= margin):
        need = None
    return _verdict("unclear", said, evidence, counts, need)


def _say_known(evidence: Evidence) -> str:
    """What makes a verdict firm where few drives would not, or an empty text."""
    if evidence.exact:
        return "counted in a marked standstill test"
    if evidence.firm and evidence.estimate is not None and evidence.estimate.rests_on == DAYS_KNOWN:
        return f"how drives differ is known from repeat drives ({evidence.estimate.history_df} degrees of freedom)"
    return ""


def say_provisional(drives: tuple[int, int]) -> str:
    """Why a verdict is provisional."""
    few = "one drive" if min(drives) == 1 else f"{min(drives)} drives"
    return f"provisional: with {few} a side the day and the repair cannot be told apart"
