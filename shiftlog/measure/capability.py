"""What can and cannot be measured: from one recording, and from the drive as a whole, with what to fit."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from shiftlog.measure.help import find_help
from shiftlog.measure.needs import (
    BODY_MOTION,
    DURATION,
    FIT_QUICK,
    LEVER_MOTION,
    NEEDS,
    SENSOR_WORDS,
    SLOWEST_ENGINE_S,
    Need,
    Partner,
    Way,
)
from shiftlog.model.car import Car
from shiftlog.model.drive import Placed
from shiftlog.model.recording import LEVER, Recording
from shiftlog.model.result import RecordingReport
from shiftlog.signal.renewal import find_renewals

SURE = 0.9
"""A match or mounting of less confidence than this is told beside whatever rests on it."""

_ABSENT, _ELSEWHERE = "no ", "the recorder sits"
"""How the reasons of a recording begin that comes nowhere near a family; the drive has words of its own for it."""
FAR = (_ABSENT, _ELSEWHERE)

_NO_GATE = "the car's profile does not describe the gate"
_NO_REDLINE = "the car's profile names no redline"
PROFILE_LACKS = (_NO_GATE, _NO_REDLINE)
_MEND_PROFILE = {
    _NO_GATE: "add [gate] to car.toml, or fill it in on the car's profile page",
    _NO_REDLINE: "add redline_rpm to car.toml, or fill it in on the car's profile page",
}
_AXES, _MEND_AXES = "which way its axes point is not known", "declare `mounting` in drive.toml, or drive longer"


@dataclass(frozen=True, eq=False, kw_only=True)
class Able:
    """A family of figures that a drive gives: from which recordings, and what is doubtful about each of them."""

    name: str
    recordings: tuple[str, ...]
    doubt: str | None = None


@dataclass(frozen=True, eq=False, kw_only=True)
class Unable:
    """A family of figures that a drive cannot give.

    why : the reason; mend : what to fit or do about it, as an order, or None where nothing would help
    """

    name: str
    why: str
    mend: str | None


def judge_recording(placed: Placed, drive: Sequence[Placed]) -> tuple[tuple[str, ...], tuple[tuple[str, str], ...]]:
    """Families this recording can carry in its drive, and (family, why not and what to fit) for the rest."""
    can, cannot = [], []
    for need in NEEDS:
        why = _why_not(placed, need, drive)
        if why is None:
            can.append(need.name)
        else:
            cannot.append((need.name, why))
    slow_s = _too_slow_s(drive)
    if slow_s is not None and _engine_wait_s(placed) == slow_s:
        cannot.append((DURATION, f"{_slow_words(slow_s)}; fit {FIT_QUICK}"))
    return tuple(can), tuple(cannot)


def report_recording(placed: Placed, drive: Sequence[Placed]) -> RecordingReport:
    """All that is said of one recording of a drive."""
    can, cannot = judge_recording(placed, drive)
    recording = placed.recording
    return RecordingReport(
        name=recording.name, place=recording.place, quality=recording.quality, clock=placed.clock,
        mounting=placed.mounting, can_measure=can, cannot_measure=cannot, ignored=recording.ignored,
        latencies=placed.latencies, file=recording.file, helps=find_help(placed, drive),
    )  # fmt: skip


def judge_drive(drive: Sequence[Placed], *, car: Car | None = None) -> tuple[tuple[Able, ...], tuple[Unable, ...]]:
    """Families the whole drive gives, and those it does not, each once."""
    return judge_reports([report_recording(placed, drive) for placed in drive], car=car)


def judge_reports(
    reports: Sequence[RecordingReport], *, car: Car | None = None, gate_why: str | None = None
) -> tuple[tuple[Able, ...], tuple[Unable, ...]]:
    """``judge_drive`` from what is kept of the recordings.

    Without ``car`` its gate is taken to be known. gate_why : why no gate map was found where one was looked for
    """
    can: list[Able] = []
    cannot: list[Unable] = []
    for need in NEEDS:
        carry = [r for r in reports if need.name in r.can_measure]
        why = _profile_lacks(need, car) if carry else None
        if not carry:
            cannot.append(_unable(need, reports))
        elif why is not None:
            cannot.append(Unable(name=need.name, why=why, mend=_MEND_PROFILE[why]))
        elif need.gate and gate_why:
            cannot.append(Unable(name=need.name, why=gate_why, mend=None))
        else:
            can.append(Able(name=need.name, recordings=tuple(r.name for r in carry), doubt=_doubt(carry, need)))
    return tuple(can), (*cannot, *_durations(reports))


def _durations(reports: Sequence[RecordingReport]) -> list[Unable]:
    """That changes of gear can be found but not timed, where it is so."""
    told = [(r.name, why) for r in reports for name, why in r.cannot_measure if name == DURATION]
    parts = [(name, *why.partition("; ")) for name, why in told]
    return [Unable(name=DURATION, why=f"{name}: {reason}", mend=fit) for name, reason, _, fit in parts]


def _profile_lacks(need: Need, car: Car | None) -> str | None:
    """What of the car's profile a family needs that is not in it, or None."""
    if car is None:
        return None
    if need.gate and car.gate is None:
        return _NO_GATE
    return _NO_REDLINE if need.redline and car.redline_rpm is None else None


