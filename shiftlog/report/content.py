"""What a report holds, before it is put into words: drives, counts, comparison, and what was not measured."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from shiftlog.compare.cold_stretch import ColdSides, find_cold_sides, keep_cold, say_cold
from shiftlog.compare.drives import compare_drives, tell_rows
from shiftlog.compare.grown import find_grown
from shiftlog.compare.names import name_drives
from shiftlog.compare.repeats import find_repeats
from shiftlog.model.comparison import Comparison, Row
from shiftlog.model.job import JobVersion
from shiftlog.model.result import DriveResult
from shiftlog.report.cold_words import Hint, suggest_temperature
from shiftlog.report.counts import MEASURE_OF, Count, asked_events, find_counts, is_of
from shiftlog.report.lacking import why_missing

SHOWN = (
    "refused_share", "wrong_plane_share", "shift_time_s", "baulk_time_s", "drive_gap_s", "knock_peak_mps2", "grind",
    "jerk_p2p_mps3", "vdv_mps175",
)  # fmt: skip
"""Figures a client is told of, or is told that they are missing."""
DETAIL = ("neutral_time_s", "knock_energy_m2s3", "shuffle_amplitude_mps2")
"""Say again what another figure says; the engineer's table has them, and a ``worse`` among them is told."""
OF_CAR = ("refused_share", "grind_share", "baulk_time_s")
"""What the car does in a kind of shift that the complaint names is told whatever the verdict."""
ALL = "all"
COLD, BOTH = "cold", "both"
FIRM = ("better", "worse", "same")


@dataclass(frozen=True, eq=False, kw_only=True)
class DriveUsed:
    """A drive of a report. id : in the workshop, or None where it was given as a folder or a file"""

    id: str | None
    result: DriveResult


@dataclass(frozen=True, eq=False, kw_only=True)
class Missing:
    """A figure that was not measured. side : the only side it was measured on, or None; why : what stood in the way"""

    measure: str
    side: str | None
    why: str | None


@dataclass(frozen=True, eq=False, kw_only=True)
class Content:
    """Everything a report says, as figures.

    cold_lacks : for a complaint about the cold gearbox, the sides without a cold drive; then nothing answers it
    history : repeat drives that the comparison leans on; limits : of the car's profile
    asked : how many of the counts' events the complaint is about
    cold_said : what counts as cold for such a complaint, and which drives were left aside
    given : the drives of each side, those left aside among them
    later : the drives of the recheck against those after the work (before it, where none are after), on their own
    """

    car: str
    version: JobVersion | None
    before: tuple[DriveUsed, ...]
    after: tuple[DriveUsed, ...]
    counts: tuple[Count, ...]
    comparison: Comparison | None
    missing: tuple[Missing, ...]
    cold_lacks: tuple[str, ...] = ()
    cold_said: tuple[str, ...] = ()
    asked: int = 0
    history: tuple[DriveUsed, ...] = ()
    limits: Mapping[str, object] = field(default_factory=dict)
    given: Mapping[str, tuple[DriveUsed, ...]] = field(default_factory=dict)
    later: "Content | None" = None

    @property
    def recheck(self) -> tuple[DriveUsed, ...]:
        """Drives of the recheck that count; ``after`` of ``later``."""
        return self.later.after if self.later else ()

    @property
    def drives(self) -> tuple[tuple[str, DriveUsed], ...]:
        """(side, drive) of all."""
        return tuple((side, d) for side in ("before", "after") for d in getattr(self, side))

    @property
    def cold_hint(self) -> Hint | None:
        """The client's words that may mean the cold gearbox, where nobody has settled when the complaint comes."""
        job = self.version.job if self.version else None
        hint = suggest_temperature(job.complaint) if job and not job.temperature else None
        return hint if hint and hint.temperature in (COLD, BOTH) else None

    @property
    def not_seen(self) -> str:
        """``no`` or ``not_tried`` where the complaint was not reproduced before the work, else an empty text."""
        said = self.version.job.reproduced if self.version else ""
        return said.replace(" ", "_") if said in ("no", "not tried") else ""

    @property
    def all_drives(self) -> tuple[tuple[str, DriveUsed], ...]:
        """(side, drive) of all that were given, those of the recheck and of ``history`` among them."""
        return tuple((side, d) for side, some in {**self.given, "history": self.history}.items() for d in some)

    @property
    def grown(self) -> tuple[Row, ...]:
        """Rows of single kinds of shift in which the car did more ill after, though no claim is made of it."""
        return find_grown(self.comparison.rows) if self.comparison else ()

    @property
    def headline(self) -> tuple[Row, ...]:
        """Rows over all kinds of shift, those of the kinds the complaint names, and those that have ``grown``."""
        rows = self.comparison.rows if self.comparison else ()
        named = self.version.job.shifts if self.version else ()
        rows = [r for r in rows if r.measure not in DETAIL or r.verdict == "worse"]
        telling = [r for r in rows if r.group in named and (r.measure in OF_CAR or r.verdict in FIRM)]
        grown = self.grown
        return tuple(r for r in rows if r.group == ALL or r in telling or r in grown)


