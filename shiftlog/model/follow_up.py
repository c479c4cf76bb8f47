"""What came of a change of the cables: foretold against measured, and what a turn is worth."""

from dataclasses import dataclass

from shiftlog.model.reading import Reading

SAME, MORE, LESS, UNKNOWN = "same", "more", "less", "not known"


@dataclass(frozen=True, eq=False, kw_only=True)
class Turning:
    """What was done to one cable. name : ``engage`` | ``select``

    turns : of its adjuster, or None where it was moved in a clamp; foretold_mm : what that should be at the lever, or
    None where a turn is not known; u_mm : how well the change itself was read off
    """

    name: str
    turns: float | None
    foretold_mm: float | None
    u_mm: float | None = None

    @property
    def touched(self) -> bool:
        """Whether it was changed at all."""
        return bool(self.turns) if self.turns is not None else bool(self.foretold_mm)


@dataclass(frozen=True, eq=False, kw_only=True)
class GearFollowed:
    """One gear. foretold_mm : clearance that the change should have given; difference_mm : measured less foretold

    verdict : ``same`` | ``more`` | ``less`` (beyond what is uncertain) | ``not known``, with the reason in ``why``
    fits : the same against what the cables were found to have moved
    """

    gear: str
    way: int
    wanted_mm: float
    before_mm: float
    after_mm: float
    foretold_mm: float | None
    difference_mm: Reading
    verdict: str
    fits: str
    why: str | None = None


@dataclass(frozen=True, eq=False, kw_only=True)
class CableFollowed:
    """One cable. moved_mm : what it moved at the lever, by the clearances; mm_per_turn : what a turn is worth

    profile_mm_per_turn : what the profile says, or None; other_way : it moved the lever against what was foretold
    """

    turning: Turning
    moved_mm: Reading
    mm_per_turn: Reading
    profile_mm_per_turn: float | None
    verdict: str
    other_way: bool = False


@dataclass(frozen=True, eq=False, kw_only=True)
class FollowUp:
    """A change of the cables, followed up.

    verdict : ``as_foretold`` | ``other_pitch`` (the gears agree on another mm per turn) | ``unlike`` (they do not agree
    on any) | ``not_known``; why : in words; steps : what comes next, before the road
    smallest_before_mm, smallest_after_mm : clearance less what is wanted, in the tightest gear
    """

    car: str
    scale: str
    gears: tuple[GearFollowed, ...]
    cables: tuple[CableFollowed, ...]
    tightest: str
    smallest_before_mm: float
    smallest_after_mm: float
    verdict: str
    why: str
    steps: tuple[str, ...]
    notes: tuple[str, ...] = ()

    def cable(self, name: str) -> CableFollowed:
        """The one of that name."""
        return next(c for c in self.cables if c.turning.name == name)
