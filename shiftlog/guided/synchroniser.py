"""The synchroniser test on the road: slopes and crash-through, gear against gear, hot and cold."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from shiftlog.errors import CannotMeasure
from shiftlog.guided.temperature import band_of_words
from shiftlog.measure.scene import Scene
from shiftlog.measure.synchro import CRASH, CRASHES, QUICK_MMPS, SLOPE, direction, is_plain, measure_synchro
from shiftlog.model.car import Car
from shiftlog.model.drive import MarkedTest
from shiftlog.model.guided import PRACTICE, Figure, GuidedResult
from shiftlog.model.result import DriveResult, SynchroRow
from shiftlog.model.shift import Shift
from shiftlog.model.sign import INSIDE

ASKED = ("2-3", "3-2", "3-4", "4-3")
EACH, HANDS = 5, (("deliberate", False), ("quick", True))
STEEPER = 1.5
"""A gear whose whole interval lies this much above every other gear stands out (common practice, no source)."""
ALIKE = (
    "a clutch that drags makes every shift down stand shorter and every shift up longer; do the spin-down test first",
    "cold oil makes every cone slow; compare hot with hot",
    "how far the shaft coasts before the cone grips is not known, and more of it at high speed turns every slope: the "
    "intervals count that, and so are wider than what tells gear from gear or hot from cold",
)


def measure_synchroniser(test: MarkedTest, scene: Scene, result: DriveResult) -> GuidedResult:
    """One row a gear, direction and temperature from the shifts of the span. CannotMeasure without such shifts."""
    if scene.path is None:
        raise CannotMeasure(f"the lever's way through the gate is not known: {result.gate_why or 'no lever sensor'}")
    inside = [s for s in result.shifts if test.start_s <= s.start_s <= test.end_s and is_plain(s) and direction(s)]
    if not inside:
        raise CannotMeasure(
            "no plain shift of the lever under way lies within the marked span; drive 2-3, 3-2, 3-4 and 4-3 at three "
            "engine speeds, five each with a deliberate hand and five quick"
        )
    rows = _rows(inside, scene.car, test.configuration)
    says, points = _say(rows)
    others = [row for other in result.tests if _is_other(other, test) for row in _rows_of(other, result, scene.car)]
    hot_cold = _beside(rows, others)
    return GuidedResult(
        kind=test.kind, start_s=test.start_s, end_s=test.end_s, configuration=test.configuration,
        figures=(*(f for row in rows for f in _figures(row)), *(f for f, _ in hot_cold)),
        says=(*says, *(words for _, words in hot_cold)), points_to=points, doubts=(*_missing(inside), *ALIKE),
    )  # fmt: skip


def _is_other(other: MarkedTest, test: MarkedTest) -> bool:
    return other.kind == test.kind and other is not test and other.start_s < test.start_s


def _rows_of(test: MarkedTest, result: DriveResult, car: Car) -> tuple[SynchroRow, ...]:
    inside = [s for s in result.shifts if test.start_s <= s.start_s <= test.end_s]
    return _rows(inside, car, test.configuration)


def _rows(shifts: Sequence[Shift], car: Car, configuration: str | None) -> tuple[SynchroRow, ...]:
    """As the synchroniser index has them; where no temperature is known, the mark's own word counts."""
    word = band_of_words(configuration)
    rows = measure_synchro(shifts, car)
    return tuple(replace(row, band=word) if word and row.band == "not known" else row for row in rows)


def _of(row: SynchroRow) -> str:
    return f"{row.gear} {row.direction}" + ("" if row.band == "not known" else f" {row.band}")


def _figures(row: SynchroRow) -> tuple[Figure, ...]:
    slope = {"key": SLOPE, "label": "Stand of the lever over difference in speed", "unit": "ms/1,000 rpm"}
    crash = {"key": CRASH, "label": "Quick shifts that crashed through"}
    first = (
        Figure(**slope, of=_of(row), why=row.unmeasured[SLOPE])
        if row.slope_ms_per_krpm is None
        else Figure(
            **slope, of=_of(row), value=row.slope_ms_per_krpm, uncertainty=row.u_ms_per_krpm, interval95=row.interval95
        )
    )
    second = (
        Figure(**crash, of=_of(row), why=row.unmeasured[CRASH])
        if row.crash_through is None
        else Figure(**crash, of=_of(row), share=row.crash_through)
    )
    return first, second


