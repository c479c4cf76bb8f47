"""What one drive gives one measure: its values by kind, and what was left out and why."""

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from shiftlog.compare.alike import Bands
from shiftlog.compare.kinds import UNKNOWN, kind_of
from shiftlog.guided.set_up import COMPLETE, set_up_of
from shiftlog.measure.catalogue import Measure
from shiftlog.measure.nouns import DRIVING, STANDSTILL_TEST
from shiftlog.model.car import NEUTRAL
from shiftlog.model.drive import MarkedTest
from shiftlog.model.reading import Reading
from shiftlog.model.rest import Rest
from shiftlog.model.result import DriveResult, SynchroRow
from shiftlog.model.shift import Shift
from shiftlog.model.told import Told, tell

COUNTED_OUTCOMES = ("clean", "second_push", None)
"""Outcomes whose times count; None is a gear change seen in the drive alone, which has no outcome."""
REST, GEAR = tell("kind.rest", "rest"), tell("kind.gear", "gear")
"""Measures of these know no kinds."""


@dataclass(frozen=True, eq=False, kw_only=True)
class Sample:
    """Values by kind, and how many were left out by kind and reason.

    withheld : kinds of which values were measured but have no counterpart on the other side
    """

    drive: str
    values: Mapping[str, tuple[float, ...]]
    left_out: Mapping[str, Counter[str]]
    withheld: frozenset[str] = frozenset()


@dataclass(frozen=True, eq=False, kw_only=True)
class Taken:
    """One candidate for a measure: its kind, its value, or why it does not count.

    shift : where it is one; gear : where it is of one
    """

    kind: str
    value: float | None
    why: str = ""
    shift: Shift | None = None
    gear: str | None = None


def take_sample(
    result: DriveResult, measure: Measure, *, drive: str, unlike: str | None = None, bands: Bands | None = None
) -> Sample:
    """Everything a drive has to say of one measure.

    drive : the name the drive goes by here; unlike : why none of its values can be compared, or None
    """
    values: dict[str, list[float]] = {}
    left_out: dict[str, Counter[str]] = {}
    withheld: set[str] = set()
    for one in _take(result, measure):
        why = one.why if one.value is None else unlike
        if why is None and bands is not None and one.shift is not None:
            why = bands.why_outside(one.shift, measure=measure.key)
        elif why is None and bands is not None:
            why = bands.why_other_ratio(one.gear)
        if why is not None and one.value is not None:
            withheld.add(one.kind)
        if why is not None:
            left_out.setdefault(one.kind, Counter())[why] += 1
        else:
            values.setdefault(one.kind, []).append(float(one.value))
    kept = {k: tuple(v) for k, v in values.items()}
    return Sample(drive=drive, values=kept, left_out=left_out, withheld=frozenset(withheld))


def _take(result: DriveResult, measure: Measure) -> list[Taken]:
    if measure.key in _TAKERS:
        return _TAKERS[measure.key](result)
    if measure.of == "rest":
        return _take_rests(result, measure.key)
    return [_take_shift(s, measure.key) for s in result.shifts]


def _not_measured(reading: Reading | None) -> Told:
    return _unmeasured(reading.why if reading else None)


def _unmeasured(why: str | None) -> Told:
    """In the words of measuring, which have no key of their own."""
    return tell("left.not_measured", why or "not measured")


def _other_outcome(shift: Shift) -> Told:
    return tell(f"left.outcome_{shift.outcome}", f"outcome: {shift.outcome.replace('_', ' ')}")


def _take_shift(shift: Shift, key: str) -> Taken:
    kind = kind_of(shift)
    why = _why_no_time(shift, kind)
    reading = shift.readings.get(key)
    if why is None and (reading is None or reading.value is None):
        why = _not_measured(reading)
    return Taken(kind=kind, value=None if why else float(reading.value), why=why or "", shift=shift)


