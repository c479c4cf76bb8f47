"""Which kind of shift stands out, measure by measure: medians, and how far each lies from the other kinds."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from scipy.stats import norm

from shiftlog.findings.chance import more_often
from shiftlog.measure.catalogue import MEASURES
from shiftlog.model.shift import Shift
from shiftlog.signal.robust import robust_sigma

COLUMNS = (
    "shift_time_s", "baulk_time_s", "knock_peak_mps2", "grind", "grind_level_db", "drive_gap_s", "jerk_p2p_mps3",
    "shuffle_amplitude_mps2", "vdv_mps175",
)  # fmt: skip
"""Figures of the car rather than of the road or the driver's choice of speed; those a drive lacks are left out."""
SHARES = ("grind",)
"""Yes or no: a kind's share is a count of few, and is tested as one."""
LEAST_SHIFTS = 3
"""Fewer shifts of a kind have no median to speak of."""
LEAST_KINDS = 4
"""Median and spread of fewer kinds say nothing of which is the odd one."""
ODD = 3.5
"""Robust spreads from the median beyond which a value is odd (Iglewicz and Hoaglin, 1993; from memory)."""
BY_CHANCE = 0.05
"""Of drives in which all kinds of one direction grind alike, so many at most have a share marked: corrected for both
ways of every kind that is judged (Bonferroni)."""
MEDIAN_OVER_MEAN = 1.2533
"""√(π/2): standard error of a median over that of a mean, for a normal distribution."""


@dataclass(frozen=True, eq=False, kw_only=True)
class Cell:
    """One kind of shift and one measure.

    value : median, or the share of yes; None where no shift has the figure; n : shifts that have it
    spreads : signed distance from the median of all kinds of that direction, in robust spreads; for a share from that
    of the other kinds together, in standard deviations of as rare a chance; None where nothing tells
    error : standard error of ``value``, or None; odd_from : so many spreads make it odd
    """

    value: float | None
    n: int
    error: float | None = None
    spreads: float | None = None
    odd_from: float = ODD

    @property
    def odd(self) -> bool:
        """Whether it stands out."""
        return self.spreads is not None and abs(self.spreads) >= self.odd_from


@dataclass(frozen=True, eq=False, kw_only=True)
class GearGrid:
    """kinds : (from, to) gears, upshifts first; measures : keys; cells : by (kind, measure)"""

    kinds: tuple[tuple[str, str], ...]
    measures: tuple[str, ...]
    cells: dict[tuple[tuple[str, str], str], Cell]


def make_gear_grid(shifts: Sequence[Shift], *, columns: Sequence[str] = COLUMNS) -> GearGrid:
    """The grid of a drive's shifts under way. Upshifts are held against upshifts, downshifts against downshifts."""
    groups: dict[tuple[str, str], list[Shift]] = {}
    for shift in filter(_counts, shifts):
        groups.setdefault((shift.from_gear, shift.to_gear), []).append(shift)
    kinds = tuple(sorted(groups, key=_order))
    cells = {(kind, key): summarise(groups[kind], key) for kind in kinds for key in columns}
    measures = tuple(key for key in columns if any(cells[kind, key].value is not None for kind in kinds))
    for key in measures:
        for upwards in (True, False):
            some = [kind for kind in kinds if goes_up(kind) == upwards]
            judged = _judge([cells[kind, key] for kind in some], key)
            cells |= {(kind, key): cell for kind, cell in zip(some, judged, strict=True)}
    return GearGrid(kinds=kinds, measures=measures, cells=cells)


def _judge(cells: Sequence[Cell], key: str) -> list[Cell]:
    """Cells of one measure and direction with their distances."""
    if key not in SHARES:
        spreads = distances(cells, margin=MEASURES[key].margin or 0.0)
        return [replace(cell, spreads=one) for cell, one in zip(cells, spreads, strict=True)]
    spreads = count_distances(cells)
    judged = sum(one is not None for one in spreads)
    odd_from = float(norm.isf(BY_CHANCE / (2 * max(judged, 1))))
    return [replace(cell, spreads=one, odd_from=odd_from) for cell, one in zip(cells, spreads, strict=True)]