def _say(rows: Sequence[SynchroRow]) -> tuple[tuple[str, ...], tuple[tuple[str, str], ...]]:
    says, points = [], []
    for row in rows:
        if row.crash_through is not None and row.crash_through.low > CRASHES:
            told = f"{_of(row)}: {row.crash_through.k} of {row.crash_through.n} quick shifts crashed through the cone."
            says.append(told)
            points.append((INSIDE, f"{told} The cone grips no more; clutch and oil first ({PRACTICE})"))
        elif _stands_out(row, rows):
            told = f"{_of(row)} stands out: {row.slope_ms_per_krpm:.0f} ms for 1,000 rpm, steeper than every other."
            says.append(told)
            points.append((INSIDE, f"{told} Its cone, or its lever travel ({PRACTICE})"))
    return tuple(says or _say_alike(rows)), tuple(points)


def _say_alike(rows: Sequence[SynchroRow]) -> list[str]:
    """What was measured and does not stand out, and what was not measured well enough to."""
    known = [row for row in rows if _is_sure(row)]
    unknown = ", ".join(_of(row) for row in rows if row not in known)
    if not known:
        return [f"Not known: no slope could be fitted that is more than its uncertainty ({unknown})."]
    told = ", ".join(f"{_of(r)} {r.slope_ms_per_krpm:.0f}" for r in known)
    rest = [f"Not known of {unknown}: see the reasons and intervals."] if unknown else []
    return [f"No gear{' of those measured' if rest else ''} stands out; ms for 1,000 rpm: {told}.", *rest]


def _is_sure(row: SynchroRow) -> bool:
    return row.slope_ms_per_krpm is not None and row.interval95 is not None and row.interval95[0] > 0


def _stands_out(row: SynchroRow, rows: Sequence[SynchroRow]) -> bool:
    others = [r.slope_ms_per_krpm for r in rows if r is not row and r.band == row.band and _is_sure(r)]
    return bool(others and row.interval95 and row.interval95[0] > STEEPER * max(others))


def _beside(rows: Sequence[SynchroRow], before: Sequence[SynchroRow]) -> list[tuple[Figure, str]]:
    """Each row against the same gear and direction of an earlier span in another temperature band."""
    pairs = [
        (a, b)
        for b in rows
        for a in before
        if (a.gear, a.direction) == (b.gear, b.direction) and a.band != b.band
        and a.slope_ms_per_krpm is not None and b.slope_ms_per_krpm is not None
    ]  # fmt: skip
    found = []
    for a, b in pairs:
        change = b.slope_ms_per_krpm - a.slope_ms_per_krpm
        u = float(np.hypot(a.u_ms_per_krpm or 0.0, b.u_ms_per_krpm or 0.0))
        of = f"{b.gear} {b.direction}"
        figure = Figure(
            key="slope_change", label=f"Slope, {b.band} less {a.band}", unit="ms/1,000 rpm", of=of, value=change,
            uncertainty=u,
        )  # fmt: skip
        sure = "" if abs(change) > 2 * u else ", no more than its uncertainty"
        found.append((figure, f"{of}: {change:+.0f} ms for 1,000 rpm, {b.band} against {a.band}{sure}."))
    return found


def _missing(shifts: Sequence[Shift]) -> tuple[str, ...]:
    """Which of the shifts asked for are too few, by hand."""
    short = []
    for name in ASKED:
        some = [s for s in shifts if f"{s.from_gear}-{s.to_gear}" == name]
        speeds = [s.value("approach_speed_mmps") for s in some]
        for word, quick in HANDS:
            count = sum(v is not None and (v >= QUICK_MMPS) == quick for v in speeds)
            if count < EACH:
                short.append(f"{name} {word}: {count}")
    return (f"fewer than {EACH} shifts of {'; '.join(short)}",) if short else ()
