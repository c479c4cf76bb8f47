"""What a difference allows to be said, and why no more."""

from dataclasses import dataclass

from shiftlog.compare.difference import Difference
from shiftlog.compare.words import say_difference
from shiftlog.measure.catalogue import Measure

LEAST_SHIFTS = 3
# Fewer values than this and no range of theirs covers a median in 95 % (2 · 0.5⁶ = 3 %): too few to say `same`.
LEAST_FOR_SAME = 6
# Drives a side from which a verdict could stand without knowing how drives differ from day to day.
LEAST_DRIVES = 3


@dataclass(frozen=True, eq=False, kw_only=True)
class Verdict:
    """One of the verdicts, with its sentence."""

    word: str
    why: str


def judge(
    measure: Measure, difference: Difference | None, n_before: int, n_after: int, drives: tuple[int, int]
) -> Verdict:
    """The verdict of one row; ``difference`` is None where a side has too few shifts to make one."""
    if difference is None or min(n_before, n_after) < LEAST_SHIFTS:
        return Verdict(
            word="too_few", why=f"{n_before} before and {n_after} after; {LEAST_SHIFTS} a side are the least"
        )  # fmt: skip
    inside, enough = _inside_margin(measure, difference), min(n_before, n_after) >= LEAST_FOR_SAME
    if inside and not enough:
        said = f"no change shows, but {n_before} before and {n_after} after are too few to say that there is none"
        return Verdict(word="unclear", why=f"{said}; {say_provisional(drives)}")
    word = "same" if inside else _word(measure, difference)
    return Verdict(word=word, why=f"{say_difference(measure, difference, word)}; {say_provisional(drives)}")


def _inside_margin(measure: Measure, difference: Difference) -> bool:
    low, high = difference.ci90
    return measure.margin is not None and -measure.margin < low and high < measure.margin


def _word(measure: Measure, difference: Difference) -> str:
    low, high = difference.ci95
    if low <= 0 <= high or measure.better is None:
        return "unclear"
    falls = high < 0
    return "better" if falls == (measure.better == "lower") else "worse"


def say_provisional(drives: tuple[int, int]) -> str:
    """Why a verdict is provisional."""
    if min(drives) == 1:
        return "provisional: with one drive a side the day and the repair cannot be told apart"
    if min(drives) < LEAST_DRIVES:
        return f"provisional: with {min(drives)} drives a side the day and the repair cannot be told apart"
    return "provisional: how much drives differ with nothing changed is not known for this setup"
