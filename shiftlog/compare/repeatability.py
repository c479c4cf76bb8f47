"""What a shop's setup can show, from drives with nothing changed."""

from collections.abc import Mapping, Sequence
from math import sqrt

import numpy as np

from shiftlog.compare.cells import gather_cells
from shiftlog.compare.estimate import find_t
from shiftlog.compare.evidence import Drives
from shiftlog.compare.gauge import MOST, find_unsteady, study_ranges, study_variance
from shiftlog.compare.headline import fit_levels
from shiftlog.compare.names import name_drives
from shiftlog.compare.pairing import SHARES, compared_measures
from shiftlog.compare.places import find_unlike
from shiftlog.compare.sample import Sample, take_sample
from shiftlog.errors import CompareError
from shiftlog.measure.catalogue import Measure
from shiftlog.model.repeatability import GaugeRow, Repeatability, SetupWorth
from shiftlog.model.result import DriveResult

A_SIDE = 3
UNNAMED = "not named"

Cell = tuple[str, str]
"""Stage and driver."""


def measure_setup(drives: Sequence[DriveResult]) -> SetupWorth:
    """Repeatability and gauge study of every measure. Drives of one stage and driver are repeats of one another.

    CompareError where there are fewer than two drives, of more than one car, or where one is given twice.
    """
    _check(drives)
    names = name_drives(drives)
    repeatability, gauge = [], []
    for measure in compared_measures():
        unlike = find_unlike(measure, drives, drives)
        samples = [take_sample(r, measure, drive=n, unlike=u) for r, n, u in zip(drives, names, unlike, strict=True)]
        if any(s.values for s in samples):
            cells = _group(drives, samples)
            repeatability.append(_repeat(measure, cells))
            gauge.append(_gauge(measure, cells))
    return SetupWorth(drives=names, repeatability=tuple(repeatability), gauge=tuple(gauge))


def _check(drives: Sequence[DriveResult]) -> None:
    if len(drives) < 2:
        raise CompareError("repeatability needs two drives or more with nothing changed between them")
    cars = sorted({r.car for r in drives})
    if len(cars) > 1:
        raise CompareError(f"these drives are of different cars ({', '.join(cars)}); give drives of one car")
    logs = [tuple(sorted(f.sha256 for f in r.inputs)) for r in drives]
    twice = [r.head.id for r, mine in zip(drives, logs, strict=True) if mine and logs.count(mine) > 1]
    if twice:
        raise CompareError(f"drive {twice[0]} is given twice; name it once")


def _group(drives: Sequence[DriveResult], samples: Sequence[Sample]) -> dict[Cell, list[Sample]]:
    cells: dict[Cell, list[Sample]] = {}
    for result, sample in zip(drives, samples, strict=True):
        if sample.values:
            cells.setdefault((result.head.stage or UNNAMED, result.head.driver or UNNAMED), []).append(sample)
    return cells


def _repeat(measure: Measure, cells: Mapping[Cell, Sequence[Sample]]) -> Repeatability:
    yes_no = measure.key in SHARES
    groups = [[s.values for s in group] for group in cells.values()]
    shared = _shared_kinds([d for group in groups for d in group])
    tables = [gather_cells([group], shared, yes_no=yes_no) for group in groups if len(group) > 1] if shared else []
    fits = [fit.level for table in tables if (fit := fit_levels(table)) is not None]
    df = sum(level.size - 1 for level in fits)
    sd = sqrt(sum(float(np.sum((v - v.mean()) ** 2)) for v in fits) / df) if df else None
    whole = gather_cells([[d for group in groups for d in group]], shared, yes_no=yes_no) if shared else None
    return Repeatability(
        measure=measure.key, unit=measure.unit, drives=sum(len(g) for g in groups),
        shifts=sum(len(v) for group in groups for d in group for v in d.values()), within_sd=sd,
        shift_sd=None if whole is None or whole.noise is None else sqrt(whole.noise),
        smallest_change=find_t(df, 0.975) * sd * sqrt(2 / A_SIDE) if sd is not None else None, a_side=A_SIDE, df=df,
        why=None if df else "no two drives of one stage and driver share a kind of shift",
    )  # fmt: skip


def _shared_kinds(drives: Drives) -> tuple[str, ...]:
    """Kinds that every drive has; a figure over other kinds would differ by the kinds alone."""
    kinds = [{k for k, v in d.items() if len(v)} for d in drives]
    return tuple(sorted(set.intersection(*kinds))) if kinds else ()


def _gauge(measure: Measure, cells: Mapping[Cell, Sequence[Sample]]) -> GaugeRow:
    """The largest full table of setups by drivers, each cell cut to as many repeats as the smallest has."""
    setups, drivers = (tuple(dict.fromkeys(cell[i] for cell in cells)) for i in (0, 1))
    head = {"measure": measure.key, "unit": measure.unit, "setups": setups, "drivers": drivers}
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
