"""Which families of figures one recording can carry in its drive, and what stands in the way of the others."""

from collections.abc import Iterable, Sequence

from shiftlog.measure.needs import (
    BODY_MOTION,
    DURATION,
    FIT_QUICK,
    LEVER_MOTION,
    NEEDS,
    RATE_SLACK,
    SENSOR_WORDS,
    SLOWEST_ENGINE_S,
    Need,
    Partner,
    Way,
)
from shiftlog.model.drive import Placed
from shiftlog.model.recording import LEVER, Recording
from shiftlog.model.result import Unable

ABSENT, ELSEWHERE, PARTIAL, DEAD, CLOCK, PARTNER, RATE, AXES, ENGINE_SPEED = (
    "absent", "elsewhere", "partial", "dead", "clock", "partner", "rate", "axes", "engine speed",
)  # fmt: skip
"""What stands in the way, from the farthest to the nearest."""
FAR = (ABSENT, ELSEWHERE)
"""A recording of which this is said comes nowhere near a family; the drive has words of its own for it."""

NO_AXES = "which way its axes point is not known"
_COUNT_WORDS = {2: "two", 3: "three"}
OFFSET, MOUNTING = "clock_offset_s", "mounting"
"""Keys of a recording that the user may declare where nothing else tells."""


def judge_recording(placed: Placed, drive: Sequence[Placed]) -> tuple[tuple[str, ...], tuple[Unable, ...]]:
    """Families this recording can carry in its drive, and the others with what stands in the way."""
    stops = {need.name: _nearest_stop(placed, need, drive) for need in NEEDS}
    can = tuple(name for name, stop in stops.items() if stop is None)
    cannot = [stop for stop in stops.values() if stop is not None]
    slow_s = _too_slow_s(drive)
    if slow_s is not None and _engine_wait_s(placed) == slow_s:
        cannot.append(_slow(DURATION, slow_s))
    return can, tuple(cannot)


def _nearest_stop(placed: Placed, need: Need, drive: Sequence[Placed]) -> Unable | None:
    """What stops the way to a family that gets furthest; None where one leads there."""
    judged = [_judge_way(placed, way, need, drive) for way in need.ways]
    if any(stop is None for _, stop in judged):
        return None
    return max(judged, key=lambda pair: pair[0])[1]


def _judge_way(placed: Placed, way: Way, need: Need, drive: Sequence[Placed]) -> tuple[float, Unable | None]:
    """How far a recording gets on a way, and what stops it there, or None."""
    share, stop = _judge_sensor(placed.recording, way, need)
    if stop is not None:
        return share, stop
    checks = (_judge_clock, _judge_partners, _judge_rate, _judge_axes, _judge_engine_speed)
    for far, check in enumerate(checks, start=2):
        stop = check(placed, way, need, drive)
        if stop is not None:
            return float(far), stop
    return float(len(checks) + 2), None


def _judge_sensor(recording: Recording, way: Way, need: Need) -> tuple[float, Unable | None]:
    """Whether it holds what the way takes, and sits where it must; how far it gets, from 0 to 1."""
    missing = [c for c in way.channels if not recording.has(c)]
    elsewhere = bool(way.places) and recording.place not in way.places
    if missing or any(recording.has(c) for c in way.without):
        # Of a way for one axis alone, a log with more is no nearer than one with none.
        share = 0.0 if elsewhere or not missing else 1 - len(missing) / len(way.channels)
        dead = [c for c in missing if c in recording.quality.stuck]
        why = f"{', '.join(dead)}: never changes" if dead else f"no {_sensors(missing or way.channels)} in this log"
        if missing and dead == missing and not elsewhere:
            return 0.9, Unable(name=need.name, kind=DEAD, why=why, mend="check that sensor and its lead")
        half = None if elsewhere or dead else _half_logged(recording, missing)
        if half is not None:
            return min(share, 0.9), Unable(name=need.name, kind=PARTIAL, why=half[0], mend=half[1])
        return min(share, 0.9), Unable(name=need.name, kind=ABSENT, why=why, mend=f"fit {need.fit}")
    if elsewhere:
        why = f"the recorder sits at the {recording.place}"
        return 1.0, Unable(name=need.name, kind=ELSEWHERE, why=why, mend=f"fit {need.fit}")
    return 1.0, None


def _half_logged(recording: Recording, missing: Sequence[str]) -> tuple[str, str] | None:
    """Why and the mend where all that is missing is an axis or two of a sensor that is there, else None."""
    for group, word in SENSOR_WORDS:
        held = [c for c in group if recording.has(c)]
        if held and missing and set(missing) <= set(group):
            logged = "was logged" if len(held) == 1 else "were logged"
            why = f"only {' and '.join(held)} of the {_COUNT_WORDS[len(group)]} axes of the {word} {logged}"
            return why, f"log {' and '.join(missing)} too"
    return None


def _judge_clock(placed: Placed, way: Way, need: Need, drive: Sequence[Placed]) -> Unable | None:
    if placed.on_drive_time:
        return None
    why = (placed.clock.why or "it is not placed on the drive's clock").removeprefix(f"{placed.recording.name}: ")
    return Unable(name=need.name, kind=CLOCK, why=why, mend=placed.clock.mend, declare=OFFSET)


def _judge_partners(placed: Placed, way: Way, need: Need, drive: Sequence[Placed]) -> Unable | None:
    if not way.also or any(_there(partner, drive) for partner in way.also):
        return None
    slow_s = _too_slow_s(drive)
    if slow_s is not None and any(p.slowest_s < slow_s for p in way.also):
        return _slow(need.name, slow_s)
    words = ", or ".join(partner.words for partner in way.also)
    return Unable(name=need.name, kind=PARTNER, why=f"it takes {words} too", mend=f"fit {words} as well")


def _judge_rate(placed: Placed, way: Way, need: Need, drive: Sequence[Placed]) -> Unable | None:
    rate_hz = 1 / max(_wait_s(placed.recording, channel) for channel in way.channels)
    if rate_hz >= RATE_SLACK * way.rate_hz:
        return None
    why = f"{rate_hz:.3g} Hz is too slow, {way.rate_hz:g} Hz is the least"
    return Unable(name=need.name, kind=RATE, why=why, mend=f"fit {need.fit}")


def _judge_axes(placed: Placed, way: Way, need: Need, drive: Sequence[Placed]) -> Unable | None:
    if not way.mounted or placed.mounting.rotation is not None:
        return None
    cause = f" ({placed.mounting.why})" if placed.mounting.why else ""
    return Unable(name=need.name, kind=AXES, why=NO_AXES + cause, mend="drive longer", declare=MOUNTING)


def _judge_engine_speed(placed: Placed, way: Way, need: Need, drive: Sequence[Placed]) -> Unable | None:
    slow_s = _too_slow_s(drive) if need.timed else None
    return None if slow_s is None else _slow(need.name, slow_s)


def _slow(name: str, wait_s: float) -> Unable:
    why = f"engine speed is new only every {wait_s:.2g} s"
    return Unable(name=name, kind=ENGINE_SPEED, why=why, mend=f"fit {FIT_QUICK}")


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
    """How long a channel takes between new values: a poll repeats them, and a bus leaves rows between them empty."""
    told = recording.quality.renewed_s.get(channel)
    return told if told is not None else 1 / recording.quality.rate_hz


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
