"""Jumping out of gear: gears that let go, and a lever that walks out told from one that the engine rocks."""

from collections.abc import Sequence

import numpy as np

from shiftlog.errors import CannotMeasure
from shiftlog.guided.torque_spans import DRIVE, LEAST_S, OVERRUN, TorqueSpan, find_torque_spans
from shiftlog.measure.scene import Scene
from shiftlog.measure.share import share_of
from shiftlog.model.drive import MarkedTest
from shiftlog.model.guided import Figure, GuidedResult
from shiftlog.model.result import DriveResult
from shiftlog.model.shift import Shift
from shiftlog.model.sign import INSIDE, OUTSIDE

WALKS_MM, SIGMAS = 0.5, 4.0
"""A lever that creeps out by more than both, and than the others do, walks (common practice, no source)."""
STAYS_SHARE = 0.4
"""So much of the way out is left after the torque has gone; rubber and mounts give it all back."""
ROCKS_MM = 2.0
"""Mounts that let the lever go this far with the torque are soft or torn (common practice, no source)."""

LETS_GO_S = 0.4
PRACTICE = "common practice, no source"

Key = tuple[str, str]


def measure_jump_out(test: MarkedTest, scene: Scene, result: DriveResult) -> GuidedResult:
    """Jump-outs k of n, movement and drift by gear and direction, and which gear walks out. CannotMeasure."""
    if scene.path is None:
        raise CannotMeasure(f"the lever's way through the gate is not known: {result.gate_why or 'no lever sensor'}")
    spans = find_torque_spans(scene.path, scene.signals, test.start_s, test.end_s)
    if not spans:
        raise CannotMeasure("no gear was held under drive or on the overrun within the marked span; mark it again")
    jumped = [s for s in result.shifts if s.outcome == "jumped_out" and test.start_s <= s.start_s <= test.end_s]
    groups = _group(spans, jumped)
    walking = find_walking(groups, jumped)
    figures = tuple(f for key, some in groups.items() for f in _figures(key, some, jumped))
    says, points = _say(groups, jumped, walking)
    return GuidedResult(
        kind=test.kind, start_s=test.start_s, end_s=test.end_s, configuration=test.configuration, figures=figures,
        says=says, points_to=points, doubts=_doubts(groups, scene),
    )  # fmt: skip


def _group(spans: Sequence[TorqueSpan], jumped: Sequence[Shift]) -> dict[Key, list[TorqueSpan]]:
    """Spans by gear and direction: those long enough, and those that ended because the gear let go."""
    groups: dict[Key, list[TorqueSpan]] = {}
    for span in spans:
        cut = any(_ends(span, shift) for shift in jumped)
        if span.drift_mm is not None or cut or span.ends_s - span.start_s >= LEAST_S:
            groups.setdefault((span.gear, span.direction), []).append(span)
    return dict(sorted(groups.items()))


def _ends(span: TorqueSpan, shift: Shift) -> bool:
    return shift.from_gear == span.gear and span.start_s <= shift.start_s <= span.ends_s + LETS_GO_S


def find_walking(groups: dict[Key, list[TorqueSpan]], jumped: Sequence[Shift]) -> tuple[Key, ...]:
    """Gears and directions whose lever creeps out, further than in the other gears, and does not come back.

    An engine that rocks takes the lever the same way along the gate in every gear; what is common to them is taken off.
    """
    walking = []
    for key, some in groups.items():
        drifts = [s for s in some if s.drift_mm is not None]
        if any(_ends(s, shift) for s in some for shift in jumped):
            walking.append(key)
        elif drifts:
            out = [-s.way * (s.drift_mm - _common(groups, key)) for s in drifts]
            u = np.hypot(np.median([s.u_mm for s in drifts]), np.std(out)) / np.sqrt(len(out))
            if np.median(out) > max(WALKS_MM, SIGMAS * u) and _stays_out(drifts, float(np.median(out))):
                walking.append(key)
    return tuple(walking)


def _common(groups: dict[Key, list[TorqueSpan]], key: Key) -> float:
    """Median drift of the other gears under the same torque, forward positive [mm]; 0 where there is none."""
    others = [
        float(np.median(known))
        for (gear, direction), some in groups.items()
        if direction == key[1] and gear != key[0] and (known := [s.drift_mm for s in some if s.drift_mm is not None])
    ]
    return float(np.median(others)) if others else 0.0


