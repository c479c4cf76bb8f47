"""A car with backlash in its driveline and an engine that one hears, apart from both other models of a car.

The clutch sticks, or slips while a foot keeps it from jerking the car by more than ``foot_mps2``. Behind it lie the
gearbox's own inertia, a gap of play and a springy shaft. Brakes are pressed by a foot that trembles. All sizes are
drawn from what road cars have (common practice, no source).
"""

import math
from dataclasses import dataclass, field

import numpy as np

STEP_S = 0.002
G = 9.80665
RPM = 60 / (2 * math.pi)

Rows = list[tuple[float, ...]]


@dataclass(frozen=True, kw_only=True)
class Make:
    """Ranges that one kind of car is drawn from; torque and mass-bound sizes per kg."""

    mass_kg: tuple[float, float]
    torque_per_kg: tuple[float, float]
    redline_rpm: tuple[float, float]
    drag: tuple[float, float]
    gears: tuple[int, int]
    swing_hz: tuple[float, float]
    play: tuple[float, float]


SALOON = Make(mass_kg=(950, 1600), torque_per_kg=(0.09, 0.16), redline_rpm=(5500, 6800), drag=(0.10, 0.22),
              gears=(5, 6), swing_hz=(2.0, 3.5), play=(0.0, 0.012))  # fmt: skip
SPORTS = Make(mass_kg=(850, 1500), torque_per_kg=(0.16, 0.30), redline_rpm=(6500, 8500), drag=(0.10, 0.25),
              gears=(5, 7), swing_hz=(2.5, 4.5), play=(0.0, 0.008))  # fmt: skip
VAN = Make(mass_kg=(1700, 3200), torque_per_kg=(0.09, 0.16), redline_rpm=(3600, 4600), drag=(0.14, 0.30), gears=(5, 6),
           swing_hz=(1.6, 3.0), play=(0.004, 0.02))  # fmt: skip


