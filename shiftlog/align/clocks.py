"""Where each recording's clock lies against drive time: declared, or found from the signals."""

from dataclasses import replace

import numpy as np

from shiftlog.align.clock_line import ClockLine, fixed_line
from shiftlog.align.clock_links import ClockTracks, link_clocks
from shiftlog.model.drive import ClockMatch
from shiftlog.model.recording import Recording

_LEAST_RIGHT = 0.9
"""A place that is not sure is refused: one wrong place spoils more figures than one recording less."""

_ENOUGH = 0.95
"""A clock that is as sure as this needs no other way."""

_LOOSEST_S = 1.0
"""Standard uncertainty beyond which a match is of no use to any figure."""

_SHORT_S = 120.0
"""Under two minutes there are hardly enough windows of driving to be sure of a place (common practice, no source)."""

_ELSE = "or log with one recorder"
_DRIVE_LONGER = f"start all recorders before setting off and let them run for some minutes of driving, {_ELSE}"


def choose_reference(recordings: tuple[Recording, ...]) -> Recording:
    """The recording whose clock is drive time: the first at place ``lever``, else the first."""
    return next((r for r in recordings if r.place == "lever"), recordings[0])


def first_valid_s(recording: Recording) -> float:
    """Time of the first row that holds a value, in the recorder's own time [s]."""
    held = np.any(np.isfinite(recording.values), axis=1)
    return float(recording.time_s[int(np.argmax(held))])


def match_clocks(recordings: tuple[Recording, ...], reference: Recording) -> dict[str, ClockMatch]:
    """The clock match of each recording by name: the reference's own, shared, declared, matched by signals, or not
    placed with the reason.

    Confidence of a matched clock is the probability that its reading is off by less than 10 ms between motion
    sensors, by less than 50 ms where a speed told, at drive time zero and at both ends of its recordings. Where it is
    low, the place is sure but not the delay of a speed; a place that is not sure is refused. Recordings that name one
    clock are matched together; a clock that shares nothing with the reference may be reached through a third.
    """
    known = _match_declared(recordings, reference)
    waiting = dict.fromkeys(r.clock for r in recordings if r.name not in known)
    if not waiting:
        return known
    lines = {r.clock: fixed_line(known[r.name].offset_s) for r in recordings if r.name in known}
    groups = {clock: tuple(r for r in recordings if r.clock == clock) for clock in (*lines, *waiting)}
    shared = _place_clocks(lines, list(waiting), groups)
    for recording in recordings:
        if recording.clock in waiting:
            line = lines.get(recording.clock)
            why = _why_not(recording, reference, shares=recording.clock in shared)
            known[recording.name] = why if line is None else _matched(line, groups[recording.clock])
    return known


def _place_clocks(
    lines: dict[str, ClockLine], waiting: list[str], groups: dict[str, tuple[Recording, ...]]
) -> set[str]:
    """Adds to ``lines`` every clock that can be reached, the surest first; returns those that share any evidence."""
    tracks = {clock: ClockTracks(group) for clock, group in groups.items()}
    links: dict[tuple[str, str], ClockLine | None] = {}
    shared: set[str] = set()
    while waiting:
        reached = {}
        for clock in waiting:
            for base in lines:
                match = _link(base, clock, tracks, links, shared)
                line = None if match is None else lines[base].then(match)
                if line is not None and line.right >= _LEAST_RIGHT and line.u_lag_s <= _LOOSEST_S:
                    confidence = line.confidence(_instants(line, groups[clock]))
                    reached[base, clock] = (confidence, line)
                    if confidence > _ENOUGH:
                        break
        if not reached:
            return shared
        (_, clock), (_, line) = max(reached.items(), key=lambda item: item[1][0])
        lines[clock] = line
        waiting.remove(clock)
    return shared


def _link(
    base: str,
    clock: str,
    tracks: dict[str, ClockTracks],
    links: dict[tuple[str, str], ClockLine | None],
    shared: set[str],
) -> ClockLine | None:
    if (base, clock) not in links:
        links[base, clock], any_shared = link_clocks(tracks[base], tracks[clock])
        if any_shared:
            shared.add(clock)
    return links[base, clock]


