"""Like with like: the kinds of shift, which shifts count for which figure, and why the others do not."""

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from shiftlog.measure.catalogue import MEASURES, Measure
from shiftlog.model.car import NEUTRAL
from shiftlog.model.rest import Rest
from shiftlog.model.result import DriveResult
from shiftlog.model.shift import Shift

ALL = "all"
UNKNOWN = "gear unknown"
COUNTED_OUTCOMES = ("clean", "second_push", None)
"""Outcomes whose times count; None is a gear change seen in the drive alone, which has no outcome."""

PER_SHIFT = ("shift_time_s", "neutral_time_s", "baulk_time_s", "drive_gap_s", "knock_peak_mps2", "knock_energy_m2s3")


@dataclass(frozen=True, eq=False, kw_only=True)
class Sample:
    """What one drive gives one measure: values by kind, and how many were left out by kind and reason.

    unlike : why none of its values can be compared, or None
    """

    drive: str
    values: Mapping[str, tuple[float, ...]]
    left_out: Mapping[str, Counter[str]]
    unlike: str | None = None


@dataclass(frozen=True, eq=False, kw_only=True)
class Taken:
    """One candidate for a measure: its kind, its value, or why it does not count."""

    kind: str
    value: float | None
    why: str = ""


def kind_of(shift: Shift) -> str:
    """The kind of a shift: its gears, and apart from them standing, paused and rev-matched ones."""
    known = shift.from_gear or shift.to_gear
    words = [f"{shift.from_gear or '?'}-{shift.to_gear or '?'}" if known else UNKNOWN]
    if shift.standing:
        words.append("standing")
    elif shift.double_declutched:
        words.append("double-declutched")
    elif shift.paused:
        words.append("paused")
    return " ".join(words)


def compared_measures() -> tuple[Measure, ...]:
    """The measures a comparison has rows for, what the car does first."""
    keys = ("refused_share", "wrong_plane_share", *PER_SHIFT)
    return tuple(MEASURES[k] for k in keys)


def take_sample(result: DriveResult, measure: Measure, *, drive: str, unlike: str | None = None) -> Sample:
    """Everything a drive has to say of one measure.

    drive : the name the drive goes by here; unlike : why none of its values can be compared, or None
    """
    take = _TAKERS.get(measure.key)
    taken = take(result) if take else [_take_shift(s, measure.key) for s in result.shifts]
    values: dict[str, list[float]] = {}
    left_out: dict[str, Counter[str]] = {}
    for one in taken:
        why = one.why if one.value is None else unlike
        if why is not None:
            left_out.setdefault(one.kind, Counter())[why] += 1
        else:
            values.setdefault(one.kind, []).append(one.value)
    return Sample(drive=drive, values={k: tuple(v) for k, v in values.items()}, left_out=left_out, unlike=unlike)


def _take_shift(shift: Shift, key: str) -> Taken:
    kind = kind_of(shift)
    if shift.outcome not in COUNTED_OUTCOMES:
        return Taken(kind=kind, value=None, why=f"outcome: {shift.outcome.replace('_', ' ')}")
    if kind.startswith(UNKNOWN):
        return Taken(kind=kind, value=None, why="which gears it was is not known: like is compared with like only")
    if shift.to_gear == NEUTRAL:
        return Taken(kind=kind, value=None, why="to neutral only")
    if shift.via:
        return Taken(kind=kind, value=None, why="rowed through other gears")
    reading = shift.readings.get(key)
    if reading is None or reading.value is None:
        return Taken(kind=kind, value=None, why=reading.why if reading and reading.why else "not measured")
    return Taken(kind=kind, value=float(reading.value))


def _take_refusals(result: DriveResult) -> list[Taken]:
    """1 for a shift under way in which a gear was refused at least once, 0 for one that went in at once."""
    taken = []
    for shift in result.shifts:
        why = _why_no_refusal(shift)
        value = None if why else float(shift.outcome != "clean")
        taken.append(Taken(kind=kind_of(shift), value=value, why=why or ""))
    return taken


def _why_no_refusal(shift: Shift) -> str | None:
    if shift.seen_by != "lever" or shift.outcome is None:
        return "seen without a lever: a refusal does not show"
    if shift.outcome not in ("clean", "second_push", "missed"):
        return f"outcome: {shift.outcome.replace('_', ' ')}"
    return "at standstill refusals are normal" if shift.standing else None


def _why_no_rest(rest: Rest) -> str | None:
    if rest.in_bend:
        return "in a bend"
    if rest.released is None:
        return "cannot be known whether it was let go"
    return None if rest.released else "guided or held by a hand"


def _take_planes(result: DriveResult) -> list[Taken]:
    """1 for a released rest out of the home plane, 0 for one in it."""
    home = result.gate.layout.home if result.gate else None
    if home is None:
        return []
    return [
        Taken(kind="rest", value=None if (why := _why_no_rest(r)) else float(r.plane != home), why=why or "")
        for r in result.rests
    ]


_TAKERS: Mapping[str, Callable[[DriveResult], list[Taken]]] = {
    "refused_share": _take_refusals,
    "wrong_plane_share": _take_planes,
}


def common_kinds(before: Sequence[Sample], after: Sequence[Sample]) -> tuple[str, ...]:
    """Kinds that have values on both sides, in order of name."""
    sides = [{k for s in side for k, v in s.values.items() if v} for side in (before, after)]
    return tuple(sorted(sides[0] & sides[1]))


def all_kinds(before: Sequence[Sample], after: Sequence[Sample]) -> tuple[str, ...]:
    """Kinds seen on either side, values or not, in order of name."""
    return tuple(sorted({k for s in (*before, *after) for k in (*s.values, *s.left_out)}))
