"""Cold, hot and heat-soaked: the first ten 1-2 and 3-2 of each state, held against one another."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.stats import fisher_exact, mannwhitneyu

from shiftlog.errors import CannotMeasure
from shiftlog.guided.shares import middle_figure
from shiftlog.guided.temperature import COLD, HOT, MINUTES, SOAKED, TYPED, Warmth, find_warmth
from shiftlog.measure.scene import Scene
from shiftlog.measure.share import share_of
from shiftlog.measure.synchro import temperature_band
from shiftlog.model.drive import MarkedTest
from shiftlog.model.guided import NOT_KNOWN, PRACTICE, Figure, GuidedResult
from shiftlog.model.result import DriveResult
from shiftlog.model.shift import Shift
from shiftlog.model.sign import INSIDE, OUTSIDE
from shiftlog.signal.middle import difference, middle_of

KINDS = ("1-2", "3-2")
FIRST = 10
LEAST = 4
"""Fewer shifts of a kind in a state give no comparison."""
MATTERS_MS, MATTERS_SHARE = 10.0, 0.1
"""A stand that is longer by less than the greater of these is the speed it was shifted at, and no hand feels it
(common practice, no source)."""
CHANCE = 0.05
HOT_AFTER_S, SOAK_S = 1200.0, 600.0
STAND = "baulk_time_s"


@dataclass(frozen=True, eq=False, kw_only=True)
class State:
    """One marked span. shifts : the first ten of each kind, by kind"""

    test: MarkedTest
    warmth: Warmth
    shifts: dict[str, list[Shift]]


def measure_warm_up(test: MarkedTest, scene: Scene, result: DriveResult) -> GuidedResult:
    """The span's own figures, and beside them the spans of the other states before it. CannotMeasure without shifts."""
    if scene.path is None:
        raise CannotMeasure(f"the lever's way through the gate is not known: {result.gate_why or 'no lever sensor'}")
    here = _state(test, scene, result)
    if not any(here.shifts.values()):
        raise CannotMeasure("no shift 1-2 or 3-2 of the lever lies within the marked span; drive ten of each")
    earlier = [_state(t, scene, result) for t in result.tests if t.kind == test.kind and t.start_s < test.start_s]
    earlier = [s for s in earlier if s.warmth.state != here.warmth.state]
    compared = [c for before in earlier for kind in KINDS for c in _compare(before, here, kind)]
    return GuidedResult(
        kind=test.kind, start_s=test.start_s, end_s=test.end_s, configuration=test.configuration,
        figures=(
            _warmth(here.warmth), *(f for kind in KINDS for f in _figures(kind, here)), *(c.figure for c in compared),
        ),
        says=(*_answer(compared, earlier), _say_warmth(here.warmth)),
        points_to=tuple(c.point for c in compared if c.point), doubts=_doubts(here, earlier),
    )  # fmt: skip


def _answer(compared: Sequence["_Change"], earlier: Sequence[State]) -> tuple[str, ...]:
    """What differs, or what is still to be driven."""
    if compared:
        return tuple(c.words for c in compared)
    if not earlier:
        return (f"{NOT_KNOWN}: one state alone was driven so far; drive the same cold and hot.",)
    return (f"{NOT_KNOWN}: fewer than {LEAST} shifts of a kind whose stand was measured in both states.",)


def _say_warmth(warmth: Warmth) -> str:
    if warmth.state == "not known":
        return f"How warm the gearbox was is not known: {warmth.words}."
    return f"Driven {warmth.state}: {warmth.words}."


def _state(test: MarkedTest, scene: Scene, result: DriveResult) -> State:
    inside = [s for s in result.shifts if test.start_s <= s.start_s <= test.end_s and s.seen_by == "lever"]
    by_kind = {kind: [s for s in inside if f"{s.from_gear}-{s.to_gear}" == kind][:FIRST] for kind in KINDS}
    return State(test=test, warmth=find_warmth(scene, test), shifts=by_kind)


def _warmth(warmth: Warmth) -> Figure:
    unit = "min" if warmth.how == MINUTES else "°C"
    return Figure(key="warmth", label=f"How warm: {warmth.how}", unit=unit, value=warmth.value)


def _stands_ms(shifts: Sequence[Shift]) -> np.ndarray:
    return 1000 * np.array([v for s in shifts if (v := s.value(STAND)) is not None], float)


def _hard(shift: Shift) -> bool:
    """Refused at least once, or ground."""
    return bool((shift.attempts or 1) > 1 or shift.outcome == "missed" or shift.value("grind"))


