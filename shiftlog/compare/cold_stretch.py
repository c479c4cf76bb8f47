"""The cold stretch of a drive: what alone answers a complaint about the cold gearbox.

By the gearbox's temperature where it was logged. Else by the time since the log began, for a drive that began cold:
after a night's stand, or with a temperature read off below the limit.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import inf

from shiftlog.measure.synchro import COLD_C
from shiftlog.model.result import DriveResult, Summary, SynchroRow
from shiftlog.model.told import Told, tell

COLD_LASTS_S = 600.0
"""Where no temperature is logged, a cold drive's first ten minutes count as cold (common practice, no source)."""
TEMPERATURE, MINUTES = "temperature", "minutes"
BEFORE, AFTER = "before", "after"
_WHOLE = "is of the whole drive, of which only the cold stretch counts"


@dataclass(frozen=True, eq=False, kw_only=True)
class ColdStretch:
    """From the start of a drive to ``end_s`` [drive time], infinite where it never got warm.

    by : what tells: ``temperature`` as logged, or ``minutes`` since the log began
    """

    end_s: float
    by: str


def find_cold_stretch(result: DriveResult) -> ColdStretch | None:
    """The stretch in which the gearbox was cold; None where there is none, or nothing tells."""
    logged = [(s.start_s, v) for s in result.shifts if (v := s.value("gearbox_temp_c")) is not None]
    if logged and not _is_typed(result, [v for _, v in logged]):
        warm = [start_s for start_s, v in logged if v >= COLD_C]
        end_s = min(warm, default=inf)
        return ColdStretch(end_s=end_s, by=TEMPERATURE) if any(start_s < end_s for start_s, _ in logged) else None
    return ColdStretch(end_s=COLD_LASTS_S, by=MINUTES) if _began_cold(result) else None


def _is_typed(result: DriveResult, values: Sequence[float]) -> bool:
    """One reading for a whole drive was read off before it: nothing says how long it held."""
    typed = result.head.gearbox_temp_c
    return typed is not None and all(value == typed for value in values)


def _began_cold(result: DriveResult) -> bool:
    head = result.head
    if head.gearbox_temp_c is not None:
        return head.gearbox_temp_c < COLD_C
    return bool(head.cold)


def keep_cold(result: DriveResult) -> DriveResult | None:
    """What a drive holds of its cold stretch; None where there is none, or nothing was done in it."""
    stretch = find_cold_stretch(result)
    if stretch is None:
        return None
    end_s = stretch.end_s
    shifts, rests, tests, guided = (
        tuple(one for one in some if one.start_s < end_s)
        for some in (result.shifts, result.rests, result.tests, result.guided)
    )
    did = bool(result.shifts or result.rests or result.tests)
    if did and not (shifts or rests or tests):
        return None
    whole = len(shifts) == len(result.shifts) and len(rests) == len(result.rests)
    kept = {one.number for one in shifts}
    return replace(
        result, head=replace(result.head, cold=True), shifts=shifts, rests=rests, tests=tests, guided=guided,
        summary=result.summary if whole else _cold_summary(result.summary, kept, rests=bool(rests)),
    )  # fmt: skip


def _cold_summary(summary: Summary, kept: set[int], *, rests: bool) -> Summary:
    """Figures of the whole drive are of its warm part as well; only those of cold shifts alone stay."""
    lost = {"hysteresis_mm": _WHOLE, "grinds": _WHOLE, "crash_throughs": _WHOLE}
    return replace(
        summary, hysteresis_mm=None, grinds=None, crash_throughs=None, unmeasured={**summary.unmeasured, **lost},
        wrong_plane=summary.wrong_plane if rests else None,
        synchro=tuple(row for row in summary.synchro if _is_cold_row(row, kept)),
    )  # fmt: skip


def _is_cold_row(row: SynchroRow, kept: set[int]) -> bool:
    return bool(row.shifts) and set(row.shifts) <= kept


@dataclass(frozen=True, eq=False, kw_only=True)
class ColdSides:
    """Drives before and after for a complaint about the cold gearbox.

    before, after : their cold stretches where both sides have some, else the drives as they are
    lacks : the sides without one; by : what told cold from warm, ``temperature`` first
    aside : names of drives left out
    """

    before: tuple[DriveResult, ...]
    after: tuple[DriveResult, ...]
    lacks: tuple[str, ...]
    by: tuple[str, ...]
    aside: tuple[str, ...]


def find_cold_sides(before: Sequence[DriveResult], after: Sequence[DriveResult]) -> ColdSides:
    """Cold stretches against cold stretches; everything as it is where a side that was driven has none."""
    given = {BEFORE: tuple(before), AFTER: tuple(after)}
    cold = {side: [keep_cold(result) for result in results] for side, results in given.items()}
    lacks = tuple(side for side, some in cold.items() if not any(some))
    if lacks:
        return ColdSides(**given, lacks=lacks, by=(), aside=())
    kept = {side: tuple(one for one in some if one is not None) for side, some in cold.items()}
    told = {find_cold_stretch(one).by for some in kept.values() for one in some}
    aside = [r.head.id for side in given for r, c in zip(given[side], cold[side], strict=True) if c is None]
    return ColdSides(**kept, lacks=(), by=tuple(by for by in (TEMPERATURE, MINUTES) if by in told), aside=tuple(aside))


def say_lacking(lacks: Sequence[str]) -> Told:
    """Why a complaint about the cold gearbox is not answered."""
    about = "the complaint is about the cold gearbox, and nothing was driven cold"
    if len(lacks) == 2:
        return tell("cold.lacks_both", f"{about}, neither before the work nor after it")
    if lacks[0] == BEFORE:
        return tell("cold.lacks_before", f"{about} before the work")
    return tell("cold.lacks_after", f"{about} after the work")


def say_wanted() -> Told:
    """What a drive has to be to count as cold."""
    minutes = COLD_LASTS_S / 60
    text = (
        f"drive with the gearbox below {COLD_C:.0f} °C: log its temperature, or start after a night's stand "
        f"(cold = true in drive.toml), of which the first {minutes:.0f} minutes count"
    )
    return tell("cold.wanted", text, limit=COLD_C, minutes=minutes)


def say_cold(sides: ColdSides) -> tuple[Told, ...]:
    """Which shifts count for such a complaint, and what told them apart; or which side has none."""
    if sides.lacks:
        return (say_lacking(sides.lacks),)
    minutes = COLD_LASTS_S / 60
    words = {
        TEMPERATURE: tell(
            "cold.by_temperature",
            f"only what was done with the gearbox below {COLD_C:.0f} °C counts, by its logged temperature",
            limit=COLD_C,
        ),
        MINUTES: tell(
            "cold.by_minutes",
            f"only the first {minutes:.0f} minutes of drives that began cold count, where no gearbox temperature was "
            "logged: time since the log began stands for cold",
            minutes=minutes,
        ),
    }
    said = [words[by] for by in sides.by]
    if sides.aside:
        names = ", ".join(sides.aside)
        said.append(tell("cold.aside", f"without a cold stretch and so left aside: {names}", names=names))
    return tuple(said)
