"""Jumping out of gear: gears that let go, and a lever that walks out told from one that the engine rocks."""

from collections.abc import Sequence

import numpy as np

from shiftlog.errors import CannotMeasure
from shiftlog.guided.half_out import LetGo, find_half_out
from shiftlog.guided.jump_out_words import say_jump_out
from shiftlog.guided.left_out import measure_left_out
from shiftlog.guided.torque_spans import DRIVE, LEAST_S, OVERRUN, STEADY, TorqueSpan, find_torque_spans, state_before
from shiftlog.guided.walking import Key, Tried, find_walking
from shiftlog.measure.scene import Scene
from shiftlog.measure.share import share_of
from shiftlog.model.drive import MarkedTest
from shiftlog.model.guided import Figure, GuidedResult
from shiftlog.model.result import DriveResult

LETS_GO_S = 0.4


def measure_jump_out(test: MarkedTest, scene: Scene, result: DriveResult) -> GuidedResult:
    """Jump-outs k of n, movement and drift by gear and direction, and which gear walks out. CannotMeasure."""
    if scene.path is None:
        raise CannotMeasure(f"the lever's way through the gate is not known: {result.gate_why or 'no lever sensor'}")
    spans = find_torque_spans(scene.path, scene.signals, test.start_s, test.end_s)
    shifts = [s for s in result.shifts if s.outcome == "jumped_out" and test.start_s <= s.start_s <= test.end_s]
    jumped = [LetGo(gear=s.from_gear, start_s=s.start_s) for s in shifts]
    jumped += find_half_out(scene, test.start_s, test.end_s)
    groups = _group(spans, jumped, scene)
    if not groups:
        raise CannotMeasure("no gear was held under drive or on the overrun within the marked span; mark it again")
    walking = find_walking(groups)
    says, points = say_jump_out(groups, walking)
    return GuidedResult(
        kind=test.kind, start_s=test.start_s, end_s=test.end_s, configuration=test.configuration,
        figures=tuple(f for key, some in groups.items() for f in _figures(key, some)), says=says, points_to=points,
        doubts=_doubts(groups, scene),
    )  # fmt: skip


def _group(spans: Sequence[TorqueSpan], jumped: Sequence[LetGo], scene: Scene) -> dict[Key, list[Tried]]:
    """What was tried by gear and direction: spans long enough, and every jump-out, at part throttle too."""
    groups: dict[Key, list[Tried]] = {}
    unseen = list(jumped)
    for span in spans:
        if span.direction == STEADY:
            continue
        ends = [one for one in unseen if _ends(span, one)]
        unseen = [one for one in unseen if one not in ends]
        if span.lasts or ends:
            tried = Tried(
                way=span.way, u_mm=span.u_mm, jumped=bool(ends), step_mm=span.step_mm, drift_mm=span.drift_mm,
                left_out_mm=measure_left_out(span, spans) if span.lasts and not ends else None,
            )  # fmt: skip
            groups.setdefault((span.gear, span.direction), []).append(tried)
    for one in unseen:
        key = (one.gear, state_before(scene.signals, one.start_s))
        groups.setdefault(key, []).append(Tried(way=0, u_mm=0.0, jumped=True))
    return dict(sorted(groups.items()))


def _ends(span: TorqueSpan, one: LetGo) -> bool:
    return one.gear == span.gear and span.start_s <= one.start_s <= span.ends_s + LETS_GO_S


def _figures(key: Key, some: Sequence[Tried]) -> tuple[Figure, ...]:
    of = f"{key[0]} {key[1]}"
    lasted = f"no span of {LEAST_S:.0f} s or more with the lever still before it"
    came_back = "the stay in gear ended with the torque, so that nothing shows whether the lever came back"
    moves, drifts, left = (
        [t.step_mm for t in some], [None if t.drift_mm is None else -t.way * t.drift_mm for t in some],
        [t.left_out_mm for t in some],
    )  # fmt: skip
    return (
        Figure(key="jump_outs", label="Jumped out", of=of, share=share_of(sum(t.jumped for t in some), len(some))),
        _length("moves_mm", "Lever moves with the torque (forward positive)", of, moves, some, lasted),
        _length("drift_mm", "Lever drifts while it lasts (outwards positive)", of, drifts, some, lasted),
        _length("stays_out_mm", "Lever is left out by", of, left, some, came_back),
    )  # fmt: skip


def _length(
    key: str, label: str, of: str, values: Sequence[float | None], some: Sequence[Tried], why: str
) -> Figure:  # fmt: skip
    known = [v for v in values if v is not None]
    if not known:
        return Figure(key=key, label=label, unit="mm", of=of, why=why)
    own = float(np.median([t.u_mm for t in some]))
    u = float(np.hypot(own, np.std(known, ddof=1) if len(known) > 1 else own) / np.sqrt(len(known)))
    return Figure(key=key, label=label, unit="mm", of=of, value=float(np.median(known)), uncertainty=u)


def _doubts(groups: dict[Key, list[Tried]], scene: Scene) -> tuple[str, ...]:
    doubts = ["a gear that does not go fully home, for want of cable travel, jumps out as well"]
    gears = {gear for gear, _ in groups}
    if len(gears) < 3:
        doubts.append("fewer than three gears were tried: a rocking engine, alike in all gears, cannot be told well")
    if not {direction for _, direction in groups} >= {DRIVE, OVERRUN}:
        doubts.append("only one direction of torque was tried")
    signals = scene.signals
    if signals.clutch is None:
        doubts.append("no clutch channel: a gear that lets go on the overrun may pass as taken out by hand")
    if signals.throttle is None and signals.vehicle_speed is None:
        doubts.append("drive and overrun are told by the body's accelerometer, which feels a slope of 4 % as well")
    return tuple(doubts)
