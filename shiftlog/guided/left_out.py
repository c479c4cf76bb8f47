"""How far out of its seat a torque leaves the lever, told from an engine that rocks: by places under the same torque.

What rocks lies at one place under one torque, before and after; a gear that walked out does not.
"""

from collections.abc import Sequence

from shiftlog.guided.torque_spans import TorqueSpan


def measure_left_out(span: TorqueSpan, spans: Sequence[TorqueSpan]) -> float | None:
    """How much further out the lever lies after a span than before it, under one torque [mm]; None where nothing tells.

    spans : all of the drive, in order. A steady speed or the other torque on both sides tells most; where the same
    torque came again it tells what the lever crept, not what it moved at once.
    """
    stay = [other for other in spans if other.stay == span.stay]
    before = [other for other in stay if other.start_s < span.start_s]
    after = [other for other in stay if other.start_s > span.start_s]
    pairs = [pair for state in {other.direction for other in stay} if (pair := _pair(state, span, before, after))]
    if not pairs:
        return None
    _, was_mm, is_mm = min(pairs)
    return span.way * (was_mm - is_mm)


def _pair(
    state: str, span: TorqueSpan, before: Sequence[TorqueSpan], after: Sequence[TorqueSpan]
) -> tuple[tuple[bool, float], float, float] | None:
    """((whether it is the span's own torque, how long it took), place before, place after) in one state of torque."""
    then = next((s for s in after if s.direction == state and s.begins_mm is not None), None)
    if then is None or then.begins_mm is None:
        return None
    if state == span.direction:
        return None if span.begins_mm is None else ((True, 0.0), span.begins_mm, then.begins_mm)
    first = next((s for s in reversed(before) if s.direction == state and s.ends_mm is not None), None)
    if first is None or first.ends_mm is None:
        return None
    return (False, then.start_s - first.ends_s), first.ends_mm, then.begins_mm
