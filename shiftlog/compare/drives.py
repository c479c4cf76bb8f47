"""Before against after: one row for each measure over all kinds of shift, and one for each kind."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from shiftlog.compare.caveats import check_same_car, find_caveats
from shiftlog.compare.difference import Difference, compare_sides
from shiftlog.compare.pairing import ALL, Sample, all_kinds, common_kinds, compared_measures, take_sample
from shiftlog.compare.places import find_unlike
from shiftlog.compare.verdict import judge
from shiftlog.compare.words import SHARES
from shiftlog.measure.catalogue import Measure
from shiftlog.model.comparison import Comparison, LeftOutCount, Row
from shiftlog.model.result import DriveResult

METHOD = (
    "difference of the means of drive medians (of drive shares for yes or no), percentile bootstrap over drives and "
    "shifts, never narrower than Student's t over drives (shares: Newcombe's interval); p by permutation over drives "
    "where it can reach 0.05 (counted out up to 12,000 arrangements), not corrected over the page"
)
ONE_SIDE = "this kind of shift was driven on one side only"


def compare_drives(before: Sequence[DriveResult], after: Sequence[DriveResult], *, seed: int = 1) -> Comparison:
    """Compare drives before with drives after, of one car. CompareError where they cannot be compared."""
    check_same_car(before, after)
    names = _name_drives(before), _name_drives(after)
    rows: list[Row] = []
    for measure in compared_measures():
        samples = [
            _take_side(measure, before, after, names[0]),
            _take_side(measure, after, before, names[1]),
        ]
        rows.extend(_rows(measure, samples, seed))
    return Comparison(
        before=names[0], after=names[1], caveats=find_caveats(before, after),
        rows=tuple(_never_better_by_refusing(rows)),
    )  # fmt: skip


def _name_drives(side: Sequence[DriveResult]) -> tuple[str, ...]:
    """The drives' own names; a second drive of the same name on a side is numbered, so that neither hides the other."""
    seen: Counter[str] = Counter()
    names = []
    for result in side:
        seen[result.head.id] += 1
        again = seen[result.head.id]
        names.append(result.head.id if again == 1 else f"{result.head.id} ({again})")
    return tuple(names)


def _take_side(
    measure: Measure, side: Sequence[DriveResult], other: Sequence[DriveResult], names: Sequence[str]
) -> list[Sample]:
    unlike = find_unlike(measure, side, other)
    return [take_sample(r, measure, drive=n, unlike=u) for r, n, u in zip(side, names, unlike, strict=True)]


def _rows(measure: Measure, samples: Sequence[Sequence[Sample]], seed: int) -> list[Row]:
    kinds = all_kinds(*samples)
    if not any(s.values or s.unlike for side in samples for s in side):
        return []
    shared = common_kinds(*samples)
    rows = [_row(measure, kind, (kind,), samples, seed) for kind in kinds if _has_values(kind, samples)]
    if kinds != ("rest",):
        return [_row(measure, ALL, shared, samples, seed), *rows]
    return [replace(rows[0], group=ALL)]


def _has_values(kind: str, samples: Sequence[Sequence[Sample]]) -> bool:
    return any(sample.values.get(kind) for side in samples for sample in side)


def _row(measure: Measure, group: str, kinds: Sequence[str], samples: Sequence[Sequence[Sample]], seed: int) -> Row:
    values = [{s.drive: _values(s, kinds) for s in side if _values(s, kinds)} for side in samples]
    counts = [sum(len(v) for v in side.values()) for side in values]
    difference = _difference(measure, kinds, samples, seed) if all(counts) else None
    drives = len(values[0]), len(values[1])
    verdict = judge(measure, difference, counts[0], counts[1], drives)
    d = difference
    return Row(
        measure=measure.key, group=group, unit=measure.unit, better=measure.better, drives_before=drives[0],
        drives_after=drives[1], n_before=counts[0], n_after=counts[1], before=d and d.before, after=d and d.after,
        difference=d and d.difference, ci_low=d and d.ci95[0], ci_high=d and d.ci95[1], p=d and d.p, p_corrected=None,
        cliffs_delta=d and d.cliffs_delta, smallest_change=None, margin=measure.margin, df=None, method=METHOD,
        left_out=_left_out(group, kinds, samples), more_drives=None, verdict=verdict.word, provisional=True,
        why=verdict.why, values_before=values[0], values_after=values[1],
    )  # fmt: skip


def _values(sample: Sample, kinds: Sequence[str]) -> tuple[float, ...]:
    return tuple(v for k in kinds for v in sample.values.get(k, ()))


def _difference(measure: Measure, kinds: Sequence[str], samples: Sequence[Sequence[Sample]], seed: int) -> Difference:
    sides = [[{k: np.array(s.values[k]) for k in kinds if k in s.values} for s in side] for side in samples]
    return compare_sides(sides[0], sides[1], kinds, yes_no=measure.key in SHARES, seed=seed)


def _left_out(group: str, kinds: Sequence[str], samples: Sequence[Sequence[Sample]]) -> LeftOutCount:
    """What was left out on each side: used and left out together are all shifts of the row's kinds."""
    totals = [Counter[str](), Counter[str]()]
    for total, side in zip(totals, samples, strict=True):
        for sample in side:
            for kind, reasons in sample.left_out.items():
                if group == ALL or kind in kinds:
                    total.update(reasons)
            if group == ALL:
                total[ONE_SIDE] += sum(len(v) for k, v in sample.values.items() if k not in kinds)
    why = {reason: n for reason, n in (totals[0] + totals[1]).most_common() if n}
    return LeftOutCount(
        before=totals[0].total(), after=totals[1].total(), why=tuple(f"{n} × {reason}" for reason, n in why.items())
    )


def _never_better_by_refusing(rows: list[Row]) -> list[Row]:
    """A shorter baulk with more refusals is never better: a worn cone lets the hand crash through."""
    refused = {r.group: r.difference for r in rows if r.measure == "refused_share" and r.difference is not None}
    return [
        replace(row, verdict="unclear", why=f"{row.why}; but more gears were refused, so that it is no gain")
        if row.measure == "baulk_time_s" and row.verdict == "better" and refused.get(row.group, 0.0) > 0
        else row
        for row in rows
    ]