def _unable(need: Need, reports: Sequence[RecordingReport]) -> Unable:
    """With the reason of the recording that comes nearest, or that nothing in the drive comes near."""
    told = [(r.name, why) for r in reports for name, why in r.cannot_measure if name == need.name]
    near = [(name, why) for name, why in told if not why.startswith(FAR)]
    if not near:
        return Unable(name=need.name, why=need.lacks, mend=f"fit {need.fit}")
    name, why = near[0]
    lost = next((r.clock for r in reports if r.name == name and r.clock.offset_s is None), None)
    if lost is not None:
        return Unable(name=need.name, why=f"{name} is not placed on the drive's clock", mend=lost.mend)
    reason, _, fit = why.partition("; fit ")
    mend = f"fit {fit}" if fit else _MEND_AXES if reason.startswith(_AXES) else None
    return Unable(name=need.name, why=f"{name}: {reason.removeprefix(f'{name}: ')}", mend=mend)


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


def _why_not(placed: Placed, need: Need, drive: Sequence[Placed]) -> str | None:
    """Why no way leads to a family, told by the way that gets furthest; None where one leads there."""
    judged = [_judge_way(placed, way, need, drive) for way in need.ways]
    if any(why is None for _, why in judged):
        return None
    return max(judged, key=lambda pair: pair[0])[1]


def _judge_way(placed: Placed, way: Way, need: Need, drive: Sequence[Placed]) -> tuple[float, str | None]:
    """How far a recording gets on a way, and what stops it there, or None."""
    recording = placed.recording
    missing = [c for c in way.channels if not recording.has(c)]
    elsewhere = bool(way.places) and recording.place not in way.places
    if missing or any(recording.has(c) for c in way.without):
        share = 0.0 if elsewhere else 1 - len(missing) / len(way.channels)
        return min(share, 0.9), f"no {_sensors(missing or way.channels)} in this log; fit {need.fit}"
    if elsewhere:
        return 1.0, f"{_ELSEWHERE} at the {recording.place}; fit {need.fit}"
    if not placed.on_drive_time:
        return 2.0, placed.clock.why or "it is not placed on the drive's clock"
    if way.also and not any(_there(partner, drive) for partner in way.also):
        words = ", or ".join(partner.words for partner in way.also)
        slow_s = _too_slow_s(drive)
        if slow_s is not None and any(p.slowest_s < slow_s for p in way.also):
            return 3.0, f"{_slow_words(slow_s)}; fit {FIT_QUICK}"
        return 3.0, f"it takes {words} too; fit {words} as well"
    rate_hz = min(_rate_hz(recording, channel) for channel in way.channels)
    if rate_hz < 0.95 * way.rate_hz:
        return 4.0, f"{rate_hz:.3g} Hz is too slow, {way.rate_hz:g} Hz is the least; fit {need.fit}"
    if way.mounted and placed.mounting.rotation is None:
        why = f" ({placed.mounting.why})" if placed.mounting.why else ""
        return 5.0, f"{_AXES}{why}"
    slow_s = _too_slow_s(drive) if need.timed else None
    if slow_s is not None:
        return 5.5, f"{_slow_words(slow_s)}; fit {FIT_QUICK}"
    return 6.0, None


def _too_slow_s(drive: Sequence[Placed]) -> float | None:
    """Wait between new engine speeds where shifts are found by speeds alone and this is too long to time them [s]."""
    there = [p for p in drive if p.on_drive_time]
    waits = [wait for p in there if (wait := _engine_wait_s(p)) is not None]
    by_speeds = waits and any(p.recording.has("vehicle_speed") for p in there)
    lever = any(p.recording.has(*LEVER) for p in there) or all(_there(p, drive) for p in (LEVER_MOTION, BODY_MOTION))
    return min(waits) if by_speeds and not lever and min(waits) > SLOWEST_ENGINE_S else None


def _engine_wait_s(placed: Placed) -> float | None:
    return _wait_s(placed.recording, "engine_speed") if placed.recording.has("engine_speed") else None


def _wait_s(recording: Recording, channel: str) -> float:
    """How long a channel takes between new values."""
    told = recording.quality.renewed_s.get(channel)
    return told if told is not None else 1 / recording.quality.rate_hz


def _slow_words(wait_s: float) -> str:
    return f"engine speed is new only every {wait_s:.2g} s"


def _rate_hz(recording: Recording, channel: str) -> float:
    """How often a channel is new: a poll repeats its values, and a bus leaves rows between them empty."""
    values = recording.column(channel)
    renewed = find_renewals(values)
    new = np.count_nonzero(np.isfinite(values)) if renewed is None else renewed.size
    return recording.quality.rate_hz * min(1.0, new / max(recording.quality.samples, 1))


def _there(partner: Partner, drive: Sequence[Placed]) -> bool:
    placed = [p.recording for p in drive if p.on_drive_time]
    there = [r for r in placed if r.has(*partner.channels) and (not partner.places or r.place in partner.places)]
    return any(max(_wait_s(r, c) for c in partner.channels) <= partner.slowest_s for r in there)


def _sensors(channels: Iterable[str]) -> str:
    """Channels in words: the sensor that gives them, or their own names where only some of its channels are meant."""
    left, words = list(channels), []
    for group, word in SENSOR_WORDS:
        if all(c in left for c in group):
            left = [c for c in left if c not in group]
            words.append(word)
    return " and no ".join([*words, *(c.replace("_speed", " speed") for c in left)])
