"""Where the lever meets the gate: how far off a plane's centre each push at a gear begins."""

from dataclasses import dataclass

import numpy as np

from shiftlog.detect.lever import plane_centres
from shiftlog.model.gate import GateMap
from shiftlog.model.lever import LeverPath
from shiftlog.signal.crossing import find_runs

TOUCHES, LEAST_PEAK, IN = 0.12, 0.16, 0.6
"""Depths at which a push has left the neutral line, is a push at all, and is past the gate's edge."""
QUARTER = 0.25
"""Of the plane's pitch: a push further off any plane's centre strikes the gate (definition of this project)."""
BEFORE_S = 0.4
LEFT, RIGHT, STRAIGHT = "from the left", "from the right", "straight"


@dataclass(frozen=True, eq=False, kw_only=True)
class Entry:
    """One push off the neutral line.

    gear : that it went into, or None where it was turned back; direction : across the gate, before it
    offset_mm : to the right of the centre of the plane it went to, else of the nearest one
    strikes : more than a quarter of the pitch off any plane's centre
    room_mm : to the middle between that plane and the next one; below 0 it began nearer to the wrong plane
    """

    at_s: float
    gear: str | None
    direction: str
    offset_mm: float
    strikes: bool
    room_mm: float


def find_entries(path: LeverPath, gate: GateMap, start_s: float, end_s: float) -> tuple[Entry, ...]:
    """Pushes of a span in order of time, those that struck the gate and turned back as well.

    Each is taken where it leaves the neutral line, on the way to where it went deepest.
    """
    centres = plane_centres(gate)
    first, last = path.index(start_s), path.index(end_s) + 1
    found = []
    for a, b in find_runs((path.depth[first:last] > TOUCHES) & path.valid[first:last]):
        peak = first + a + int(np.argmax(path.depth[first + a : first + b]))
        if a > 0 and path.depth[peak] >= LEAST_PEAK:
            found.append(_entry(path, gate, centres, first + int(a), peak))
    return tuple(found)


def _entry(path: LeverPath, gate: GateMap, centres: np.ndarray, at: int, peak: int) -> Entry:
    select = float(path.select_mm[at])
    went_in = path.depth[peak] > IN and path.gear[peak] >= 0
    gear = path.gears[int(path.gear[peak])] if went_in else None
    plane = gate.layout.plane_of(gear) if gear else int(np.argmin(np.abs(centres - select)))
    pitch = gate.layout.plane_pitch_mm
    others = np.delete(centres, plane)
    room = pitch / 2
    if others.size:
        near = float(others[np.argmin(np.abs(others - select))])
        room = (select - (centres[plane] + near) / 2) * float(np.sign(centres[plane] - near))
    return Entry(
        at_s=float(path.time_s[at]), gear=gear, direction=_direction(path, at, pitch),
        offset_mm=select - float(centres[plane]), room_mm=room,
        strikes=bool(np.min(np.abs(centres - select)) > QUARTER * pitch),
    )  # fmt: skip


def _direction(path: LeverPath, at: int, pitch_mm: float) -> str:
    """Where the lever came from across the gate, over the time before."""
    before = path.select_mm[max(at - round(BEFORE_S * path.rate_hz), 0) : at + 1]
    moved = path.select_mm[at] - before[np.argmax(np.abs(before - path.select_mm[at]))]
    if abs(moved) < QUARTER * pitch_mm:
        return STRAIGHT
    return LEFT if moved > 0 else RIGHT
