"""Rows of guided tests: a figure of a test and its entry in the catalogue make a row, whatever the kind of test."""

from collections import Counter
from collections.abc import Mapping, Sequence

from shiftlog.compare.alike import find_strangers
from shiftlog.compare.drafts import Draft, say_left_out
from shiftlog.compare.evidence import Evidence, weigh_drives, weigh_tests_of_days
from shiftlog.compare.given import Given, gather_figures, groups_of, headline_groups
from shiftlog.compare.kinds import ALL
from shiftlog.compare.past import Past
from shiftlog.compare.places import find_unlike
from shiftlog.compare.weigh_tests import Known, know, least_of, mean_of, weigh_figures
from shiftlog.guided.cards.known import CARDS
from shiftlog.measure.catalogue import MEASURES, Measure
from shiftlog.measure.nouns import ROAD_TEST, STANDSTILL_TEST, say_one_side
from shiftlog.model.comparison import LeftOutCount
from shiftlog.model.guided import Figure
from shiftlog.model.result import DriveResult

NO_UNCERTAINTY = (
    "what such a test leaves uncertain is not known from one; repeat it within the test, or mark it in three drives"
)
Sides = tuple[Sequence[Given], Sequence[Given]]
Repeats = Past[Sequence[Given]]
"""What repeat drives give, group by group."""


def draft_guided(
    before: Sequence[DriveResult], after: Sequence[DriveResult], names: tuple[Sequence[str], Sequence[str]],
    repeats: Past[Sequence[DriveResult]], limits: Mapping[str, float | None],
) -> list[Draft]:  # fmt: skip
    """Rows of every measure that a marked test gives, the headline before what it is made of.

    repeats : groups of repeat drives; limits : margin by measure
    """
    drafts: list[Draft] = []
    for measure in MEASURES.values():
        if measure.test:
            sides = tuple(
                _gather_alike(measure, side, names=own, reasons=_why_unlike(measure, side, other))
                for side, other, own in zip((before, after), (after, before), names, strict=True)
            )
            past = repeats.each(lambda group, m=measure: _gather_past(m, group, (*before, *after)))
            drafts += _draft_measure(measure, sides, past, limits.get(measure.key, measure.margin))
    return drafts


def _why_unlike(
    measure: Measure, side: Sequence[DriveResult], other: Sequence[DriveResult]
) -> Sequence[str | None]:  # fmt: skip
    """For each drive of a side why its tests do not count: other millimetres, or a road test of one side only."""
    reasons = find_unlike(measure, side, other)
    if where_tested(measure) != ROAD_TEST:
        return reasons
    return [why or stranger for why, stranger in zip(reasons, find_strangers(side, other), strict=True)]


def _gather_past(measure: Measure, group: Sequence[DriveResult], compared: Sequence[DriveResult]) -> list[Given]:
    names = [r.head.id for r in group]
    return _gather_alike(measure, group, names=names, reasons=find_unlike(measure, group, compared))


def _gather_alike(
    measure: Measure, side: Sequence[DriveResult], *, names: Sequence[str], reasons: Sequence[str | None]
) -> list[Given]:
    why = dict(zip(names, reasons, strict=True))
    return [_if_alike(one, why[one.drive]) for one in gather_figures(side, names, measure)]


def _if_alike(one: Given, reason: str | None) -> Given:
    """What a test gives; nothing, with the reason, where there is one."""
    if reason is None:
        return one
    lost = {kind: Counter({reason: len(figures)}) for kind, figures in one.figures.items()}
    return Given(drive=one.drive, figures={}, without=lost)


def where_tested(measure: Measure) -> str:
    """Standing or on the road."""
    return ROAD_TEST if CARDS[measure.test].on_road else STANDSTILL_TEST


