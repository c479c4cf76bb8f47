"""What the drives say of one measure and one kind of shift (or all): figures, intervals, and what they rest on."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from shiftlog.compare.cells import AFTER, BEFORE, Cells, gather_cells
from shiftlog.compare.difference import compare_kind
from shiftlog.compare.effect import find_cliffs_delta, permute_drives
from shiftlog.compare.estimate import DAYS_KNOWN, DAYS_OF_OTHERS, Estimate
from shiftlog.compare.headline import compare_levels, fit_levels
from shiftlog.compare.kinds import ALL
from shiftlog.compare.past import NO_PAST, Past
from shiftlog.compare.shares import Counted, compare_counts, judge_share, widen_share
from shiftlog.model.comparison import DAYS, SHIFTS, TESTS, TRIES
from shiftlog.model.told import Told, tell

Drives = Sequence[Mapping[str, Sequence[float]]]
"""For each drive its values by kind."""

# From this many degrees of freedom on a verdict stands: what three drives a side leave.
FIRM_DF = 4
# Values a side: fewer tell nothing.
LEAST_VALUES = 3
# Fewer values than this and no range of theirs covers a median in 95 % (2 · 0.5⁶ = 3 %): too few to say `same`.
LEAST_FOR_SAME = 6
FIRM_DRIVES = 3


@dataclass(frozen=True, eq=False, kw_only=True)
class Evidence:
    """A difference (after − before) with all that belongs to it.

    exact : counts of a marked standstill test, between which no day lies
    firm : whether the day and the repair can be told apart
    least, least_for_same : values a side that it takes to say anything, and that nothing changed
    """

    before: float
    after: float
    difference: float
    ci95: tuple[float, float]
    ci90: tuple[float, float]
    p: float | None
    p_permutation: float | None
    cliffs_delta: float | None
    smallest_change: float | None
    df: float | None
    method: str
    firm: bool
    exact: bool = False
    counted: Counted | None = None
    estimate: Estimate | None = None
    least: int = LEAST_VALUES
    least_for_same: int = LEAST_FOR_SAME

    @property
    def covers(self) -> str:
        """What the intervals cover: ``drives``, or, of what lies within a drive alone, ``shifts``, ``tries``, …"""
        if self.estimate is None:
            return TRIES
        return self.estimate.rests_on if self.estimate.rests_on in (SHIFTS, TESTS) else DAYS


def weigh_drives(
    sides: Sequence[Drives], kinds: Sequence[str], *, yes_no: bool, headline: bool, history: Past[Drives] = NO_PAST
) -> Evidence | None:
    """Two sides over some kinds; None where a side has nothing, or where drives share no kind.

    history : groups of repeat drives
    """
    cells = gather_cells(sides, kinds, yes_no=yes_no)
    past = history.each(lambda group: gather_cells([group], kinds, yes_no=yes_no))
    past = replace(past, groups=[group for group in past.groups if group.figures.shape[0] > 1])
    compare_them = partial(compare_levels, counted=yes_no) if headline else compare_kind
    estimate = compare_them(cells, past) if len(set(cells.groups)) == 2 else None
    if estimate is None:
        return None
    counted = _count(sides, kinds) if yes_no else None
    ci95, ci90 = (_interval(estimate, counted, confidence) for confidence in (0.95, 0.90))
    before, after = _keep_within(estimate.before, estimate.after) if yes_no else (estimate.before, estimate.after)
    return Evidence(
        before=before, after=after, difference=estimate.difference, ci95=ci95, ci90=ci90,
        p=estimate.p if counted is None else judge_share(estimate, counted),
        p_permutation=_permute(cells) if headline else None,
        cliffs_delta=_delta(sides, kinds, yes_no=yes_no), smallest_change=_smallest_change(estimate, ci95),
        df=estimate.df or None, method=_say_method(estimate, yes_no=yes_no, headline=headline),
        firm=_is_firm(estimate, cells), counted=counted, estimate=estimate,
    )  # fmt: skip


def _keep_within(before: float, after: float) -> tuple[float, float]:
    """Both shares, moved alike until they lie from 0 to 1: a fit of drives and kinds knows differences alone."""
    move = max(-min(before, after), 0.0) - max(max(before, after) - 1.0, 0.0)
    return tuple(min(max(share + move, 0.0), 1.0) for share in (before, after))


def weigh_counts(before: Sequence[float], after: Sequence[float]) -> Evidence:
    """Answers (0 or 1) of a marked standstill test on each side: only the repair and the remounting lie between."""
    answers = [np.asarray(side, dtype=float) for side in (before, after)]
    counted = compare_counts(*((int(a.sum()), a.size) for a in answers))
    return Evidence(
        before=float(answers[0].mean()), after=float(answers[1].mean()), difference=counted.difference,
        ci95=counted.ci95, ci90=counted.ci90, p=counted.p, p_permutation=None,
        cliffs_delta=find_cliffs_delta(*answers), smallest_change=_half(counted.ci95), df=None,
        method=tell(
            "method.standstill",
            "counts of a marked standstill test: Fisher's exact test, Newcombe's interval of the difference",
        ),
        firm=True, exact=True, counted=counted,
    )  # fmt: skip


def weigh_tests_of_days(before: Sequence[Sequence[float]], after: Sequence[Sequence[float]]) -> Evidence | None:
    """Answers of marked standstill tests, drive by drive; None where a side has none.

    One test a side is counted exactly: only the repair and the remounting lie between. Several on both sides have days
    between them, and pooled counts would take the day for the repair: the drive is the unit then.
    """
    sides = [[list(drive) for drive in side if drive] for side in (before, after)]
    if not all(sides):
        return None
    if min(map(len, sides)) < 2:
        return weigh_counts(*([v for drive in side for v in drive] for side in sides))
    by_kind = [[{ALL: drive} for drive in side] for side in sides]
    # Welch: shares of 0 or 1 leave one side no spread, and the other side's alone would be halved by pooling.
    evidence = weigh_drives(by_kind, (ALL,), yes_no=True, headline=False)
    return None if evidence is None else replace(evidence, firm=True, exact=True)


def _interval(estimate: Estimate, counted: Counted | None, confidence: float) -> tuple[float, float]:
    if counted is not None:
        return widen_share(estimate, counted, confidence=confidence)
    reach = estimate.reach(confidence)
    return estimate.difference - reach, estimate.difference + reach


def _smallest_change(estimate: Estimate, ci95: tuple[float, float]) -> float | None:
    return None if estimate.rests_on == SHIFTS else _half(ci95)


def _half(interval: tuple[float, float]) -> float:
    return (interval[1] - interval[0]) / 2


def _is_firm(estimate: Estimate, cells: Cells) -> bool:
    drives = [int((cells.groups == side).sum()) for side in (BEFORE, AFTER)]
    if min(drives) >= FIRM_DRIVES:
        return True
    return estimate.rests_on == DAYS_KNOWN and estimate.df >= FIRM_DF


def _count(sides: Sequence[Drives], kinds: Sequence[str]) -> Counted:
    pooled = [np.concatenate([np.asarray(d.get(k, ()), dtype=float) for d in side for k in kinds]) for side in sides]
    return compare_counts(*((int(p.sum()), p.size) for p in pooled))


def _permute(cells: Cells) -> float | None:
    fit = fit_levels(cells)
    return None if fit is None else permute_drives(*(fit.level[cells.groups == side] for side in (BEFORE, AFTER)))


def _delta(sides: Sequence[Drives], kinds: Sequence[str], *, yes_no: bool) -> float:
    """Over the shifts, each kind freed of its own level, so that slow kinds do not count as slow drives."""
    freed: list[list[np.ndarray]] = [[], []]
    for kind in kinds:
        mine = [[np.asarray(d[kind], dtype=float) for d in side if len(d.get(kind, ()))] for side in sides]
        level = 0.0 if yes_no else np.mean([np.concatenate(side).mean() for side in mine if side])
        for side, values in zip(freed, mine, strict=True):
            side.extend(v - level for v in values)
    return find_cliffs_delta(*(np.concatenate(side) for side in freed))


def _say_method(estimate: Estimate, *, yes_no: bool, headline: bool) -> Told:
    what, how = _say_figure(yes_no=yes_no, headline=headline), _say_spread(estimate, headline=headline)
    if not yes_no:
        return tell("method.plain", f"{what}; {how}", what=what, how=how)
    counts = "never narrower than Newcombe's interval, p never below Fisher's"
    return tell("method.counted", f"{what}; {how}; {counts}", what=what, how=how)


def _say_figure(*, yes_no: bool, headline: bool) -> Told:
    figure = "drive shares" if yes_no else "drive medians"
    key = f"method.{'fit' if headline else 'means'}_of_{'shares' if yes_no else 'medians'}"
    return tell(
        key, f"two-way fit of {figure} on drive and kind" if headline else f"difference of the means of {figure}"
    )


def _say_spread(estimate: Estimate, *, headline: bool) -> Told:
    if estimate.rests_on == SHIFTS:
        return tell("method.shifts_alone", "spread of the shifts alone, as how drives differ is not known")
    if estimate.rests_on == DAYS_KNOWN:
        df = estimate.history_df
        said = f"Student's t over drives, their spread from these and from repeat drives ({df} more df)"
        return tell("method.with_repeats", said, df=df)
    if estimate.rests_on == DAYS_OF_OTHERS:
        df = estimate.history_df
        said = f"Student's t over drives, their spread from these and from repeat drives of other cars ({df} more df)"
        return tell("method.with_others", said, df=df)
    if headline:
        return tell("method.student", "Student's t over drives")
    return tell("method.welch", "Welch's t over drives")
