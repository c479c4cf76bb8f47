"""What a shop's setup can show, from drives with nothing changed."""

from collections.abc import Mapping, Sequence
from itertools import combinations
from math import ceil, sqrt

import numpy as np

from shiftlog.compare.cells import Cells, gather_cells
from shiftlog.compare.drives import find_margins
from shiftlog.compare.estimate import find_rounding, find_t
from shiftlog.compare.evidence import Drives
from shiftlog.compare.gauge import MOST, find_unsteady, study_ranges, study_variance
from shiftlog.compare.headline import fit_levels
from shiftlog.compare.kinds import under_way
from shiftlog.compare.names import name_drives
from shiftlog.compare.pairing import SHARES, compared_measures
from shiftlog.compare.places import find_unlike
from shiftlog.compare.repeat_plan import cell_of, count_cells, find_missing
from shiftlog.compare.repeat_tests import find_least, gather_repeats
from shiftlog.compare.same_drive import shared_log
from shiftlog.compare.sample import Sample, take_sample
from shiftlog.errors import CompareError
from shiftlog.measure.catalogue import MEASURES, Measure
from shiftlog.model.repeatability import GaugeRow, Repeatability, SetupWorth
from shiftlog.model.result import DriveResult

A_SIDE = 3
# Quantile of a two-sided interval of 95 %.
SURE = 0.975

Cell = tuple[str, str]
"""Stage and driver."""


def measure_setup(drives: Sequence[DriveResult], *, limits: Mapping[str, object] | None = None) -> SetupWorth:
    """Repeatability and gauge study of every measure. Drives of one stage and driver are repeats of one another.

    limits : ``[limits]`` of the car's profile, of which the margins count
    CompareError where there are fewer than two drives, of more than one car, or where one is given twice.
    """
    _check(drives)
    names = name_drives(drives)
    repeatability, gauge, margins = [], [], find_margins(limits or {})
    for measure in compared_measures():
        unlike = find_unlike(measure, drives, drives)
        samples = [take_sample(r, measure, drive=n, unlike=u) for r, n, u in zip(drives, names, unlike, strict=True)]
        if any(s.values for s in samples):
            cells = _group(drives, samples)
            repeatability.append(_repeat(measure, cells, margins[measure.key]))
            gauge.append(_gauge(measure, cells, margins[measure.key]))
    repeatability = _with_tests(repeatability, drives, margins)
    missing = find_missing(count_cells(drives))
    return SetupWorth(drives=names, repeatability=tuple(repeatability), gauge=tuple(gauge), missing=missing)


def _with_tests(
    rows: Sequence[Repeatability], drives: Sequence[DriveResult], margins: Mapping[str, float | None]
) -> list[Repeatability]:
    """Rows of guided tests as well; of a figure that both drives and a test give, the test's counts."""
    cells: dict[Cell, list[DriveResult]] = {}
    for result in drives:
        cells.setdefault(cell_of(result), []).append(result)
    tested = [_repeat_test(measure, [*cells.values()], margins[measure.key]) for measure in MEASURES.values()]
    told = {row.measure: row for row in tested if row is not None}
    kept = [told.pop(row.measure) if row.measure in told and told[row.measure].df else row for row in rows]
    return [*kept, *(row for key, row in told.items() if key not in {r.measure for r in kept})]


def _repeat_test(
    measure: Measure, cells: Sequence[Sequence[DriveResult]], margin: float | None
) -> Repeatability | None:  # fmt: skip
    groups = gather_repeats(measure, cells) if measure.test else []
    if not groups:
        return None
    least = find_least(groups)
    levels = [np.array([one.value for one in group]) for group in groups]
    count = sum(map(len, groups))
    return say_repeats(
        measure, levels, drives=count, shifts=count, shift_sd=sqrt(least) or None, least=least, margin=margin,
        shared="have this test",
    )  # fmt: skip


def _check(drives: Sequence[DriveResult]) -> None:
    if len(drives) < 2:
        raise CompareError("repeatability needs two drives or more with nothing changed between them")
    cars = sorted({r.car for r in drives})
    if len(cars) > 1:
        raise CompareError(f"these drives are of different cars ({', '.join(cars)}); give drives of one car")
    for one, other in combinations(drives, 2):
        if log := shared_log(one, other):
            named = one.head.id if one.head.id == other.head.id else f"{one.head.id}, as {other.head.id},"
            raise CompareError(f"drive {named} is given twice (log {log}); name it once")


def _group(drives: Sequence[DriveResult], samples: Sequence[Sample]) -> dict[Cell, list[Sample]]:
    cells: dict[Cell, list[Sample]] = {}
    for result, sample in zip(drives, samples, strict=True):
        if sample.values:
            cells.setdefault(cell_of(result), []).append(sample)
    return cells


