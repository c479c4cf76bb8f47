"""The troubles of going into gear that are counted, and the shifts in which each can be told."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from shiftlog.model.shift import Shift


@dataclass(frozen=True, eq=False, kw_only=True)
class Trouble:
    """One trouble.

    name : of its rules; noun : as sentences begin with it; told : the shifts it was looked for in
    happened : whether it did in a shift, None where it cannot be told
    usual : a share up to which it is none to speak of (common practice, no source)
    """

    name: str
    noun: str
    told: str
    happened: Callable[[Shift], bool | None]
    usual: float


def _ground(shift: Shift) -> bool | None:
    value = shift.value("grind")
    return None if value is None else bool(value)


def _pushed_again(shift: Shift) -> bool | None:
    if shift.attempts is None:
        return None
    return shift.outcome == "missed" or shift.attempts > 1


GRIND = Trouble(name="grind", noun="Grinds", told="shifts in which a grind can be told", happened=_ground, usual=0.03)
"""Usual: what is heard wrongly, three times over."""
PUSHES = Trouble(
    name="second push", noun="Second pushes or refusals", told="shifts seen by the lever",
    happened=_pushed_again, usual=0.05,
)  # fmt: skip
"""Usual: a hand that misses now and then."""
TROUBLES = (GRIND, PUSHES)


@dataclass(frozen=True, eq=False, kw_only=True)
class Count:
    """Shifts in which a trouble can be told, those in which it happened, and those that stayed open."""

    told: tuple[Shift, ...]
    bad: tuple[Shift, ...]
    left_open: tuple[Shift, ...] = ()

    @property
    def k(self) -> int:
        """How often it happened."""
        return len(self.bad)

    @property
    def n(self) -> int:
        """Of how many."""
        return len(self.told)

    @property
    def most(self) -> int:
        """Of how many if those left open were spared: a clash may be loud enough to be told where silence is not."""
        return len(self.told) + len(self.left_open)

    @property
    def words(self) -> str:
        """``3 of 8``."""
        return f"{self.k} of {self.n}"


def count(shifts: Sequence[Shift], trouble: Trouble) -> Count:
    """How often a trouble happened among shifts."""
    told = tuple(s for s in shifts if trouble.happened(s) is not None)
    left_open = tuple(s for s in shifts if trouble.happened(s) is None)
    return Count(told=told, bad=tuple(s for s in told if trouble.happened(s)), left_open=left_open)


def under_way(shifts: Sequence[Shift]) -> tuple[Shift, ...]:
    """Shifts of the lever into a forward gear of a car that rolls: at standstill tooth stands on tooth in any car."""
    return tuple(
        s
        for s in shifts
        if s.seen_by == "lever"
        and s.standing is False
        and not s.via
        and (s.to_gear or "").isdecimal()
        and s.outcome in ("clean", "second_push", "missed")
    )


def by_gear(shifts: Sequence[Shift]) -> dict[str, tuple[Shift, ...]]:
    """Shifts by the gear they go into, lowest first."""
    gears = sorted({s.to_gear for s in shifts})
    return {gear: tuple(s for s in shifts if s.to_gear == gear) for gear in gears}


def name_shifts(shifts: Sequence[Shift]) -> tuple[str, ...]:
    """``shift 14`` for each."""
    return tuple(f"shift {s.number}" for s in shifts)