def _draft_measure(measure: Measure, sides: Sides, past: Repeats, margin: float | None) -> list[Draft]:
    groups = groups_of(sides[0]) | groups_of(sides[1])
    if not groups:
        return []
    both = all(any(one.figures for one in side) for side in sides)
    joined = headline_groups(*sides) if both else (ALL,) if ALL in groups else tuple(sorted(groups))
    kinds = sorted(groups - {ALL})
    return [
        _draft(measure, ALL, joined, sides, past, margin),
        *(_draft(measure, kind, (kind,), sides, past, margin) for kind in kinds),
    ]  # fmt: skip


def _draft(
    measure: Measure, group: str, kinds: Sequence[str], sides: Sides, past: Repeats, margin: float | None
) -> Draft:  # fmt: skip
    shares = any(f.share is not None for side in sides for one in side for some in one.figures.values() for f in some)
    values = tuple({one.drive: v for one in side if (v := _values(one, kinds, measure))} for side in sides)
    evidence = None
    if all(values):
        evidence = (_weigh_shares if shares else _weigh)(measure, kinds, sides, past, group)
    left_out = _left_out(group, kinds, sides, measure)
    return Draft(
        measure=measure, group=group, values=values, evidence=evidence, left_out=left_out, margin=margin,
        where=where_tested(measure), lacks="" if shares or not all(values) else NO_UNCERTAINTY,
    )  # fmt: skip


def _values(one: Given, kinds: Sequence[str], measure: Measure) -> tuple[float, ...]:
    figures = [f for kind in kinds for f in one.figures.get(kind, ())]
    return tuple(v for f in figures for v in _answers(f, measure))


def _answers(figure: Figure, measure: Measure) -> tuple[float, ...]:
    """The tries of a share, 1 for yes; a figure as it counts."""
    if figure.share is not None:
        return (1.0,) * figure.share.k + (0.0,) * (figure.share.n - figure.share.k)
    return (know(figure, size_only=measure.size_only).value,)


def _weigh(measure: Measure, kinds: Sequence[str], sides: Sides, past: Repeats, _: str) -> Evidence | None:
    def known(side: Sequence[Given]) -> list[Known]:
        return [k for one in side if (k := known_of_drive(one, kinds, measure))]

    return weigh_figures(known(sides[0]), known(sides[1]), past.each(known))


def known_of_drive(one: Given, kinds: Sequence[str], measure: Measure) -> Known | None:
    """A drive's figure over some gears: of each the mean of its tests, then all of them together."""
    by_kind = [
        mean_of([know(f, size_only=measure.size_only) for f in one.figures[kind]])
        for kind in kinds
        if one.figures.get(kind)
    ]
    if not by_kind:
        return None
    return least_of(by_kind) if measure.least else mean_of(by_kind)


def _weigh_shares(measure: Measure, kinds: Sequence[str], sides: Sides, past: Repeats, group: str) -> Evidence | None:
    """At standstill one test a side is counted exactly; else the drive is the unit."""
    if where_tested(measure) == STANDSTILL_TEST:
        return weigh_tests_of_days(*([_values(one, kinds, measure) for one in side] for side in sides))

    def by_kind(side: Sequence[Given]) -> list[dict[str, tuple[float, ...]]]:
        return [{k: v for k in kinds if (v := _values(one, (k,), measure))} for one in side]

    history = past.each(by_kind)
    return weigh_drives([by_kind(side) for side in sides], kinds, yes_no=True, headline=group == ALL, history=history)


def _left_out(group: str, kinds: Sequence[str], sides: Sides, measure: Measure) -> LeftOutCount:
    """Figures that a test could not give, and of a headline those that have no counterpart."""
    totals = [Counter[str](), Counter[str]()]
    parts = () if ALL in kinds else None
    for total, side in zip(totals, sides, strict=True):
        for one in side:
            for kind, reasons in one.without.items():
                if kind in kinds or (group == ALL and parts is None):
                    total.update(reasons)
            for kind in one.figures if group == ALL and parts is None else ():
                if kind not in kinds:
                    total[say_one_side(measure.noun)] += len(_values(one, (kind,), measure))
    return say_left_out(totals)