def _figures(kind: str, state: State) -> tuple[Figure, ...]:
    shifts, of = state.shifts[kind], f"{kind} {state.warmth.state}"
    if not shifts:
        return (
            Figure(key="stand_ms", label="Lever stands for", unit="ms", of=of, why=f"no shift {kind} in this span"),
        )
    stands = _stands_ms(shifts)
    hard = Figure(
        key="hard", label="Refused or ground", of=of, share=share_of(sum(_hard(s) for s in shifts), len(shifts))
    )
    if stands.size < 2:
        why = "the lever's stand could not be measured in two of these shifts"
        return Figure(key="stand_ms", label="Lever stands for", unit="ms", of=of, why=why), hard
    return middle_figure("stand_ms", "Lever stands for", "ms", middle_of(stands), of=of), hard


@dataclass(frozen=True, eq=False, kw_only=True)
class _Change:
    figure: Figure
    words: str
    point: tuple[str, str] | None = None


def _compare(before: State, here: State, kind: str) -> list[_Change]:
    """The stand, here less before, and what it points to; nothing where a state has too few."""
    some, now = before.shifts[kind], here.shifts[kind]
    stands = _stands_ms(some), _stands_ms(now)
    if min(len(some), len(now), stands[0].size, stands[1].size) < LEAST:
        return []
    apart = difference(middle_of(stands[1]), middle_of(stands[0]))
    matters = abs(apart.value) > max(MATTERS_MS, MATTERS_SHARE * float(np.median(stands[0])))
    p_stand = float(mannwhitneyu(*stands).pvalue) if matters else 1.0
    table = [[sum(_hard(s) for s in group), sum(not _hard(s) for s in group)] for group in (some, now)]
    p_hard = float(fisher_exact(table).pvalue)
    a, b = before.warmth.state, here.warmth.state
    change = apart.value
    figure = middle_figure("stand_change_ms", f"Lever stands longer, {b} less {a}", "ms", apart, of=kind)
    hard = f"{table[1][0]} of {len(now)} hard against {table[0][0]} of {len(some)}"
    told = f"{kind}: {change:+.0f} ms {b} against {a}; {hard}"
    if min(p_stand, p_hard) >= CHANCE / 2:
        why = "no more than chance" if matters else "no more than chance or the speeds make of it"
        return [_Change(figure=figure, words=f"{told}: {why}.")]
    worse = b if (change > 0 if p_stand <= p_hard else table[1][0] * len(some) > table[0][0] * len(now)) else a
    return [
        _Change(figure=figure, words=f"{told}: worse {worse}.", point=_point(worse, told, beside_hot=HOT in (a, b)))
    ]


def _point(worse: str, told: str, *, beside_hot: bool) -> tuple[str, str] | None:
    """What is worse soaked than cold may be so hot as well: only beside hot does it point at the soak."""
    if worse == COLD:
        return OUTSIDE, f"{told}. Worse cold alone: the oil first, its grade and age ({PRACTICE})"
    if worse == SOAKED and beside_hot:
        return OUTSIDE, f"{told}. Worse after a soak: the clutch's hydraulics and cables near the heat ({PRACTICE})"
    if worse == HOT:
        return INSIDE, f"{told}. Worse hot: thin oil first, then worn cones; the clutch before both ({PRACTICE})"
    return None


def _doubts(here: State, earlier: Sequence[State]) -> tuple[str, ...]:
    doubts = ["the hand warms up as well: the first shifts of a morning are a driver's slowest"]
    if here.warmth.how == MINUTES:
        doubts.append(
            "no gearbox temperature: minutes since the log began stand in for it, and engine oil would not do"
        )
    elif here.warmth.how == TYPED and here.test.gearbox_temp_c is None:
        doubts.append("one typed temperature stands for the whole drive")
    band = None if here.warmth.how == MINUTES else temperature_band(here.warmth.value)
    if band is not None and band != (HOT if here.warmth.state == SOAKED else here.warmth.state):
        doubts.append(
            f"marked as {here.warmth.state}, and {here.warmth.words} is {band}: correct the mark or the reading"
        )
    if here.warmth.state == HOT and here.warmth.how == MINUTES and here.test.start_s < HOT_AFTER_S:
        doubts.append(f"marked as hot {here.warmth.value:.0f} minutes after the log began; twenty are asked for")
    if here.warmth.state == SOAKED and earlier and here.test.start_s - earlier[-1].test.end_s < SOAK_S:
        doubts.append("marked as soaked less than ten minutes after the span before it")
    few = [f"{kind}: {len(some)}" for kind, some in here.shifts.items() if len(some) < FIRST]
    return (*doubts, *((f"fewer than ten shifts of {'; '.join(few)}",) if few else ()))
