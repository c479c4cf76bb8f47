"""Rows before they are judged: values, evidence, and what was left out."""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from shiftlog.compare.evidence import Evidence, weigh_drives
from shiftlog.compare.kinds import ALL, under_way
from shiftlog.compare.pairing import SHARES
from shiftlog.compare.past import Past
from shiftlog.compare.reasons import merge_reasons
from shiftlog.compare.sample import GEAR, REST, Sample, all_kinds, common_kinds, join_kinds
from shiftlog.measure.catalogue import Measure
from shiftlog.measure.nouns import say_apart, say_one_side
from shiftlog.model.comparison import LeftOutCount
from shiftlog.model.told import Told, tell


@dataclass(frozen=True, eq=False, kw_only=True)
class Draft:
    """One row; values : for each side the values used by drive; evidence : None where a side has none.

    where : in what kind of test, "" for the drive itself; lacks : what it takes, if more values would not do
    """

    measure: Measure
    group: str
    values: tuple[Mapping[str, tuple[float, ...]], Mapping[str, tuple[float, ...]]]
    evidence: Evidence | None
    left_out: LeftOutCount
    margin: float | None
    counted: str = ""
    where: str = ""
    lacks: str = ""

    @property
    def noun(self) -> str:
        """What one value is of."""
        return self.counted or self.measure.noun

    @property
    def counts(self) -> tuple[int, int]:
        """Values before and after."""
        before, after = (sum(len(v) for v in side.values()) for side in self.values)
        return before, after

    @property
    def may_differ(self) -> bool:
        """Whether this row counts among those that could differ by chance."""
        has_p = self.evidence is not None and self.evidence.p is not None and not self._none_or_all
        return has_p and min(self.counts) >= self.evidence.least

    @property
    def may_claim(self) -> bool:
        """Whether it counts among those that could be called better or worse by chance."""
        return self.may_differ and self.measure.better is not None

    @property
    def _none_or_all(self) -> bool:
        """Whether all tries of both sides came out alike: such counts can claim nothing, whatever the page.

        Tarone, Biometrics 46 (1990) 515.
        """
        both = [self.evidence.counted.before, self.evidence.counted.after] if self.evidence.counted else []
        return bool(both) and sum(s.k for s in both) in (0, sum(s.n for s in both))


def draft_rows(
    measure: Measure, sides: Sequence[Sequence[Sample]], past: Past[Sequence[Sample]], *, margin: float | None
) -> list[Draft]:
    """One row over all kinds and one for each kind that has values; none where nothing was measured."""
    held = {k for side in sides for s in side for k in (*s.values, *s.withheld)}
    if not held:
        return []
    kinds = all_kinds(*sides)
    shared = common_kinds(*sides)
    # Of one kind nothing need be alike to be counted; of one side alone all kinds are told.
    joined = kinds if set(kinds) <= {REST, GEAR} or not all(sides) else join_kinds(*sides, under_way(shared))
    headline = _draft(measure, ALL, joined, sides, past, margin)
    if set(kinds) <= {REST, GEAR}:
        return [headline]
    return [headline, *(_draft(measure, k, (k,), sides, past, margin) for k in kinds if k in held)]


def _draft(
    measure: Measure, group: str, kinds: Sequence[str], sides: Sequence[Sequence[Sample]],
    past: Past[Sequence[Sample]], margin: float | None,
) -> Draft:  # fmt: skip
    values = tuple({s.drive: _flat(s, kinds) for s in side if _flat(s, kinds)} for side in sides)
    evidence = None
    if all(values):
        evidence = weigh_drives(
            [_by_kind(side, kinds) for side in sides], kinds, yes_no=measure.key in SHARES, headline=group == ALL,
            history=past.each(lambda group: _by_kind(group, kinds)),
        )  # fmt: skip
    left_out = _left_out(group, kinds, sides, measure.noun)
    return Draft(
        measure=measure, group=group, values=values, evidence=evidence, left_out=left_out, margin=margin
    )  # fmt: skip


def _flat(sample: Sample, kinds: Sequence[str]) -> tuple[float, ...]:
    return tuple(v for k in kinds for v in sample.values.get(k, ()))


def _by_kind(side: Sequence[Sample], kinds: Sequence[str]) -> list[dict[str, tuple[float, ...]]]:
    return [{k: s.values[k] for k in kinds if k in s.values} for s in side]


def _left_out(group: str, kinds: Sequence[str], sides: Sequence[Sequence[Sample]], noun: str) -> LeftOutCount:
    """What was left out on each side: used and left out together are all that the row's kinds have."""
    shared = common_kinds(*sides)
    totals = [Counter[str](), Counter[str]()]
    for total, side in zip(totals, sides, strict=True):
        for sample in side:
            for kind, reasons in sample.left_out.items():
                if group == ALL or kind in kinds:
                    total.update(reasons)
            if group == ALL:
                for kind, found in sample.values.items():
                    if kind not in kinds:
                        total[_why_aside(kind, shared, noun)] += len(found)
    return say_left_out(totals)


def _why_aside(kind: str, shared: Sequence[str], noun: str) -> Told:
    """Why values of a kind count in its own row and in no headline."""
    if kind in shared and kind not in under_way(shared):
        return tell("left.standing_aside", "at standstill: a row of its own")
    return (say_apart if kind in shared else say_one_side)(noun)


def say_left_out(totals: Sequence[Counter[str]]) -> LeftOutCount:
    """How many of each side, and for what reasons; totals : before and after, by reason."""
    why = merge_reasons(totals[0] + totals[1])
    told = tuple(tell("left.counted", f"{n} × {reason}", n=n, why=reason) for reason, n in why)
    return LeftOutCount(before=totals[0].total(), after=totals[1].total(), why=told)