def make_content(
    before: Sequence[DriveUsed], after: Sequence[DriveUsed], version: JobVersion | None = None, *,
    recheck: Sequence[DriveUsed] = (), history: Sequence[DriveUsed] = (), limits: Mapping[str, object] | None = None,
) -> Content:  # fmt: skip
    """Count and compare. CompareError where the drives cannot be compared.

    recheck : drives some hundred km later, another occasion: never counted among those after the work
    history : other drives of this workshop, of which repeats tell how much drives differ with nothing changed
    limits : what the car's profile accepts, of which the margins count
    A complaint about the cold gearbox is answered by cold stretches alone, where both sides have some.
    """
    given = [d.result for d in (*before, *after, *recheck)]
    repeats = _repeats(history, given) if before and after or recheck else ()
    content = _compare_sides(before, after, version, history=repeats, limits=limits)
    if not recheck:
        return content
    later = _compare_sides(after or before, recheck, version, history=repeats, limits=limits)
    return replace(content, later=later, given={**content.given, "recheck": tuple(recheck)})


def _compare_sides(before, after, version: JobVersion | None, *, history, limits) -> Content:
    asks_cold = version is not None and version.job.temperature == COLD
    cold = _cold_sides(before, after) if version is not None and version.job.temperature in (COLD, BOTH) else None
    given = {"before": tuple(before), "after": tuple(after)}
    used = _use_cold(**given) if asks_cold and not cold.lacks else given
    results = {side: [d.result for d in drives] for side, drives in used.items()}
    events = asked_events(version.job) if version else []
    comparison = (
        compare_drives(
            results["before"], results["after"], history=[d.result for d in history], limits=limits,
            cold_complaint=asks_cold, asked=[MEASURE_OF[event] for event in events],
        )
        if all(results.values())
        else None
    )  # fmt: skip
    rows = comparison.rows if comparison else tell_rows(results["before"], results["after"])
    names = name_drives(results["before"]), name_drives(results["after"])
    return Content(
        car=next(iter([*before, *after])).result.car, version=version, **used,
        counts=find_counts(rows, names, version.job if version else None), comparison=comparison,
        missing=_find_missing(results["before"], results["after"]), cold_lacks=cold.lacks if cold else (),
        cold_said=say_cold(cold) if asks_cold and not cold.lacks else (),
        history=tuple(history), limits=dict(limits or {}), asked=len(events), given=given,
    )  # fmt: skip


def _cold_sides(before: Sequence[DriveUsed], after: Sequence[DriveUsed]) -> ColdSides:
    return find_cold_sides([d.result for d in before], [d.result for d in after])


def _use_cold(before: Sequence[DriveUsed], after: Sequence[DriveUsed]) -> dict[str, tuple[DriveUsed, ...]]:
    """The drives of both sides that have a cold stretch, with what they hold of it."""
    sides = {"before": before, "after": after}
    cold = {side: [(drive, keep_cold(drive.result)) for drive in drives] for side, drives in sides.items()}
    return {side: tuple(replace(d, result=r) for d, r in some if r is not None) for side, some in cold.items()}


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
        missing.append(
            Missing(measure=measure, side=only, why=None if only else why_missing([*before, *after], measure))
        )
    return tuple(missing)


def _has(result: DriveResult, measure: str) -> bool:
    if measure == "wrong_plane_share":
        return result.summary.wrong_plane is not None
    if measure == "refused_share":
        return any(s.seen_by == "lever" and not s.standing and is_of(s, ALL) for s in result.shifts)
    return any(s.value(measure) is not None for s in result.shifts)