def _stays_out(drifts: Sequence[TorqueSpan], out_mm: float) -> bool:
    """Whether the lever was left out; where nothing tells, as the stay ended, the creep alone decides."""
    left = [s.stays_out_mm for s in drifts if s.stays_out_mm is not None]
    return not left or float(np.median(left)) > STAYS_SHARE * out_mm


def _figures(key: Key, some: Sequence[TorqueSpan], jumped: Sequence[Shift]) -> tuple[Figure, ...]:
    of = f"{key[0]} {key[1]}"
    k = sum(any(_ends(span, shift) for shift in jumped) for span in some)
    return (
        Figure(key="jump_outs", label="Jumped out", of=of, share=share_of(k, len(some))),
        _length("moves_mm", "Lever moves with the torque (forward positive)", of, [s.step_mm for s in some], some),
        _length("drift_mm", "Lever drifts while it lasts (outwards positive)", of, _drifts_out(some), some),
        _length("stays_out_mm", "Lever is left out by", of, [s.stays_out_mm for s in some], some),
    )  # fmt: skip


def _drifts_out(some: Sequence[TorqueSpan]) -> list[float | None]:
    return [None if s.drift_mm is None else -s.way * s.drift_mm for s in some]


def _length(key: str, label: str, of: str, values: Sequence[float | None], some: Sequence[TorqueSpan]) -> Figure:
    known = [v for v in values if v is not None]
    if not known:
        return Figure(key=key, label=label, unit="mm", of=of, why="no span of two seconds whose torque came and went")
    own = float(np.median([s.u_mm for s in some]))
    u = float(np.hypot(own, np.std(known, ddof=1) if len(known) > 1 else own) / np.sqrt(len(known)))
    return Figure(key=key, label=label, unit="mm", of=of, value=float(np.median(known)), uncertainty=u)


def _say(
    groups: dict[Key, list[TorqueSpan]], jumped: Sequence[Shift], walking: Sequence[Key]
) -> tuple[tuple[str, ...], tuple[tuple[str, str], ...]]:
    says, points = [], []
    for gear, direction in walking:
        k = sum(any(_ends(s, shift) for shift in jumped) for s in groups[gear, direction])
        what = f"jumped out {k} of {len(groups[gear, direction])} times" if k else "walks out and does not come back"
        says.append(f"Gear {gear} {what} {'under drive' if direction == DRIVE else 'on the overrun'}.")
        points.append((INSIDE, f"{says[-1]} See first that it goes fully home (clearance test) ({PRACTICE})"))
    rocks = _rocks_mm(groups)
    if not walking:
        says.append("No gear walks out.")
    if rocks is not None:
        says.append(
            f"With the torque the engine rocks the lever by up to {rocks:.1f} mm, in all gears, and it comes back."
        )
        if rocks > ROCKS_MM:
            points.append((OUTSIDE, f"{says[-1]} Mounts first ({PRACTICE})"))
    return tuple(says), tuple(points)


def _rocks_mm(groups: dict[Key, list[TorqueSpan]]) -> float | None:
    """How far the lever goes with the torque, in the gear and direction in which it goes furthest [mm]."""
    ways = []
    for some in groups.values():
        steps = [s.step_mm for s in some if s.step_mm is not None]
        ways += [abs(float(np.median(steps)))] if steps else []
    return max(ways, default=None)


def _doubts(groups: dict[Key, list[TorqueSpan]], scene: Scene) -> tuple[str, ...]:
    doubts = ["a gear that does not go fully home, for want of cable travel, jumps out as well"]
    gears = {gear for gear, _ in groups}
    if len(gears) < 3:
        doubts.append("fewer than three gears were tried: a rocking engine, alike in all gears, cannot be told well")
    if not {direction for _, direction in groups} >= {DRIVE, OVERRUN}:
        doubts.append("only one direction of torque was tried")
    if scene.signals.clutch is None:
        doubts.append("no clutch channel: a gear that lets go on the overrun may pass as taken out by hand")
    return tuple(doubts)
