"""What the driver's feet and the gearbox are told to do, as knots on one time axis."""

from dataclasses import dataclass, field

import numpy as np


@dataclass(eq=False, kw_only=True)
class Pedal:
    """A course of straight lines between knots; ``value`` holds after the last knot."""

    value: float = 0.0
    times_s: list[float] = field(default_factory=lambda: [0.0])
    values: list[float] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.values.append(self.value)

    def to(self, value: float, *, start_s: float, over_s: float) -> None:
        """Go from where it is to ``value``; a move still under way at ``start_s`` is cut short there."""
        here = float(np.interp(start_s, self.times_s, self.values))
        while len(self.times_s) > 1 and self.times_s[-1] >= start_s:
            self.times_s.pop()
            self.values.pop()
        self.times_s += [start_s, start_s + over_s]
        self.values += [here, value]
        self.value = value

    def at(self, time_s: np.ndarray) -> np.ndarray:
        """Values at any times, (n,) → (n,)."""
        return np.interp(time_s, self.times_s, self.values)


@dataclass(eq=False, kw_only=True)
class GearSteps:
    """Which gear the dogs hold, by time; None in neutral."""

    times_s: list[float] = field(default_factory=lambda: [0.0])
    gears: list[str | None] = field(default_factory=lambda: [None])

    def engage(self, gear: str | None, *, at_s: float) -> None:
        """From ``at_s`` on ``gear`` is engaged. Calls come in order of time."""
        self.times_s.append(at_s)
        self.gears.append(gear)

    def index_at(self, time_s: np.ndarray) -> np.ndarray:
        """Index into ``gears`` for each time, (n,) int."""
        return np.searchsorted(self.times_s, time_s, side="right") - 1


@dataclass(eq=False, kw_only=True)
class Controls:
    """Everything the vehicle is driven by: pedals 0…1 (clutch 1 = down), road grade and yaw rate [rad/s]."""

    throttle: Pedal = field(default_factory=Pedal)
    clutch: Pedal = field(default_factory=Pedal)
    brake: Pedal = field(default_factory=Pedal)
    grade: Pedal = field(default_factory=Pedal)
    curve: Pedal = field(default_factory=Pedal)
    gear: GearSteps = field(default_factory=GearSteps)
