"""What a report holds, before it is put into words: drives, counts, comparison, and what was not measured."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from shiftlog.compare.drives import compare_drives
from shiftlog.compare.repeats import find_repeats
from shiftlog.measure.synchro import COLD_C
from shiftlog.model.comparison import Comparison, Row
from shiftlog.model.job import JobVersion
from shiftlog.model.result import DriveResult
from shiftlog.report.counts import Count, count_asked, find_counts, is_of

SHOWN = (
    "refused_share", "wrong_plane_share", "shift_time_s", "baulk_time_s", "drive_gap_s", "knock_peak_mps2", "grind",
    "jerk_p2p_mps3", "vdv_mps175",
)  # fmt: skip
"""Figures a client is told of, or is told that they are missing."""
DETAIL = ("neutral_time_s", "knock_energy_m2s3", "shuffle_amplitude_mps2")
"""Say again what another figure says; the engineer's table has them, and a ``worse`` among them is told."""
OF_CAR = ("refused_share", "grind_share", "baulk_time_s")
"""What the car does in a kind of shift that the complaint names is told whatever the verdict."""
PER_DRIVE = {"refused_share", "wrong_plane_share"}
ALL = "all"
FIRM = ("better", "worse", "same")


@dataclass(frozen=True, eq=False, kw_only=True)
class DriveUsed:
    """A drive of a report. id : in the workshop, or None where it was given as a folder or a file"""

    id: str | None
    result: DriveResult

    @property
    def cold(self) -> bool:
        """Driven after a night's stand, or begun with a gearbox below the cold limit."""
        head = self.result.head
        return bool(head.cold) or (head.gearbox_temp_c is not None and head.gearbox_temp_c < COLD_C)


@dataclass(frozen=True, eq=False, kw_only=True)
class Missing:
    """A figure that was not measured. side : the only side it was measured on, or None; why : in the commonest words"""

    measure: str
    side: str | None
    why: str | None


@dataclass(frozen=True, eq=False, kw_only=True)
class Content:
    """Everything a report says, as figures.

    cold_lacks : for a complaint about the cold gearbox, the sides without a cold drive; then nothing answers it
    history : repeat drives that the comparison leans on; limits : of the car's profile
    asked : how many of the counts' events the complaint is about
    left_aside : names of drives that were not cold, for such a complaint
    """

    car: str
    version: JobVersion | None
    before: tuple[DriveUsed, ...]
    after: tuple[DriveUsed, ...]
    counts: tuple[Count, ...]
    comparison: Comparison | None
    missing: tuple[Missing, ...]
    cold_lacks: tuple[str, ...] = ()
    left_aside: tuple[str, ...] = ()
    asked: int = 0
    history: tuple[DriveUsed, ...] = ()
    limits: Mapping[str, object] = field(default_factory=dict)

    @property
    def drives(self) -> tuple[tuple[str, DriveUsed], ...]:
        """(side, drive) of all."""
        return tuple((side, d) for side in ("before", "after") for d in getattr(self, side))

    @property
    def all_drives(self) -> tuple[tuple[str, DriveUsed], ...]:
        """(side, drive) of all, those of ``history`` among them."""
        return (*self.drives, *(("history", d) for d in self.history))

    @property
    def headline(self) -> tuple[Row, ...]:
        """Rows over all kinds of shift, and before them those of the kinds the complaint names."""
        rows = self.comparison.rows if self.comparison else ()
        named = self.version.job.shifts if self.version else ()
        rows = [r for r in rows if r.measure not in DETAIL or r.verdict == "worse"]
        telling = [r for r in rows if r.group in named and (r.measure in OF_CAR or r.verdict in FIRM)]
        return tuple(r for r in rows if r.group == ALL or r in telling)


def make_content(
    before: Sequence[DriveUsed], after: Sequence[DriveUsed], version: JobVersion | None = None, *,
    history: Sequence[DriveUsed] = (), limits: Mapping[str, object] | None = None,
) -> Content:  # fmt: skip
    """Count and compare. CompareError where the drives cannot be compared.

    history : other drives of this workshop, of which repeats tell how much drives differ with nothing changed
    limits : what the car's profile accepts, of which the margins count
    A complaint about the cold gearbox is answered by cold drives alone, where both sides have some.
    """
    asks_cold = version is not None and version.job.temperature == "cold"
    sides = {"before": tuple(before), "after": tuple(after)}
    cold = {side: tuple(d for d in drives if d.cold) for side, drives in sides.items()}
    lacks = tuple(side for side, drives in cold.items() if not drives) if asks_cold else ()
    used = cold if asks_cold and not lacks else sides
    aside = tuple(d.result.head.id for side in sides for d in sides[side] if d not in used[side])
    results = {side: [d.result for d in drives] for side, drives in used.items()}
    first = next(iter([*before, *after]))
    repeats = _repeats(history, [*results["before"], *results["after"]])
    past = [d.result for d in repeats]
    return Content(
        car=first.result.car, version=version, before=used["before"], after=used["after"],
        counts=find_counts(results["before"], results["after"], version.job if version else None),
        comparison=compare_drives(results["before"], results["after"], history=past, limits=limits)
        if all(results.values()) else None,
        missing=_find_missing(results["before"], results["after"]), cold_lacks=lacks, left_aside=aside,
        history=repeats if all(results.values()) else (), limits=dict(limits or {}),
        asked=count_asked(version.job) if version else 0,
    )  # fmt: skip


def _repeats(history: Sequence[DriveUsed], compared: Sequence[DriveResult]) -> tuple[DriveUsed, ...]:
    """Those drives of the same car that repeat each other, in their order."""
    same = [d for d in history if d.result.car == compared[0].car] if compared else []
    kept = {id(r) for group in find_repeats([d.result for d in same], without=compared) for r in group}
    return tuple(d for d in same if id(d.result) in kept)


def _find_missing(before: Sequence[DriveResult], after: Sequence[DriveResult]) -> tuple[Missing, ...]:
    missing = []
    for measure in SHOWN:
        here = {side: any(_has(r, measure) for r in drives) for side, drives in (("before", before), ("after", after))}
        sides = [side for side, found in here.items() if found]
        if len(sides) == 2 or (sides and not (before and after)):
            continue
        only = sides[0] if sides else None
        missing.append(Missing(measure=measure, side=only, why=None if only else _why([*before, *after], measure)))
    return tuple(missing)


def _has(result: DriveResult, measure: str) -> bool:
    if measure == "wrong_plane_share":
        return result.summary.wrong_plane is not None
    if measure == "refused_share":
        return any(s.seen_by == "lever" and not s.standing and is_of(s, ALL) for s in result.shifts)
    return any(s.value(measure) is not None for s in result.shifts)


def _why(results: Sequence[DriveResult], measure: str) -> str | None:
    """The commonest reason."""
    if measure in PER_DRIVE:
        told = [r.summary.unmeasured.get("wrong_plane") or r.gate_why for r in results]
    else:
        told = [s.readings[measure].why for r in results for s in r.shifts if measure in s.readings]
    told = [why for why in told if why]
    return max(told, key=told.count) if told else None
