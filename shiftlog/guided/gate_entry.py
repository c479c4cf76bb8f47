"""Gate entry over a marked span: entry offsets, pushes that strike the gate, and how near the wrong plane was."""

from collections.abc import Sequence

import numpy as np

from shiftlog.errors import CannotMeasure
from shiftlog.guided.entries import LEFT, RIGHT, TOUCHES, Entry, find_entries
from shiftlog.measure.scene import Scene
from shiftlog.measure.share import share_of
from shiftlog.model.drive import MarkedTest
from shiftlog.model.gate import GateMap
from shiftlog.model.guided import PRACTICE, Figure, GuidedResult
from shiftlog.model.result import DriveResult
from shiftlog.model.sign import ADJUST, OUTSIDE

LEAST = 3
OFF_MM, APART_MM = 3.0, 6.0
"""An offset alike everywhere, and a difference between from left and from right, that matter (common practice, no
source)."""
STRIKES_SHARE = 0.1


def measure_gate_entry(test: MarkedTest, scene: Scene, result: DriveResult) -> GuidedResult:
    """Entries of the marked span by gear and direction. CannotMeasure without the gate, or with too few pushes."""
    path, gate = scene.path, result.gate
    if path is None or gate is None:
        raise CannotMeasure(f"the lever's way through the gate is not known: {result.gate_why or 'no lever sensor'}")
    entries = find_entries(path, gate, test.start_s, test.end_s)
    if sum(e.gear is not None for e in entries) < LEAST:
        raise CannotMeasure(f"fewer than {LEAST} gears were engaged within the marked span; drive more shifts")
    says, points = _say(entries)
    return GuidedResult(
        kind=test.kind, start_s=test.start_s, end_s=test.end_s, configuration=test.configuration,
        figures=(*_offsets(entries, path.noise_mm, gate), *_rooms(entries, path.noise_mm), _strikes(entries)),
        says=says, points_to=points,
        doubts=(
            "a hurried hand cuts corners; hold another driver's shifts beside these before the gate is blamed",
            f"a push counts from {TOUCHES * gate.layout.engage_travel_mm / 2:.1f} mm off the neutral line: a gate that "
            "is struck nearer to it, and that the lever then slides along, is not seen",
        ),
    )  # fmt: skip


def _groups(entries: Sequence[Entry]) -> dict[tuple[str, str], list[Entry]]:
    groups: dict[tuple[str, str], list[Entry]] = {}
    for entry in entries:
        if entry.gear is not None:
            groups.setdefault((entry.gear, entry.direction), []).append(entry)
    return dict(sorted(groups.items()))


def _offsets(entries: Sequence[Entry], noise_mm: float, gate: GateMap) -> tuple[Figure, ...]:
    figures = []
    for (gear, direction), some in _groups(entries).items():
        offsets = [e.offset_mm for e in some]
        spread = float(np.std(offsets, ddof=1)) if len(some) > 1 else 0.0
        u = float(np.hypot(np.hypot(spread, noise_mm) / np.sqrt(len(some)), gate.slow_mm))
        figures.append(
            Figure(
                key="entry_offset_mm", label="Enters right of the plane's centre by", unit="mm",
                of=f"{gear} {direction}", value=float(np.median(offsets)), uncertainty=u,
            )
        )  # fmt: skip
    return tuple(figures)


def _rooms(entries: Sequence[Entry], noise_mm: float) -> tuple[Figure, ...]:
    """The least room to the wrong plane, by gear."""
    nearest: dict[str, float] = {}
    for entry in entries:
        if entry.gear is not None:
            nearest[entry.gear] = min(nearest.get(entry.gear, np.inf), entry.room_mm)
    return tuple(
        Figure(key="wrong_plane_room_mm", label="Least room to the wrong plane", unit="mm", of=gear, value=float(room),
               uncertainty=float(noise_mm))
        for gear, room in sorted(nearest.items())
    )  # fmt: skip


def _strikes(entries: Sequence[Entry]) -> Figure:
    share = share_of(sum(e.strikes for e in entries), len(entries))
    return Figure(key="strikes", label="Pushes that struck the gate between two planes", share=share)


def _say(entries: Sequence[Entry]) -> tuple[tuple[str, ...], tuple[tuple[str, str], ...]]:
    struck = sum(e.strikes for e in entries)
    went = [e for e in entries if e.gear is not None]
    closest = min(went, key=lambda e: e.room_mm)
    says = [
        f"{struck} of {len(entries)} pushes struck the gate more than a quarter of a plane off.",
        f"Nearest to a wrong plane: gear {closest.gear}, {closest.room_mm:.1f} mm from the middle.",
    ]
    sides = [[e.offset_mm for e in went if e.direction == way] for way in (LEFT, RIGHT)]
    points = []
    if all(len(side) >= LEAST for side in sides):
        left, right = (float(np.median(side)) for side in sides)
        says.append(f"From the left the lever enters {left:+.1f} mm off centre, from the right {right:+.1f} mm.")
        if abs(left + right) / 2 > OFF_MM and left * right > 0:
            points.append((ADJUST, f"{says[-1]} Off to one side from both: the select cable's setting ({PRACTICE})"))
        elif abs(left - right) > APART_MM:
            points.append((OUTSIDE, f"{says[-1]} Springs or friction of the select side ({PRACTICE})"))
    if share_of(struck, len(entries)).low > STRIKES_SHARE:
        points.append((OUTSIDE, f"{says[0]} Springs, gate and select play, or the hand ({PRACTICE})"))
    return tuple(says), tuple(points)