def goes_up(kind: tuple[str, str]) -> bool:
    """Whether a kind is an upshift."""
    return int(kind[1]) > int(kind[0])


def _counts(shift: Shift) -> bool:
    """Kinds with ways and habits of their own stay out: paused, standing, through several gears, to or from R and N."""
    gears = shift.from_gear, shift.to_gear
    forward = all(gear is not None and gear.isdigit() for gear in gears) and gears[0] != gears[1]
    return forward and not (shift.paused or shift.standing or shift.via)


def _order(kind: tuple[str, str]) -> tuple[bool, int, int]:
    return not goes_up(kind), int(kind[0]), int(kind[1])


def summarise(shifts: Sequence[Shift], key: str) -> Cell:
    """One cell without its distance; a figure that is yes or no becomes the share of yes."""
    readings = [r for s in shifts if (r := s.readings.get(key)) is not None and r.value is not None]
    n = len(readings)
    if not n:
        return Cell(value=None, n=0)
    values = np.array([float(r.value) for r in readings])
    if isinstance(readings[0].value, bool | np.bool_):
        yes = float(values.sum())
        # Standard deviation of the share's distribution with a flat prior: never zero, however few the shifts.
        error = np.sqrt((yes + 1) * (n - yes + 1) / ((n + 2) ** 2 * (n + 3)))
        return Cell(value=yes / n, n=n, error=float(error))
    own = [r.uncertainty for r in readings if r.uncertainty is not None]
    scatter = float(robust_sigma(values)) if n >= LEAST_SHIFTS else 0.0
    error = MEDIAN_OVER_MEAN * max(scatter, float(np.median(own)) if own else 0.0) / np.sqrt(n)
    return Cell(value=float(np.median(values)), n=n, error=float(error) or None)


def distances(cells: Sequence[Cell], *, margin: float) -> list[float | None]:
    """Signed distance of each cell from the median of all, in robust spreads (median, MAD); None where none tells.

    The spread is never taken smaller than ``margin``, below which a difference does not matter, nor than the standard
    error that the cells usually have: gears that happen to agree make no other gear odd.
    """
    told = [cell for cell in cells if cell.value is not None and cell.n >= LEAST_SHIFTS]
    if len(told) < LEAST_KINDS:
        return [None] * len(cells)
    values = np.array([cell.value for cell in told])
    errors = [cell.error for cell in told if cell.error is not None]
    usual = float(np.median(errors)) if errors else 0.0
    spread = max(float(robust_sigma(values)), margin, usual)
    if spread <= 0:
        return [None] * len(cells)
    centre = float(np.median(values))
    return [
        (cell.value - centre) / max(spread, cell.error or 0.0) if any(cell is one for one in told) else None
        for cell in cells
    ]


def count_distances(cells: Sequence[Cell]) -> list[float | None]:
    """How rare each share would be by chance among all kinds together, as signed standard deviations.

    Fisher's exact test of one kind's count against the others' together, each way; None where either has too few.
    """
    whole_n = sum(cell.n for cell in cells)
    whole_yes = sum(_yes(cell) for cell in cells)
    return [
        _count_distance(_yes(cell), cell.n, whole_yes - _yes(cell), whole_n - cell.n)
        if min(cell.n, whole_n - cell.n) >= LEAST_SHIFTS
        else None
        for cell in cells
    ]


def _yes(cell: Cell) -> int:
    return round((cell.value or 0.0) * cell.n)


def _count_distance(yes: int, n: int, others_yes: int, others_n: int) -> float:
    more, _ = more_often(yes, n, others_yes, others_n)
    fewer, _ = more_often(n - yes, n, others_n - others_yes, others_n)
    rare = float(norm.isf(min(more, fewer, 0.5)))
    return rare if more <= fewer else -rare
