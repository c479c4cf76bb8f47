"""The sentences of a comparison, for terminal and pages alike."""

from shiftlog.compare.evidence import Evidence
from shiftlog.compare.power import MOST_DRIVES, MOST_SHIFTS, MOST_TRIES, Need
from shiftlog.compare.shares import Counted
from shiftlog.measure.catalogue import Measure
from shiftlog.measure.nouns import (
    DRIVE,
    IN_100,
    find_direction,
    is_share,
    many,
    say_count,
    say_covered,
    say_kind,
    say_verdict,
)  # fmt: skip
from shiftlog.model.comparison import Row

SETTLE = " would settle it"
MINUS = "\N{MINUS SIGN}"


def figure(value: float, unit: str) -> str:
    """A figure with three significant digits at the most, and its unit."""
    digits = f"{value:.3g}" if abs(value) < 1000 else f"{value:.0f}"
    if "e" in digits:
        digits = f"{value:.4f}".rstrip("0").rstrip(".")
    return f"{digits} {unit}".strip().replace("-", MINUS)


def say_size(key: str, unit: str, value: float) -> str:
    """A difference in the unit people read it in: shares differ by so many in 100."""
    return f"{100 * value:.0f} {IN_100}".replace("-", MINUS) if is_share(key) else figure(value, unit)


def say_range(key: str, unit: str, low: float, high: float, *, joined: str = "to") -> str:
    """Both ends of an interval with their unit once: ``0.05 to 0.10 s``."""
    first, last = say_size(key, unit, low), say_size(key, unit, high)
    shared = IN_100 if is_share(key) else unit
    return f"{first.removesuffix(shared).rstrip() if shared else first} {joined} {last}"


def say_difference(measure: Measure, evidence: Evidence, word: str, margin: float | None) -> str:
    """`shorter by 0.08 s (0.05 to 0.10)` and its like, never more certain than the verdict."""
    covered = say_covered(evidence.covers, measure.noun)
    alone = f" ({covered})" if covered else ""
    if word == "same":
        said = say_size(measure.key, measure.unit, margin or 0.0)
        return f"no change that matters: the difference lies within {said}{alone}"
    if word == "unclear":
        between = say_range(measure.key, measure.unit, *evidence.ci95, joined="and")
        return f"not enough to tell: the difference lies between {between}{alone}"
    return say_change(measure, evidence)


def say_change(measure: Measure, evidence: Evidence) -> str:
    """How large the difference is and which way it goes, with its 95 % interval and what that covers."""
    ends = sorted(end if evidence.difference >= 0 else -end for end in evidence.ci95)
    size = say_size(measure.key, measure.unit, abs(evidence.difference))
    way, covered = (
        find_direction(measure.key, measure.unit, evidence.difference),
        say_covered(evidence.covers, measure.noun),
    )
    within = "; ".join(part for part in (say_range(measure.key, measure.unit, *ends), covered) if part)
    return f"{way} by {size} ({within})"


def say_counts(counted: Counted) -> str:
    """`3 of 27 before, 0 of 20 (at most 17 %) after`."""
    return f"{say_count(counted.before)} before, {say_count(counted.after)} after"


def say_need(need: Need | None, noun: str = "shift") -> str:
    """What would settle an unclear row, or an empty text where nobody can know."""
    if need is None:
        return ""
    things = many(noun)
    if need.of == "tries":
        return (f"{need.tries} {things} a side" if need.tries else f"not even {MOST_TRIES} {things} a side") + SETTLE
    if need.of == "repeats":
        times = f"{need.times_shifts}" if need.times_shifts else f"not even {MOST_SHIFTS}"
        return f"{times} times as many repeats in each test{SETTLE}"
    shifts = f"{need.times_shifts} times as many {things} in each drive" if need.times_shifts else ""
    if need.more_drives is None:
        if shifts:
            return f"{shifts} would settle it; more drives alone would not"
        more = "" if noun == DRIVE else f" nor {MOST_SHIFTS} times as many {things}"
        return f"{'neither' if more else 'not even'} {MOST_DRIVES} drives a side{more}{SETTLE}"
    drives = f"{need.more_drives} more drive{'s' if need.more_drives > 1 else ''} a side would settle it"
    if noun == DRIVE:
        return drives
    return f"{drives}; so would {shifts}" if shifts else f"{drives}; more {things} in each drive would not"


def say_row(row: Row, label: str) -> str:
    """One line for a row: the measure, the kind of shift, verdict, reason, and the smallest change it can show."""
    said = f"{label}, {say_kind(row)}: {say_verdict(row)}. {row.why[:1].upper()}{row.why[1:]}."
    if row.smallest_change is not None and row.verdict != "too_few":
        said += f" Smallest change these drives can show: {say_size(row.measure, row.unit, row.smallest_change)}."
    return said
