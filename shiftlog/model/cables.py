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
    left_mm, right_mm : room across the gate in this gear, 0 where a push there moved nothing, or None where the lever
    was not pushed sideways
    bound_mm : where no press moved the lever, the clearance is less than this; None else
    left_u_mm, right_u_mm : standard uncertainty of the room to either side, None where that is None
    left_bound_mm, right_bound_mm : where a push to that side moved nothing, the room is less than this; None else
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
    bound_mm: float | None = None
    left_u_mm: float | None = None
    right_u_mm: float | None = None
    left_bound_mm: float | None = None
    right_bound_mm: float | None = None

    @property
    def margin_mm(self) -> float:
        """What is left over beside what is wanted [mm]."""
        return self.clearance_mm - self.wanted_mm

    @property
    def leans(self) -> bool:
        """Whether no press moved the lever: it lies on its stop, and its clearance is at most what is said."""
        return self.presses == 0 or self.clearance_mm <= 0


@dataclass(frozen=True, eq=False, kw_only=True)
class Stop:
    """One stop of the gate that a setting takes from or gives to.

    side : ``home`` along the gate | ``left`` | ``right`` across it, in that gear
    takes : what a millimetre of the engage and of the select cable takes of its room; at_most : the room is a bound
    """

    gear: str
    side: str
    room_mm: float
    wanted_mm: float
    takes: tuple[float, float]
    u_mm: float
    at_most: bool = False

    def left_over(self, engage_mm: float, select_mm: float) -> float:
        """Room after a change of both cables [mm]."""
        return self.room_mm - self.takes[0] * engage_mm - self.takes[1] * select_mm

    def margin(self, engage_mm: float, select_mm: float) -> float:
        """What is then left over beside what is wanted [mm]."""
        return self.left_over(engage_mm, select_mm) - self.wanted_mm


@dataclass(frozen=True, eq=False, kw_only=True)
class Coupling:
    """How far one cable moves the lever along the other's way, in mm for each mm at the lever.

    engage_per_select, select_per_engage : what is reckoned with, 0 where it is not known; u : standard uncertainty of
    each, 0 where the profile gives it; off_square : by how much the seats' rows and planes are not square to each
    other, where a ruler's scale shows it
    """

    engage_per_select: float = 0.0
    select_per_engage: float = 0.0
    u: tuple[float, float] = (0.0, 0.0)
    off_square: float | None = None

    @property
    def known(self) -> bool:
        """Whether the profile gives both."""
        return not any(self.u)


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
    """What a further turn from the best setting does. clearances : by gear [mm]; smallest_mm : smallest margin

    tightest : the stop with that margin; within : whether the adjuster reaches so far, by the profile
    """

    setting: Setting
    smallest_mm: float
    clearances: Mapping[str, float]
    tightest: Stop
    within: bool = True


@dataclass(frozen=True, eq=False, kw_only=True)
class CableAdvice:
    """The best setting whatever the verdict, and what it would give.

    verdict : ``adjust`` | ``leave`` | ``not_by_adjustment``; why : in words; missing_mm : what the tightest gear still
    lacks at the best setting, 0 where nothing is missing; doubtful : the limit lies within what is uncertain
    binding : gears that bind at the best setting; sd_engage_mm, sd_select_mm : how sure the setting is
    expected : clearance by gear after it; smallest_now_mm, smallest_then_mm : smallest clearance less what is wanted
    not_a_gate_stop : gears whose stop gives with force, kept out; not_pressed : gears of the gate without a clearance
    coupling : (engage per select, select per engage) it was reckoned with; off_axis : the same with what is known of it
    stops : all that was reckoned with; doubts : why it is doubtful, ``uncertain`` | ``leans`` | ``coupling``
    ranges : (low, high) of the engage and the select cable [mm]; range_known : whether the profile gave them
    mm_per_turn : of the engage and the select cable, None where it is set in mm alone
    at_end : cables whose adjuster ends before the setting that would be best; beyond : that setting, whatever the
    range, and beyond_smallest_mm : its smallest margin, None where no range ends too early
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
    off_axis: Coupling = Coupling()
    stops: tuple[Stop, ...] = ()
    doubts: tuple[str, ...] = ()
    not_pressed: tuple[str, ...] = ()
    ranges: tuple[tuple[float, float], tuple[float, float]] = ((0.0, 0.0), (0.0, 0.0))
    range_known: tuple[bool, bool] = (False, False)
    at_end: tuple[str, ...] = ()
    beyond: Setting | None = None
    beyond_smallest_mm: float | None = None
    mm_per_turn: tuple[float | None, float | None] = (None, None)

    @property
    def sides_known(self) -> tuple[str, ...]:
        """To which sides the room across the gate was measured in any gear whose stop is the gate's."""
        hard = [c for c in self.clearances if not c.soft]
        rooms = {"left": [c.left_mm for c in hard], "right": [c.right_mm for c in hard]}
        return tuple(side for side, found in rooms.items() if any(room is not None for room in found))

    @property
    def knows_across(self) -> bool:
        """Whether the room across the gate was measured to both sides."""
        return len(self.sides_known) == 2

    @property
    def leaning(self) -> tuple[str, ...]:
        """Gears in which the lever lay on its stop: what they have is at most what is said."""
        return tuple(dict.fromkeys(stop.gear for stop in self.stops if stop.at_most))

    @property
    def stopped_by_range(self) -> bool:
        """Whether it is the adjuster's end alone that leaves a gear short."""
        return self.verdict == "not_by_adjustment" and self.beyond_smallest_mm is not None and (
            self.beyond_smallest_mm >= 0
        )  # fmt: skip

    @property
    def advised(self) -> Setting:
        """The change the steps tell: the best setting, or the one beyond an adjuster's end where that alone helps."""
        return self.beyond if self.stopped_by_range and self.beyond is not None else self.setting

    def after(self, engage_mm: float, select_mm: float) -> dict[str, float]:
        """Clearance of each gear of a hard stop after a change of both cables [mm]."""
        return {s.gear: s.left_over(engage_mm, select_mm) for s in self.stops if s.side == "home"}

    def across_after(self, engage_mm: float, select_mm: float) -> dict[tuple[str, str], float]:
        """Room across the gate by (gear, side) after a change of both cables [mm], where both sides are known."""
        return {(s.gear, s.side): s.left_over(engage_mm, select_mm) for s in self.stops if s.side != "home"}

    def tightest(self, engage_mm: float, select_mm: float) -> Stop:
        """The stop with the smallest margin after a change of both cables."""
        return min(self.stops, key=lambda stop: stop.margin(engage_mm, select_mm))
