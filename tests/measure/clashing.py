"""A gearbox made apart from the synthesiser: rumble, whine, engine orders, blows, and teeth that pass one by one."""

from dataclasses import dataclass, field

import numpy as np

from shiftlog.measure.scene import Scene
from shiftlog.model.car import Car
from shiftlog.model.drive import Signals
from shiftlog.model.lever import LeverPath
from shiftlog.model.settings import Settings
from shiftlog.model.shift import Shift
from shiftlog.model.trace import Trace

LEVER_HZ = 250.0
TEETH = 36
RATIO = {"2": 1.95, "3": 1.4}
RPM_PER_MPS = {"2": 260.0, "3": 187.0}


@dataclass(eq=False, kw_only=True)
class Gearbox:
    """A drive at a steady 15 m/s in which 2-3 is shifted every six seconds."""

    seed: int
    minutes: float = 2.0
    rate_hz: float = 1600.0
    road_mps2: float = 0.2
    push_s: float = 0.2
    accel: np.ndarray = field(init=False)
    shifts: list[Shift] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.rng = np.random.default_rng([self.seed, 99])
        self.time_s = np.arange(0, self.minutes * 60, 1 / self.rate_hz)
        self.accel = self.road_mps2 * self.rng.normal(0, 1, (self.time_s.size, 3))
        self.accel[:, 2] += 9.81
        self.rpm = 15 * RPM_PER_MPS["2"]
        orders = 0.1 * np.sin(2 * np.pi * 2 * self.rpm / 60 * self.time_s)
        whine = 0.15 * np.sin(2 * np.pi * 11.3 * self.rpm / 60 * self.time_s)
        self.accel += np.outer(orders + whine, (0.5, 0.3, 0.8))
        for number, at_s in enumerate(np.arange(6.0, self.minutes * 60 - 4, 6.0), start=1):
            self.shifts.append(self._shift(number, at_s))
            self.blow(at_s + 0.2 + self.push_s + 0.003, self.rng.uniform(5, 15))

    def _shift(self, number: int, at_s: float) -> Shift:
        """Out of second at ``at_s``, neutral for 0.1 s, pushed into third over ``push_s``."""
        return Shift(
            number=number, from_gear="2", to_gear="3", start_s=at_s, out_s=at_s + 0.03, entered_s=at_s + 0.19,
            in_s=at_s + 0.2 + self.push_s * 0.7, end_s=at_s + 0.2 + self.push_s, seen_by="lever", outcome="clean",
            standing=False,
        )  # fmt: skip

    def blow(
        self, at_s: float, size: float, *, modes_hz: tuple[float, ...] = (90, 210, 380), fade_s: float = 0.01
    ) -> None:
        """Something struck once, and rings."""
        near = slice(*np.searchsorted(self.time_s, (at_s, at_s + 0.3)))
        since = self.time_s[near] - at_s
        for frequency_hz in modes_hz:
            ring = size * np.exp(-since / fade_s) * np.sin(2 * np.pi * frequency_hz * since)
            self.accel[near] += np.outer(ring / len(modes_hz), self.rng.normal(0, 1, 3))

    def pothole(self, at_s: float, size: float) -> None:
        """A wheel hops, and the blow runs through the structure."""
        near = slice(*np.searchsorted(self.time_s, (at_s, at_s + 0.5)))
        since = self.time_s[near] - at_s
        self.accel[near] += np.outer(size * np.exp(-since / 0.07) * np.sin(2 * np.pi * 12 * since), (0.3, 0.2, 1.0))
        self.blow(at_s, 0.8 * size, modes_hz=(30, 60, 120, 250), fade_s=0.02)

    def clash(self, shift: Shift, size: float, *, lasts_s: float, apart_rpm: float = 600.0) -> None:
        """Teeth pass until the dogs are in: an impact each, of random size, into a structure that rings."""
        begin_s = shift.end_s - 0.015 - lasts_s
        phase, at_s = self.rng.uniform(), begin_s
        while at_s < shift.end_s - 0.015:
            left = 1 - 0.6 * (at_s - begin_s) / lasts_s
            self.blow(at_s, size * self.rng.lognormal(0, 0.5), modes_hz=(290, 410, 560), fade_s=0.006)
            at_s += (1 + 0.1 * phase) / (TEETH * apart_rpm * left / 60)

    def scene(self, **more: object) -> Scene:
        """As the families get it."""
        lever_s = np.arange(0, self.minutes * 60, 1 / LEVER_HZ)
        depth = np.ones(lever_s.size)
        for shift in self.shifts:
            corners = [shift.start_s - 0.005, shift.start_s + 0.05, shift.end_s - self.push_s, shift.end_s + 0.01]
            inside = (lever_s > corners[0]) & (lever_s < corners[-1])
            depth[inside] = np.interp(lever_s[inside], corners, [0.92, 0.0, 0.0, 0.93])
        path = LeverPath(
            time_s=lever_s, select_mm=0 * lever_s, engage_mm=15 * depth, engage_mmps=np.gradient(15 * depth, lever_s),
            still_mmps=0 * lever_s, depth=depth, gear=np.zeros(lever_s.size, int), gears=("3",),
            seat_mm=np.array([15.0]),
            zero_u_mm=np.zeros(1), valid=np.ones(lever_s.size, bool), rate_hz=LEVER_HZ, noise_mm=0.05,
        )  # fmt: skip
        steady = np.ones(self.time_s[:: int(self.rate_hz / 20)].size)
        signals = Signals(
            accel={"gearbox": self.trace(self.time_s, self.accel, self.rate_hz, "gearbox", **more)},
            engine_speed=self.trace(self.time_s[:: int(self.rate_hz / 20)], self.rpm * steady, 20.0, "engine"),
            vehicle_speed=self.trace(self.time_s[:: int(self.rate_hz / 20)], 15 * steady, 20.0, "engine"),
        )
        car = Car(
            name="test car", gate=None, ratios=RATIO, final_drive={"2": 4.0, "3": 4.0}, rolling_radius_m=0.3,
            dog_teeth={"2": TEETH, "3": TEETH},
        )  # fmt: skip
        return Scene(
            signals=signals, car=car, path=path, settings=Settings(), shifts=tuple(self.shifts), rpm_per_mps=RPM_PER_MPS
        )

    @staticmethod
    def trace(time_s: np.ndarray, values: np.ndarray, rate_hz: float, place: str, **more: object) -> Trace:
        return Trace(
            time_s=time_s.copy(), values=values.copy(), spans=((float(time_s[0]), float(time_s[-1])),),
            rate_hz=rate_hz, recording=f"{place} log", place=place, **more,
        )  # fmt: skip
