"""A car as its profile describes it: the gate first, ratios, tyre and limits where they are known."""

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

NEUTRAL = "N"
REVERSE = "R"


@dataclass(frozen=True, eq=False, kw_only=True)
class Plane:
    """One slot of the gate, by its gears; either may be None."""

    forward: str | None = None
    rear: str | None = None

    @property
    def name(self) -> str:
        """As the trade names it: its gears, forward first (``3-4``), or the one it has (``R``)."""
        return "-".join(gear for gear in (self.forward, self.rear) if gear)


@dataclass(frozen=True, eq=False, kw_only=True)
class GateLayout:
    """The gate as the driver sees it, planes from left to right.

    home : name of the plane in which the lever should come to rest, or None
    plane_pitch_mm : distance between neighbouring planes [mm]
    engage_travel_mm : forward seat to rearward seat [mm], at ``travel_at`` (``knob`` or ``sensor``)
    mm_per_unit : {"select": …, "engage": …} from a ruler, or None: then travel is relative
    """

    planes: tuple[Plane, ...]
    home: str | None = None
    lockout: str | None = None
    plane_pitch_mm: float = 25.0
    engage_travel_mm: float = 30.0
    travel_at: str = "knob"
    mm_per_unit: Mapping[str, float] | None = None

    @property
    def gears(self) -> tuple[str, ...]:
        """All gears, plane by plane, forward first."""
        return tuple(g for p in self.planes for g in (p.forward, p.rear) if g)

    def position_mm(self, gear: str) -> tuple[float, float]:
        """Place of a gear in the lattice, (select, engage) [mm]; select 0 is the leftmost plane's centre
        when there is no home plane, else the home plane's. KeyError where the gate lacks the gear."""
        for index, plane in enumerate(self.planes):
            if gear == plane.forward:
                return self.plane_mm(index), self.engage_travel_mm / 2
            if gear == plane.rear:
                return self.plane_mm(index), -self.engage_travel_mm / 2
        raise KeyError(gear)

    def plane_mm(self, index: int) -> float:
        """Select position of a plane's centre [mm]."""
        return (index - self.origin) * self.plane_pitch_mm

    def plane_of(self, gear: str) -> int:
        """Index of the plane that holds a gear. KeyError where none does."""
        for index, plane in enumerate(self.planes):
            if gear in (plane.forward, plane.rear):
                return index
        raise KeyError(gear)

    @property
    def origin(self) -> int:
        """Index of the plane at select 0."""
        return next((i for i, p in enumerate(self.planes) if p.name == self.home), 0)


@dataclass(frozen=True, eq=False, kw_only=True)
class Car:
    """What the profile says of a car.

    ratios, final_drive : by gear, or empty where not known
    rolling_radius_m : dynamic rolling radius [m], or None
    learnt_rpm_per_mps : engine speed over vehicle speed by gear, learnt from a drive [rpm/(m/s)]
    limits : what this shop accepts, by figure; cables : the adjusters, as the profile has them
    """

    name: str
    gate: GateLayout | None
    redline_rpm: float | None = None
    ratios: Mapping[str, float] = field(default_factory=dict)
    final_drive: Mapping[str, float] = field(default_factory=dict)
    dog_teeth: Mapping[str, int] = field(default_factory=dict)
    hub: Mapping[str, str] = field(default_factory=dict)
    reverse_synchronised: bool | None = None
    rolling_radius_m: float | None = None
    clutch_switch: str | None = None
    learnt_rpm_per_mps: Mapping[str, float] = field(default_factory=dict)
    limits: Mapping[str, float | Mapping[str, float]] = field(default_factory=dict)
    cables: Mapping[str, object] = field(default_factory=dict)

    def rpm_per_mps(self, gear: str) -> float | None:
        """Engine speed over vehicle speed with the clutch closed [rpm/(m/s)], or None.

        n = v / (2π r) · i_gear · i_final · 60.
        """
        if gear in self.ratios and gear in self.final_drive and self.rolling_radius_m:
            overall = self.ratios[gear] * self.final_drive[gear]
            return overall * 60 / (2 * math.pi * self.rolling_radius_m)
        return self.learnt_rpm_per_mps.get(gear)
