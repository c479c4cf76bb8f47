"""Like with like: which drives and which shifts may stand beside one another, and why the others may not."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from shiftlog.compare.kinds import kind_of
from shiftlog.measure.synchro import COLD_C
from shiftlog.model.result import DriveResult
from shiftlog.model.shift import Shift

ALIKE: Mapping[str, tuple[str, float]] = {
    "engine_speed_rpm": ("engine speed", 300.0),
    "vehicle_speed_mps": ("vehicle speed", 2.0),
    "gearbox_temp_c": ("gearbox temperature", 5.0),
    "approach_speed_mmps": ("approach speed of the hand", 50.0),
    "rev_mismatch_rpm": ("rev mismatch", 200.0),
}
"""What shifts must share: its name, and how far beyond the other side's range still counts as alike.

About the scatter of one practised driver who means to do the same again (common practice, no source).
"""

Band = tuple[float, float]


@dataclass(frozen=True, eq=False, kw_only=True)
class Bands:
    """For each kind of shift and each thing shifts must share the band that both sides drove."""

    by_kind: Mapping[str, Mapping[str, Band]]

    def why_outside(self, shift: Shift) -> str | None:
        """Why this shift has no counterpart on the other side, or None."""
        for key, (low, high) in self.by_kind.get(kind_of(shift), {}).items():
            value = shift.value(key)
            if value is not None and not low <= value <= high:
                return f"{ALIKE[key][0]} outside what both sides drove"
        return None


def find_bands(before: Sequence[DriveResult], after: Sequence[DriveResult]) -> Bands:
    """The bands both sides drove; nothing is held against a figure that one side did not log."""
    sides = [_ranges(side) for side in (before, after)]
    by_kind: dict[str, dict[str, Band]] = {}
    for kind, key in sides[0].keys() & sides[1].keys():
        (low_b, high_b), (low_a, high_a) = sides[0][kind, key], sides[1][kind, key]
        room = ALIKE[key][1]
        by_kind.setdefault(kind, {})[key] = max(low_b, low_a) - room, min(high_b, high_a) + room
    return Bands(by_kind=by_kind)


def _ranges(side: Sequence[DriveResult]) -> dict[tuple[str, str], Band]:
    values: dict[tuple[str, str], list[float]] = {}
    for shift in (s for result in side for s in result.shifts):
        for key in ALIKE:
            if (value := shift.value(key)) is not None:
                values.setdefault((kind_of(shift), key), []).append(float(value))
    return {where: (min(found), max(found)) for where, found in values.items()}


def find_strangers(side: Sequence[DriveResult], other: Sequence[DriveResult]) -> list[str | None]:
    """For each drive of ``side``: why it has no counterpart on the other side, or None.

    A driver or a cold gearbox on one side only is left out where enough is alike without it.
    """
    by_driver = _one_sided([r.head.driver for r in side], [r.head.driver for r in other], "driver {} on one side only")
    cold = [[_state(r) for r in drives] for drives in (side, other)]
    by_cold = _one_sided(cold[0], cold[1], "driven {}, no such drive on the other side")
    return [a or b for a, b in zip(by_driver, by_cold, strict=True)]


def _one_sided(mine: Sequence[str | None], theirs: Sequence[str | None], why: str) -> list[str | None]:
    if None in mine or None in theirs or not set(mine) & set(theirs):
        return [None for _ in mine]
    return [None if word in theirs else why.format(word) for word in mine]


def is_cold(result: DriveResult) -> bool | None:
    """Whether a drive was driven cold: as ``drive.toml`` says, else by its gearbox temperature; None where unknown."""
    if result.head.cold is not None:
        return result.head.cold
    known = [v for s in result.shifts if (v := s.value("gearbox_temp_c")) is not None]
    return float(np.median(known)) < COLD_C if known else None


def _state(result: DriveResult) -> str | None:
    cold = is_cold(result)
    return None if cold is None else "cold" if cold else "warm"


def say_cold_cure(before: Sequence[DriveResult], after: Sequence[DriveResult]) -> str | None:
    """Why nothing may be called cured: cold drives on one side, none on the other. None where that is not so."""
    states = [{_state(r) for r in side} for side in (before, after)]
    if states == [{"cold"}, {"warm"}]:
        return "before was driven cold and after warm: a cold complaint is cured only on cold drives"
    if states == [{"warm"}, {"cold"}]:
        return "before was driven warm and after cold: cold oil drags"
    return None