@dataclass(eq=False, kw_only=True)
class RoadCar:
    """A car drawn at random, and its state. Pedals 0 to 1 (``clutch`` 1 is open) run to ``target`` in ``pace_s``."""

    rng: np.random.Generator
    make: Make
    speed: float = 0.0
    shaft: float = 0.0
    wound: float = 0.0
    gear: int | None = 0
    stuck: bool = False
    tremble: float = 0.0
    pedal: dict[str, float] = field(default_factory=lambda: {"throttle": 0.0, "clutch": 1.0, "brake": 0.0})
    target: dict[str, float] = field(default_factory=lambda: {"throttle": 0.0, "clutch": 1.0, "brake": 0.0})
    pace_s: dict[str, float] = field(default_factory=lambda: {"throttle": 0.2, "clutch": 0.2, "brake": 0.3})
    grade: float = 0.0
    curve: float = 0.0
    rows: Rows = field(default_factory=list)

    def __post_init__(self) -> None:
        draw, make = self.rng.uniform, self.make
        gears = int(self.rng.integers(make.gears[0], make.gears[1] + 1))
        steps = np.cumprod(np.linspace(draw(1.55, 1.9), draw(1.15, 1.3), gears - 1))
        self.mass, self.redline = draw(*make.mass_kg), draw(*make.redline_rpm) / RPM
        self.per_mps = (self.redline / draw(10.0, 14.5) / np.concatenate(([1.0], steps))).tolist()
        self.torque, self.idle = self.mass * draw(*make.torque_per_kg), draw(700, 900) / RPM
        self.drag = draw(*make.drag) * self.torque
        self.rolling, self.air = draw(0.09, 0.16), draw(2.2e-4, 5.5e-4)
        self.inertia, self.box = draw(0.1, 0.22), 0.06
        low = draw(*make.swing_hz)
        self.stiff = [self._stiffness(k, low * (self.per_mps[0] / k) ** 0.6) for k in self.per_mps]
        self.damping, self.play, self.bite = draw(0.08, 0.25), draw(*make.play), draw(0.4, 0.8)
        self.trembling, self.engine = draw(0.0, 0.12), self.idle
        self.foot_mps2 = draw(0.4, 2.5)

    def _stiffness(self, k: float, swing_hz: float) -> float:
        turning = (self.inertia + self.box) * k**2
        return (2 * math.pi * swing_hz) ** 2 * turning * self.mass / (turning + self.mass)

    @property
    def now_s(self) -> float:
        return len(self.rows) * STEP_S

    def engine_in(self, gear: int) -> float:
        """Engine speed this gear would mean now [rad/s]."""
        return self.per_mps[gear] * self.speed

    def press(self, pace_s: float | None = None, **to: float) -> None:
        """Give pedals new targets, and the time they would take from end to end."""
        self.target.update(to)
        if pace_s is not None:
            self.pace_s.update(dict.fromkeys(to, max(pace_s, 0.02)))

    def run(self, seconds: float) -> None:
        noise = self.rng.normal(0, 1, max(round(seconds / STEP_S), 1))
        for white in noise.tolist():
            self._step(white)

    def _step(self, white: float) -> None:
        for name, value in self.pedal.items():
            most = STEP_S / self.pace_s[name]
            self.pedal[name] = value + max(-most, min(most, self.target[name] - value))
        self.tremble += -self.tremble * STEP_S / 0.5 + self.trembling * white * math.sqrt(2 * STEP_S / 0.5)
        force = self._drive(self._engine_torque())
        way = math.tanh(self.speed / 0.1)
        brake = 9.0 * self.pedal["brake"] * (1 + self.tremble)
        felt = force / self.mass - (self.rolling + self.air * self.speed**2 + brake) * way
        accel = felt - G * self.grade
        if self.speed <= 0.02 and accel < 0:
            felt = accel = 0.0
        self.speed = max(self.speed + accel * STEP_S, 0.0)
        self.rows.append((felt, self.speed, self.curve, accel, force / self.mass, self.engine))

    def _engine_torque(self) -> float:
        share, throttle = self.engine / self.redline, self.pedal["throttle"]
        full = self.torque * (0.7 + 0.75 * share - 0.6 * share**2) if share < 1 else 0.0
        torque = throttle * full - (1 - throttle) * self.drag * (0.5 + 0.5 * share)
        return torque if self.engine > 1.1 * self.idle else max(torque, (1.1 * self.idle - self.engine) * 6.0)

    def _drive(self, torque: float) -> float:
        """Force at the wheels [N], after one step of engine, clutch, gearbox and shaft."""
        if self.gear is None:
            self.engine, self.shaft = max(self.engine + torque / self.inertia * STEP_S, 10.0), self.speed
            self.wound, self.stuck = self.wound * 0.9, False
            return 0.0
        k, stiff = self.per_mps[self.gear], self.stiff[self.gear]
        held = 2.5 * self.torque * max(1 - self.pedal["clutch"] / self.bite, 0.0) ** 1.5
        turning = (self.inertia + self.box) * k**2
        self.wound += (self.shaft - self.speed) * STEP_S
        loaded = math.copysign(max(abs(self.wound) - self.play, 0.0), self.wound)
        force = stiff * loaded
        if loaded:
            force += 2 * self.damping * math.sqrt(stiff * turning * self.mass / (turning + self.mass)) * (
                self.shaft - self.speed
            )  # fmt: skip
        if self.stuck:
            rate = (torque * k - force) / turning
            self.stuck = abs(torque - self.inertia * rate * k) <= held
        if self.stuck:
            self.shaft += rate * STEP_S
            self.engine = k * self.shaft
            return force
        slip = self.engine - k * self.shaft
        gentle = min(held, abs(torque) + self.foot_mps2 * self.mass / k)
        passed = gentle * max(-1.0, min(1.0, slip / 30.0))
        self.engine = max(self.engine + (torque - passed) / self.inertia * STEP_S, 10.0)
        self.shaft += (passed * k - force) / (self.box * k**2) * STEP_S
        self.stuck = (
            abs(slip) < 6.0 and held > abs(torque) and held > 0.1 * self.torque and self.engine > 0.5 * self.idle
        )
        return force
