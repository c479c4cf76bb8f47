"""What a clearance test says, and the setting of the cables that follows from it."""

from collections.abc import Mapping
from dataclasses import dataclass


@dataclass(frozen=True, eq=False, kw_only=True)
class Clearance:
    """Lever travel left in one gear between where the lever lies when let go and where the gate stops it.

    way : +1 for a gear that lies forward, −1 for one that lies rearward
    clearance_mm : median over the presses, 0 where no press moved the lever; sd_mm : of one press (repeatability)
    u_mm : standard uncertainty of the clearance; wanted_mm : what the shop wants there
    gives_mm_per_n : how much a stop gives with force, where that was logged; soft : it is not the gate's
    left_mm, right_mm : room across the gate in this gear, or None where the lever was not pushed sideways
    """

    gear: str
    way: int
    clearance_mm: float
    sd_mm: float
    u_mm: float
    presses: int
    wanted_mm: float
    gives_mm_per_n: float | None = None
    soft: bool = False
    left_mm: float | None = None
    right_mm: float | None = None

    @property
    def margin_mm(self) -> float:
        """What is left over beside what is wanted [mm]."""
        return self.clearance_mm - self.wanted_mm


@dataclass(frozen=True, eq=False, kw_only=True)
class Setting:
    """A change of both cables, in mm at the lever; positive moves every gear forward, or to the right.

    turns : None where the cable has no threaded adjuster, or what a turn does is not known
    """

    engage_mm: float
    select_mm: float
    engage_turns: float | None = None
    select_turns: float | None = None


@dataclass(frozen=True, eq=False, kw_only=True)
class Turned:
    """What a further turn from the best setting does. clearances : by gear [mm]; smallest_mm : smallest margin."""

    setting: Setting
    smallest_mm: float
    clearances: Mapping[str, float]


@dataclass(frozen=True, eq=False, kw_only=True)
class CableAdvice:
    """The best setting whatever the verdict, and what it would give.

    verdict : ``adjust`` | ``leave`` | ``not_by_adjustment``; why : in words; missing_mm : what the tightest gear still
    lacks at the best setting, 0 where nothing is missing; doubtful : the limit lies within what is uncertain
    binding : gears that bind at the best setting; sd_engage_mm, sd_select_mm : how sure the setting is
    expected : clearance by gear after it; smallest_now_mm, smallest_then_mm : smallest clearance less what is wanted
    not_a_gate_stop : gears whose stop gives with force, kept out
    coupling : (engage per select, select per engage), how far one axis moves the other
    """

    car: str
    clearances: tuple[Clearance, ...]
    setting: Setting
    sd_engage_mm: float
    sd_select_mm: float
    expected: Mapping[str, float]
    binding: tuple[str, ...]
    missing_mm: float
    smallest_now_mm: float
    smallest_then_mm: float
    verdict: str
    why: str
    doubtful: bool = False
    turn_table: tuple[Turned, ...] = ()
    not_a_gate_stop: tuple[str, ...] = ()
    scale: str = "relative"
    notes: tuple[str, ...] = ()
    wanted_from: str = "profile"
    steps: tuple[str, ...] = ()
    coupling: tuple[float, float] = (0.0, 0.0)

    @property
    def knows_across(self) -> bool:
        """Whether the room across the gate was measured in any gear."""
        return any(c.left_mm is not None or c.right_mm is not None for c in self.clearances)

    def after(self, engage_mm: float, select_mm: float) -> dict[str, float]:
        """Clearance of each gear of a hard stop after a change of both cables [mm]."""
        moved = engage_mm + self.coupling[0] * select_mm
        return {c.gear: c.clearance_mm - c.way * moved for c in self.clearances if not c.soft}
