"""Like with like: which drives and which shifts may stand beside one another, and why the others may not."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from shiftlog.compare.kinds import kind_of
from shiftlog.compare.ratios import find_other_ratios
from shiftlog.compare.scales import has_other_scale
from shiftlog.measure.synchro import COLD_C
from shiftlog.model.result import DriveResult
from shiftlog.model.shift import Shift
from shiftlog.model.told import Told, tell


@dataclass(frozen=True, eq=False, kw_only=True)
class Likeness:
    """One thing shifts must share.

    room : how far beyond the other side's range still counts as alike, in the figure's unit, or as a share of it
    by_kind : whether each kind of shift has a range of its own, or the drives one for all
    """

    name: str
    room: float
    relative: bool = False
    by_kind: bool = True


# About the scatter of one practised driver who means to do the same again (common practice, no source): a handful of
# shifts does not show the whole of it.
ALIKE: Mapping[str, Likeness] = {
    "engine_speed_rpm": Likeness(name="engine speed", room=500.0),
    "vehicle_speed_mps": Likeness(name="vehicle speed", room=4.0),
    "gearbox_temp_c": Likeness(name="gearbox temperature", room=10.0, by_kind=False),
    "approach_speed_mmps": Likeness(name="approach speed of the hand", room=0.3, relative=True, by_kind=False),
    "rev_mismatch_rpm": Likeness(name="rev mismatch", room=300.0),
}

HAND = "approach_speed_mmps"
# A refusal changes the hand: the next push is harder, and would be left out for what the gearbox did.
NOT_HELD = {("refused_share", HAND)}

Band = tuple[float, float]
Where = tuple[str, str]
"""Kind of shift (or standing, or under way) and key of the figure."""


@dataclass(frozen=True, eq=False, kw_only=True)
class Bands:
    """The bands that both sides drove, and the gears that had another ratio on either."""

    bands: Mapping[Where, Band]
    other_ratios: frozenset[str] = frozenset()

    def why_outside(self, shift: Shift, *, measure: str = "") -> str | None:
        """Why this shift has no counterpart on the other side for a measure, or None."""
        if why := self.why_other_ratio(shift.from_gear, shift.to_gear):
            return why
        for key, likeness in ALIKE.items():
            if (measure, key) in NOT_HELD:
                continue
            value, band = shift.value(key), self.bands.get(_where(shift, key))
            if value is not None and band is not None and not band[0] <= value <= band[1]:
                return tell(f"left.outside_{key}", f"{likeness.name} outside what both sides drove")
        return None

    def why_other_ratio(self, *gears: str | None) -> Told | None:
        """Why shifts of these gears are not alike, or None."""
        gear = next((g for g in gears if g in self.other_ratios), None)
        return gear and tell("left.other_ratio", f"gear {gear} had another ratio on the other side", gear=gear)


def find_bands(before: Sequence[DriveResult], after: Sequence[DriveResult]) -> Bands:
    """The bands both sides drove; nothing is held against a figure that one side did not log."""
    sides = [_ranges(side) for side in (before, after)]
    shared = sides[0].keys() & sides[1].keys()
    if has_other_scale((*before, *after)):
        shared = {where for where in shared if where[1] != HAND}
    bands = {where: _overlap(ALIKE[where[1]], sides[0][where], sides[1][where]) for where in shared}
    return Bands(bands=bands, other_ratios=find_other_ratios(before, after))


def _overlap(likeness: Likeness, one: Band, other: Band) -> Band:
    low, high = max(one[0], other[0]), min(one[1], other[1])
    if likeness.relative:
        return low - likeness.room * abs(low), high + likeness.room * abs(high)
    return low - likeness.room, high + likeness.room


def _where(shift: Shift, key: str) -> Where:
    if ALIKE[key].by_kind:
        return kind_of(shift), key
    return "standing" if shift.standing else "under way", key


def _ranges(side: Sequence[DriveResult]) -> dict[Where, Band]:
    values: dict[Where, list[float]] = {}
    for shift in (s for result in side for s in result.shifts):
        for key in ALIKE:
            if (value := shift.value(key)) is not None:
                values.setdefault(_where(shift, key), []).append(float(value))
    return {where: (min(found), max(found)) for where, found in values.items()}


def find_strangers(side: Sequence[DriveResult], other: Sequence[DriveResult]) -> list[str | None]:
    """For each drive of ``side``: why it has no counterpart on the other side, or None.

    A driver or a cold gearbox on one side only is left out where enough is alike without it.
    """
    by_driver = _one_sided([r.head.driver for r in side], [r.head.driver for r in other], _other_driver)
    cold = [[_state(r) for r in drives] for drives in (side, other)]
    by_cold = _one_sided(cold[0], cold[1], _other_state)
    return [a or b for a, b in zip(by_driver, by_cold, strict=True)]


def _other_driver(name: str) -> Told:
    return tell("left.other_driver", f"driver {name} on one side only", name=name)


def _other_state(state: str) -> Told:
    return tell(f"left.only_{state}", f"driven {state}, no such drive on the other side")


def _one_sided(
    mine: Sequence[str | None], theirs: Sequence[str | None], why: Callable[[str], Told]
) -> list[Told | None]:  # fmt: skip
    if None in mine or None in theirs or not set(mine) & set(theirs):
        return [None for _ in mine]
    return [None if word in theirs else why(word) for word in mine]


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
        said = "before was driven cold and after warm: a cold complaint is answered only on cold drives"
        return tell("guard.warm_after", said)
    if states == [{"warm"}, {"cold"}]:
        return tell("guard.cold_after", "before was driven warm and after cold: cold oil drags")
    return None