def _repeat(measure: Measure, cells: Mapping[Cell, Sequence[Sample]], margin: float | None) -> Repeatability:
    yes_no = measure.key in SHARES
    groups = [[s.values for s in group] for group in cells.values()]
    tables = [_table(group, yes_no) for group in groups if len(group) > 1]
    fits = [fit for table in tables if table is not None and (fit := fit_levels(table)) is not None]
    drives = [d for group in groups for d in group]
    noise = gather_cells([drives], sorted({k for d in drives for k in d}), yes_no=yes_no).noise
    shaken = np.mean([float(np.mean(np.diag(fit.shaking))) for fit in fits]) if fits else 0.0
    return say_repeats(
        measure, [fit.level for fit in fits], drives=len(drives), margin=margin,
        shifts=sum(len(v) for d in drives for v in d.values()), shift_sd=None if noise is None else sqrt(noise),
        # Yes and no tell how sure they can be by their counts.
        least=0.0 if yes_no else (noise or 0.0) * float(shaken),
    )  # fmt: skip


def say_repeats(
    measure: Measure, levels: Sequence[np.ndarray], *, drives: int, shifts: int, shift_sd: float | None,
    least: float, margin: float | None, shared: str = "share a kind of shift",
) -> Repeatability:  # fmt: skip
    """What groups of repeat drives tell of one measure.

    levels : of each group the drives' figures; least : variance of one drive's figure by what it rests on alone, which
    drives that agree by chance do not undo; shared : what two drives do that tell anything
    """
    df = sum(level.size - 1 for level in levels)
    sd = sqrt(sum(float(np.sum((v - v.mean()) ** 2)) for v in levels) / df) if df else None
    if sd is not None and sd**2 <= find_rounding(*(float(x) for level in levels for x in level)):
        sd = 0.0
    counts = max(sd, sqrt(least)) if sd else None
    return Repeatability(
        measure=measure.key, unit=measure.unit, drives=drives, shifts=shifts, within_sd=sd, shift_sd=shift_sd,
        smallest_change=find_t(df, SURE) * counts * sqrt(2 / A_SIDE) if counts else None, a_side=A_SIDE, df=df,
        why=_why_no_change(df, sd, shared), margin=margin, drives_needed=_count_drives(df, counts, margin),
    )  # fmt: skip


def _table(group: Drives, yes_no: bool) -> Cells | None:
    """Repeats of one setup and driver by the kinds of shift they share, None where they share none."""
    shared = _shared_kinds(group)
    return gather_cells([group], shared, yes_no=yes_no) if shared else None


def _why_no_change(df: int, sd: float | None, shared: str) -> str | None:
    if not df:
        return f"no two drives of one stage and driver {shared}"
    return None if sd else "these drives did not differ at all; how much others would is not known from them"


def _count_drives(df: int, sd: float | None, margin: float | None) -> int | None:
    """Drives a side whose smallest change is the margin, shifts and drives as they were here."""
    return max(1, ceil(2 * (find_t(df, SURE) * sd / margin) ** 2)) if sd and margin else None


def _shared_kinds(drives: Drives) -> tuple[str, ...]:
    """Kinds that every drive has; a figure over other kinds would differ by the kinds alone."""
    kinds = [{k for k, v in d.items() if len(v)} for d in drives]
    return tuple(sorted(under_way(set.intersection(*kinds)))) if kinds else ()


def _gauge(measure: Measure, cells: Mapping[Cell, Sequence[Sample]], margin: float | None) -> GaugeRow:
    """The largest full table of setups by drivers, each cell cut to as many repeats as the smallest has."""
    setups, drivers = (tuple(dict.fromkeys(cell[i] for cell in cells)) for i in (0, 1))
    head = {"measure": measure.key, "unit": measure.unit, "setups": setups, "drivers": drivers, "margin": margin}
    repeats = min((len(cells.get((s, d), ())) for s in setups for d in drivers), default=0)
    kinds = _shared_kinds([s.values for group in cells.values() for s in group])
    why = _why_no_study(setups, drivers, repeats, kinds)
    if why is not None:
        return GaugeRow(**head, repeats=repeats, why=why)
    yes_no = measure.key in SHARES
    values = np.array([[_levels(cells[s, d][:repeats], kinds, yes_no) for d in drivers] for s in setups])
    unsteady = tuple((setups[i], drivers[j]) for i, j in find_unsteady(values))
    return GaugeRow(
        **head, repeats=repeats, average_range=study_ranges(values), anova=study_variance(values), unsteady=unsteady
    )


def _why_no_study(setups: Sequence[str], drivers: Sequence[str], repeats: int, kinds: Sequence[str]) -> str | None:
    if len(setups) < 2 or len(drivers) < 2:
        return f"needs two setups and two drivers or more; here are {len(setups)} and {len(drivers)} (stage and driver)"
    if max(len(setups), len(drivers), repeats) > MOST:
        return f"takes {MOST} setups, drivers and repeats at the most"
    if repeats < 2:
        return "needs two drives or more of every driver in every setup"
    return None if kinds else "no kind of shift is in all of these drives"


def _levels(group: Sequence[Sample], kinds: Sequence[str], yes_no: bool) -> np.ndarray:
    return gather_cells([[s.values for s in group]], kinds, yes_no=yes_no).figures.mean(axis=1)