def _why_no_time(shift: Shift, kind: str) -> str | None:
    if shift.outcome not in COUNTED_OUTCOMES:
        return _other_outcome(shift)
    if kind.startswith(UNKNOWN):
        return tell("left.gears_unknown", "which gears it was is not known: like is compared with like only")
    if shift.to_gear == NEUTRAL:
        return tell("left.to_neutral", "to neutral only")
    return tell("left.rowed", "rowed through other gears") if shift.via else None


def _take_refusals(result: DriveResult) -> list[Taken]:
    """1 for a shift under way in which a gear was refused at least once, 0 for one that went in at once."""
    return [_yes_no(s, _why_no_refusal(s), s.outcome != "clean") for s in result.shifts]


def _take_grinds(result: DriveResult) -> list[Taken]:
    """1 for a shift under way in which teeth clashed, 0 for one in which they did not; what nobody can tell is out."""
    return [_yes_no(s, _why_no_grind(s), bool(s.value("grind"))) for s in result.shifts]


def _yes_no(shift: Shift, why: str | None, yes: bool) -> Taken:
    return Taken(kind=kind_of(shift), value=None if why else float(yes), why=why or "", shift=shift)


def _why_no_refusal(shift: Shift) -> str | None:
    if shift.seen_by != "lever" or shift.outcome is None:
        return tell("left.no_lever", "seen without a lever: a refusal does not show")
    if shift.outcome not in ("clean", "second_push", "missed"):
        return _other_outcome(shift)
    return tell("left.standing", "at standstill refusals are normal") if shift.standing else None


def _why_no_grind(shift: Shift) -> str | None:
    if shift.outcome not in (*COUNTED_OUTCOMES, "missed"):
        return _other_outcome(shift)
    if shift.standing:
        return tell("left.standing_teeth", "at standstill teeth may touch")
    reading = shift.readings.get("grind")
    if reading is None or reading.value is None:
        return _not_measured(reading)
    return None


def _why_no_rest(rest: Rest) -> str | None:
    if rest.in_bend:
        return tell("left.in_bend", "in a bend")
    if rest.released is None:
        return tell("left.unknown_let_go", "cannot be known whether it was let go")
    return None if rest.released else tell("left.held", "guided or held by a hand")


def is_marked(rest: Rest, result: DriveResult) -> bool:
    """Whether a rest lies in a marked release test."""
    return _is_within(rest, result.tests)


def _is_within(rest: Rest, tests: Sequence[MarkedTest]) -> bool:
    """A let-go belongs to the test in which it began: the lever may well lie there beyond the mark's end."""
    return any(t.kind == "release" and t.start_s <= rest.start_s < t.end_s for t in tests)


def marked_rests(result: DriveResult) -> tuple[Rest, ...]:
    """Let-goes of marked release tests with everything connected: all but those in bends count, moved or not."""
    whole = [t for t in result.tests if set_up_of(t.configuration) == COMPLETE]
    return tuple(r for r in result.rests if not r.in_bend and _is_within(r, whole))


def driven_rests(result: DriveResult) -> tuple[Rest, ...]:
    """Rests of a lever that was let go, of no marked test and in no bend."""
    return tuple(r for r in result.rests if not is_marked(r, result) and _why_no_rest(r) is None)


RESTS_OF: Mapping[str, Callable[[DriveResult], tuple[Rest, ...]]] = {
    STANDSTILL_TEST: marked_rests, DRIVING: driven_rests,
}  # fmt: skip
"""The rests that a row of rests out of the home plane counts, by where it was seen."""


def _take_planes(result: DriveResult) -> list[Taken]:
    """1 for a released rest out of the home plane, 0 for one in it; rests of a marked test have a row of their own."""
    home = result.gate.layout.home if result.gate else None
    if home is None:
        return []
    taken = []
    for rest in result.rests:
        why = tell("left.marked", "in a marked release test") if is_marked(rest, result) else _why_no_rest(rest)
        taken.append(Taken(kind=REST, value=None if why else float(rest.plane != home), why=why or ""))
    return taken


