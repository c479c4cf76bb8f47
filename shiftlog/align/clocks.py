"""Where each recording's clock lies against drive time, as far as it is declared."""

from dataclasses import replace

import numpy as np

from shiftlog.model.drive import ClockMatch
from shiftlog.model.recording import Recording


def choose_reference(recordings: tuple[Recording, ...]) -> Recording:
    """The recording whose clock is drive time: the first at place ``lever``, else the first."""
    return next((r for r in recordings if r.place == "lever"), recordings[0])


def first_valid_s(recording: Recording) -> float:
    """Time of the first row that holds a value, in the recorder's own time [s]."""
    held = np.any(np.isfinite(recording.values), axis=1)
    return float(recording.time_s[int(np.argmax(held))])


def match_declared(recordings: tuple[Recording, ...], reference: Recording) -> dict[str, ClockMatch]:
    """The clock match of each recording by name: its own, shared, declared, or not placed with the reason."""
    zero = first_valid_s(reference)
    declared: dict[str, float] = {}
    for recording in recordings:
        if recording.clock_offset_s is not None:
            declared.setdefault(recording.clock, recording.clock_offset_s)
    return {r.name: _match(r, reference, zero=zero, declared=declared) for r in recordings}


def _match(recording: Recording, reference: Recording, *, zero: float, declared: dict[str, float]) -> ClockMatch:
    if recording.clock == reference.clock:
        how = "reference" if recording.name == reference.name else "same clock"
        return ClockMatch(offset_s=zero, drift_ppm=0.0, how=how, confidence=1.0)
    if recording.clock in declared:
        offset = declared[recording.clock]
        if reference.clock in declared:
            # Both offsets count from one common time, which need not be drive time.
            offset += zero - declared[reference.clock]
        return ClockMatch(offset_s=offset, drift_ppm=0.0, how="declared", confidence=1.0)
    why = (
        f"{recording.name} has a clock of its own and drive.toml gives no clock_offset_s against {reference.name}; "
        "add it, or log both with one recorder"
    )
    return ClockMatch(offset_s=None, drift_ppm=None, how="not placed", confidence=None, why=why)


def on_drive_time(recording: Recording, match: ClockMatch) -> Recording:
    """The recording with its times, spans and gaps in drive time; untouched where it is not placed."""
    offset = match.offset_s
    if offset is None:
        return recording
    moved = f"Times moved by {-offset:.6f} s to drive time ({match.how})."
    return replace(
        recording,
        time_s=recording.time_s - offset,
        spans=_moved(recording.spans, offset),
        quality=replace(recording.quality, gaps=_moved(recording.quality.gaps, offset)),
        history=(*recording.history, moved),
    )


def _moved(spans: tuple[tuple[float, float], ...], offset_s: float) -> tuple[tuple[float, float], ...]:
    return tuple((start - offset_s, end - offset_s) for start, end in spans)
