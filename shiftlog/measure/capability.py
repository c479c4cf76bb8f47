"""What can and cannot be measured from a drive as a whole, with what to fit."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from shiftlog.measure.carry import ABSENT, CLOCK, FAR, judge_recording
from shiftlog.measure.help import find_help
from shiftlog.measure.needs import DURATION, NEEDS, Need
from shiftlog.model.car import Car
from shiftlog.model.drive import Placed
from shiftlog.model.result import RecordingReport, Unable

SURE = 0.9
"""A match or mounting of less confidence than this is told beside whatever rests on it."""

PROFILE, GATE = "profile", "gate"
"""What stands in the way of a whole drive: what the car's profile lacks; that no map of the gate was found."""

_NO_GATE = (
    "the car's profile does not describe the gate",
    "add [gate] to car.toml, or fill it in on the car's profile page",
)
_NO_REDLINE = (
    "the car's profile names no redline", "add redline_rpm to car.toml, or fill it in on the car's profile page",
)  # fmt: skip


@dataclass(frozen=True, eq=False, kw_only=True)
class Able:
    """A family of figures that a drive gives: from which recordings, and what is doubtful about each of them."""

    name: str
    recordings: tuple[str, ...]
    doubt: str | None = None


@dataclass(frozen=True, eq=False, kw_only=True)
class DriveWorth:
    """What a drive's logs are worth: each recording, promising nothing the drive does not give, and the whole."""

    reports: tuple[RecordingReport, ...]
    can: tuple[Able, ...]
    cannot: tuple[Unable, ...]


def report_recording(placed: Placed, drive: Sequence[Placed]) -> RecordingReport:
    """All that is said of one recording of a drive."""
    can, cannot = judge_recording(placed, drive)
    recording = placed.recording
    return RecordingReport(
        name=recording.name, place=recording.place, quality=recording.quality, clock=placed.clock,
        mounting=placed.mounting, can_measure=can, cannot_measure=cannot, ignored=recording.ignored,
        latencies=placed.latencies, file=recording.file, helps=find_help(placed, drive),
    )  # fmt: skip


def judge_drive(drive: Sequence[Placed], *, car: Car | None = None) -> DriveWorth:
    """Families the whole drive gives, and those it does not, each once, with the report of each recording."""
    return judge_reports([report_recording(placed, drive) for placed in drive], car=car)


def judge_reports(
    reports: Sequence[RecordingReport], *, car: Car | None = None, gate_why: str | None = None
) -> DriveWorth:
    """``judge_drive`` from what is kept of the recordings.

    Without ``car`` its gate is taken to be known. gate_why : why no gate map was found where one was looked for
    """
    can: list[Able] = []
    cannot: list[Unable] = []
    denied: dict[str, Unable] = {}
    for need in NEEDS:
        carry = [r for r in reports if need.name in r.can_measure]
        denial = _deny(need, car=car, gate_why=gate_why) if carry else None
        if not carry:
            cannot.append(_unable(need, reports))
        elif denial is not None:
            cannot.append(denial)
            denied[need.name] = denial
        else:
            can.append(Able(name=need.name, recordings=tuple(r.name for r in carry), doubt=_doubt(carry, need)))
    return DriveWorth(
        reports=tuple(_without(r, denied) for r in reports), can=tuple(can), cannot=(*cannot, *_durations(reports))
    )


def _without(report: RecordingReport, denied: dict[str, Unable]) -> RecordingReport:
    """A report in which what the whole drive is denied stands among what it cannot measure."""
    lost = tuple(denied[name] for name in report.can_measure if name in denied)
    can = tuple(name for name in report.can_measure if name not in denied)
    return replace(report, can_measure=can, cannot_measure=(*lost, *report.cannot_measure)) if lost else report


def _durations(reports: Sequence[RecordingReport]) -> list[Unable]:
    """That changes of gear can be found but not timed, where it is so."""
    told = [(r.name, lack) for r in reports for lack in r.cannot_measure if lack.name == DURATION]
    return [replace(lack, why=f"{name}: {lack.why}") for name, lack in told]


def _deny(need: Need, *, car: Car | None, gate_why: str | None) -> Unable | None:
    """What keeps a family away from every recording that could carry it, or None."""
    lacks = _profile_lacks(need, car)
    if lacks is not None:
        why, mend = lacks
        return Unable(name=need.name, kind=PROFILE, why=why, mend=mend)
    return Unable(name=need.name, kind=GATE, why=gate_why) if need.gate and gate_why else None


def _profile_lacks(need: Need, car: Car | None) -> tuple[str, str] | None:
    """What of the car's profile a family needs that is not in it, and what to do about it, or None."""
    if car is None:
        return None
    if need.gate and car.gate is None:
        return _NO_GATE
    return _NO_REDLINE if need.redline and car.redline_rpm is None else None


def _unable(need: Need, reports: Sequence[RecordingReport]) -> Unable:
    """With the reason of the recording that comes nearest, or that nothing in the drive comes near."""
    told = [(r.name, lack) for r in reports for lack in r.cannot_measure if lack.name == need.name]
    near = [(name, lack) for name, lack in told if lack.kind not in FAR]
    if not near:
        return Unable(name=need.name, kind=ABSENT, why=need.lacks, mend=f"fit {need.fit}")
    name, lack = near[0]
    lost = lack.kind == CLOCK
    return replace(lack, why=f"{name} is not placed on the drive's clock" if lost else f"{name}: {lack.why}")


def _doubt(carry: Sequence[RecordingReport], need: Need) -> str | None:
    """What is doubtful about a family; None where one recording carries it beyond doubt."""
    mounted = any(way.mounted for way in need.ways)
    doubts = [_doubts(r, whose="its" if len(carry) == 1 else f"{r.name}: its", mounted=mounted) for r in carry]
    return None if not all(doubts) else "; ".join(dict.fromkeys(text for some in doubts for text in some))


def _doubts(report: RecordingReport, *, whose: str, mounted: bool) -> list[str]:
    said = []
    if report.clock.confidence is not None and report.clock.confidence < SURE:
        said.append(f"{whose} clock is matched with confidence {report.clock.confidence:.2f} only")
    if mounted and report.mounting.confidence is not None and report.mounting.confidence < SURE:
        said.append(f"{whose} axes are known with confidence {report.mounting.confidence:.2f} only")
    return said