def _instants(line: ClockLine, group: tuple[Recording, ...]) -> tuple[float, ...]:
    """Drive time's zero and the ends of a clock's recordings, in drive time."""
    ends = (min(r.time_s[0] for r in group), max(r.time_s[-1] for r in group))
    return (0.0, *(line.first_s(float(end)) for end in ends))


def _matched(line: ClockLine, group: tuple[Recording, ...]) -> ClockMatch:
    words = list(line.words)
    if line.slipped_at_first_s is not None:
        words[-1] += f"; at about {line.slipped_at_first_s:.0f} s a clock jumps (a restart): split the log there"
    instants = _instants(line, group)
    return ClockMatch(
        offset_s=line.second_s(0.0),
        drift_ppm=line.drift * 1e6,
        how="matched",
        confidence=line.confidence(instants),
        uncertainty_s=max(line.uncertainty_s(instant) for instant in instants),
        slipped_at_s=line.slipped_at_first_s,
        evidence="; then ".join(words),
    )


def _why_not(recording: Recording, reference: Recording, *, shares: bool) -> ClockMatch:
    if not shares:
        return _not_placed(
            f"{recording.name}: has a clock of its own and shares no signal with {reference.name} that tells it",
            mend=f"log vehicle speed in both, or {_sensors_to_fix(recording, reference)}; {_ELSE}",
        )
    short_s = min(r.quality.duration_s for r in (recording, reference))
    cause = f"only {short_s:.0f} s long" if short_s < _SHORT_S else "too little driving, or another drive"
    return _not_placed(
        f"{recording.name}: nothing in it lines up with {reference.name} beyond doubt ({cause})", mend=_DRIVE_LONGER
    )


def _sensors_to_fix(recording: Recording, reference: Recording) -> str:
    """Two motion sensors feel the same car, whatever else their loggers hold."""
    if recording.has("accel_x"):
        return f"fix a motion sensor to the logger of {reference.name}"
    if reference.has("accel_x"):
        return "fix a motion sensor to its logger"
    return f"fix a motion sensor to its logger and one to that of {reference.name}"


def _not_placed(why: str, *, mend: str) -> ClockMatch:
    return ClockMatch(offset_s=None, drift_ppm=None, how="not placed", confidence=None, why=why, mend=mend)


def _match_declared(recordings: tuple[Recording, ...], reference: Recording) -> dict[str, ClockMatch]:
    """The clock match of each recording whose clock is the reference's or declared, by name."""
    zero = first_valid_s(reference)
    declared: dict[str, float] = {}
    for recording in recordings:
        if recording.clock_offset_s is not None:
            declared.setdefault(recording.clock, recording.clock_offset_s)
    # Declared offsets count from one common time, which need not be drive time.
    common = zero - declared.get(reference.clock, zero)
    known = {}
    for recording in recordings:
        if recording.clock == reference.clock:
            how = "reference" if recording.name == reference.name else "same clock"
            known[recording.name] = ClockMatch(offset_s=zero, drift_ppm=0.0, how=how, confidence=1.0)
        elif recording.clock in declared:
            offset = declared[recording.clock] + common
            known[recording.name] = ClockMatch(offset_s=offset, drift_ppm=0.0, how="declared", confidence=1.0)
    return known


def on_drive_time(recording: Recording, match: ClockMatch) -> Recording:
    """The recording with its times, spans and gaps in drive time; untouched where it is not placed."""
    offset = match.offset_s
    if offset is None:
        return recording
    rate = 1 + (match.drift_ppm or 0.0) * 1e-6
    moved = f"Times moved by {-offset:.6f} s to drive time ({match.how})."
    if match.drift_ppm:
        moved = f"{moved[:-1]} and divided by {rate:.9f}."
    return replace(
        recording,
        time_s=(recording.time_s - offset) / rate,
        spans=_moved(recording.spans, offset, rate),
        quality=replace(recording.quality, gaps=_moved(recording.quality.gaps, offset, rate)),
        history=(*recording.history, moved),
    )


def _moved(spans: tuple[tuple[float, float], ...], offset_s: float, rate: float) -> tuple[tuple[float, float], ...]:
    return tuple(((start - offset_s) / rate, (end - offset_s) / rate) for start, end in spans)