def _take_rests(result: DriveResult, key: str) -> list[Taken]:
    """A figure of the released rests that came home, those of a marked release test included.

    A lever that stops short in a wrong plane has a shorter way, and is not quicker for it.
    """
    home, taken = result.gate.layout.home if result.gate else None, []
    for rest in result.rests:
        reading, why = rest.readings.get(key), _why_no_rest(rest)
        if why is None and home is not None and rest.plane != home:
            why = tell("left.shorter_way", "came to rest out of the home plane: a shorter way")
        if why is None and (reading is None or reading.value is None):
            why = _not_measured(reading)
        taken.append(Taken(kind=REST, value=None if why else float(reading.value), why=why or ""))
    return taken


def _take_jumps(result: DriveResult) -> list[Taken]:
    """1 for a journey under way that began as the gear let go by itself, 0 for one that a hand began."""
    return [_jump(s) for s in result.shifts if s.from_gear not in (None, NEUTRAL) or s.seen_by != "lever"]


def _jump(shift: Shift) -> Taken:
    why = None
    if shift.seen_by != "lever":
        why = tell("left.no_lever_jump", "seen without a lever: whether a hand began it does not show")
    elif shift.standing:
        why = tell("left.standing_jump", "at standstill no torque drives a gear out")
    return Taken(kind=GEAR, value=None if why else float(shift.outcome == "jumped_out"), why=why or "")


def _take_hysteresis(result: DriveResult) -> list[Taken]:
    value = result.summary.hysteresis_mm
    why = _unmeasured(result.summary.unmeasured.get("hysteresis_mm"))
    return [Taken(kind=REST, value=None if value is None else abs(value), why=why)] if result.rests else []


def _take_slopes(result: DriveResult) -> list[Taken]:
    """How much longer the lever stands for each 1,000 rpm, one figure for each gear and direction a drive."""
    return [
        Taken(
            kind=_slope_kind(row),
            value=row.slope_ms_per_krpm,
            gear=row.gear,
            why=_unmeasured(row.unmeasured.get("synchro_slope_ms_per_krpm")),
        )
        for row in result.summary.synchro
    ]


def _slope_kind(row: SynchroRow) -> Told:
    band = "" if row.band == "not known" else f", {row.band}"
    key = f"kind.into_{row.direction}" + (f"_{row.band}" if band else "")
    return tell(key, f"into {row.gear}, {row.direction}{band}", gear=row.gear)


_TAKERS: Mapping[str, Callable[[DriveResult], list[Taken]]] = {
    "refused_share": _take_refusals,
    "grind_share": _take_grinds,
    "jumped_share": _take_jumps,
    "wrong_plane_share": _take_planes,
    "hysteresis_mm": _take_hysteresis,
    "synchro_slope_ms_per_krpm": _take_slopes,
}


def common_kinds(before: Sequence[Sample], after: Sequence[Sample]) -> tuple[str, ...]:
    """Kinds that have values on both sides, in order of name."""
    sides = [{k for s in side for k, v in s.values.items() if v} for side in (before, after)]
    return tuple(sorted(sides[0] & sides[1]))


def all_kinds(before: Sequence[Sample], after: Sequence[Sample]) -> tuple[str, ...]:
    """Kinds seen on either side, values or not, in order of name."""
    return tuple(sorted({k for s in (*before, *after) for k in (*s.values, *s.left_out)}))


def join_kinds(before: Sequence[Sample], after: Sequence[Sample], kinds: Sequence[str]) -> tuple[str, ...]:
    """The kinds that a chain of drives joins, so that every drive can be held against every other: the most driven.

    Two drives that share no kind, and that no third drive joins, say nothing of one another.
    """
    groups: list[set[str]] = []
    for sample in (*before, *after):
        mine = {k for k in kinds if sample.values.get(k)}
        touching = [g for g in groups if g & mine]
        groups = [g for g in groups if not g & mine] + ([mine.union(*touching)] if mine else [])
    counted = [(sum(len(s.values.get(k, ())) for s in (*before, *after) for k in g), sorted(g)) for g in groups]
    return tuple(max(counted)[1]) if counted else ()
