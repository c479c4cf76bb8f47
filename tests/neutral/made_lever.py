"""Levers in gear by a ruler: seats, a hand, an engine that pulls, and a cheap sensor, all of known size."""

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from shiftlog.detect.gates import fit_gate_map
from shiftlog.detect.lever import build_path
from shiftlog.model.car import Car, GateLayout, Plane
from shiftlog.model.drive import Signals
from shiftlog.model.gate import GateMap
from shiftlog.model.lever import LeverPath
from shiftlog.model.settings import Settings
from shiftlog.model.trace import Trace

PLANES = (("1", "2"), ("3", "4"), ("5", "R"))
DRIVEN_MPS2, OVERRUN_MPS2 = 1.4, -0.9
SPEED_MPS = 20.0


@dataclass(eq=False, kw_only=True)
class MadeLever:
    """A drive through all gears, ``rounds`` times, six seconds each: three driven, three on the overrun.

    off : by gear, (select, engage) from its place [mm]; rock_mm : from overrun to drive; share : of the profile's
    travel; held : gears with a hand on the lever all the time; ruler : whether mm_per_unit is known
    """

    seed: int = 1
    rate_hz: float = 250.0
    noise_mm: float = 0.06
    rounds: int = 4
    off: Mapping[str, tuple[float, float]] = field(default_factory=dict)
    rock_mm: float = 0.0
    share: float = 1.0
    held: tuple[str, ...] = ()
    ruler: bool = False
    stay_mm: float = 0.08
    only_driven: tuple[str, ...] = ()
    counts_per_mm: float = 11.0

    def __post_init__(self) -> None:
        rng = np.random.default_rng([self.seed, 4])
        scale = {"select": 1 / self.counts_per_mm, "engage": 1 / self.counts_per_mm} if self.ruler else None
        self.layout = GateLayout(
            planes=tuple(Plane(forward=f, rear=r) for f, r in PLANES), home="3-4", mm_per_unit=scale
        )
        self.car = Car(name="made", gate=self.layout, redline_rpm=7000)
        legs, pulls = [], []
        here = np.zeros(2)
        for _ in range(self.rounds):
            for gear in rng.permutation(self.layout.gears):
                seat = self.seat(gear) + rng.normal(0, self.stay_mm, 2)
                for leg in (
                    _move(here, (here[0], 0.0), 0.2, self.rate_hz),
                    _move((here[0], 0.0), (seat[0], 0.0), 0.2, self.rate_hz),
                    _move((seat[0], 0.0), seat, 0.15, self.rate_hz),
                ):
                    legs.append(leg)
                    pulls.append(np.zeros(len(leg)))
                stay, pull = self._stay(gear, seat, rng)
                legs.append(stay)
                pulls.append(pull)
                here = seat
        self.mm, self.pull = np.concatenate(legs), np.concatenate(pulls)
        self.rng = rng

    def seat(self, gear: str) -> np.ndarray:
        """Where the lever lies in a gear [mm]."""
        x, y = self.layout.position_mm(gear)
        return np.array([x, y * self.share]) + np.array(self.off.get(gear, (0.0, 0.0)))

    def _stay(self, gear: str, seat: np.ndarray, rng: np.random.Generator) -> tuple[np.ndarray, np.ndarray]:
        count = int(6 * self.rate_hz)
        first = np.arange(count) < count // 2
        pull = np.where(first | (gear in self.only_driven), DRIVEN_MPS2, OVERRUN_MPS2)
        stay = np.tile(seat, (count, 1))
        stay[:, 1] += self.rock_mm * np.where(pull > 0, 0.5, -0.5)
        if gear in self.held:
            stay += _hand(count, self.rate_hz, rng)
        return stay, pull

    def measure_from(self, **more: object) -> tuple[LeverPath, GateMap, Signals]:
        """What measuring starts from; ``more`` takes the place of the motion sensor at the body."""
        time = np.arange(len(self.mm)) / self.rate_hz
        raw = self.mm + self.rng.normal(0, self.noise_mm, self.mm.shape)
        raw = np.round(raw * self.counts_per_mm) + 512
        signals = Signals(
            lever=self.trace(raw), lever_grows=("right", "forward"),
            **(more or {"accel_vehicle": {"body": self.body()}}),
        )  # fmt: skip
        gate = fit_gate_map(signals, self.car)
        assert time.size == len(raw)
        return build_path(signals.lever, gate, Settings()), gate, signals

    def trace(self, values: np.ndarray) -> Trace:
        """A signal of this drive, sample by sample with the lever."""
        time = np.arange(len(values)) / self.rate_hz
        return Trace(
            time_s=time, values=values, spans=((0.0, float(time[-1])),), rate_hz=self.rate_hz, recording="r",
            place="body",
        )  # fmt: skip

    def body(self) -> Trace:
        """What a motion sensor at the body feels."""
        felt = np.zeros((len(self.pull), 3))
        felt[:, 0], felt[:, 2] = self.pull + self.rng.normal(0, 0.4, len(self.pull)), 9.81
        return self.trace(felt)

    def speed(self) -> Trace:
        """Vehicle speed, as the pulls make it."""
        return self.trace(SPEED_MPS + np.cumsum(self.pull - self.pull.mean()) / self.rate_hz)


def _move(a: tuple[float, float], b: tuple[float, float], lasts_s: float, rate_hz: float) -> np.ndarray:
    u = np.linspace(0, 1, max(int(lasts_s * rate_hz), 2))[:, None]
    return np.array(a) + (10 * u**3 - 15 * u**4 + 6 * u**5) * (np.array(b) - np.array(a))


def _hand(count: int, rate_hz: float, rng: np.random.Generator) -> np.ndarray:
    """Tremor of 8 to 12 Hz and a slow wander, both axes."""
    time = np.arange(count) / rate_hz
    knots = np.arange(0, time[-1] + 1.6, 0.8)
    slow = np.column_stack([np.interp(time, knots, rng.normal(0, 0.25, knots.size)) for _ in (0, 1)])
    hertz = rng.uniform(8, 12)
    return slow + 0.11 * np.column_stack([np.sin(2 * np.pi * hertz * time), 0.6 * np.cos(2 * np.pi * hertz * time)])
