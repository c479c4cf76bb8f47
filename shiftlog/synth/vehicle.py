"""Longitudinal dynamics: engine, clutch that slips and locks, driveline swing, brakes, grade, standstill."""

import math
from dataclasses import dataclass, field

import numpy as np

from shiftlog.synth.cars import SynthCar
from shiftlog.synth.pedals import Controls
from shiftlog.units import STANDARD_GRAVITY_MPS2 as G

STEP_S = 0.004
"""The fastest swing is that of the driveline, 8 Hz: 30 steps a period."""

RPM = 60 / (2 * math.pi)
ROLLING = 0.012
"""Rolling resistance of a car tyre on tarmac (common practice, no source)."""
AIR_KGPM3 = 1.2
BRAKE_MPS2 = 8.0
CLUTCH_MARGIN = 1.6
"""Torque the closed clutch can hold over the engine's greatest (common practice, no source)."""


FREE_DAMPING = 0.6
"""With the clutch open only its disc hangs on the shafts: they untwist fast and hardly swing."""


@dataclass(frozen=True, eq=False, kw_only=True)
class Motion:
    """The drive as the vehicle lived it, on one even grid.

    time_s (n,); speed_mps (n,) signed; engine_rpm (n,); accel_mps2 (n,) longitudinal, without gravity;
    force_n (n,) at the wheels; yaw_rate (n,) [rad/s]; clutch, throttle, brake, grade (n,); closed (n,) bool
    """

    time_s: np.ndarray
    speed_mps: np.ndarray
    engine_rpm: np.ndarray
    accel_mps2: np.ndarray
    force_n: np.ndarray
    yaw_rate: np.ndarray
    clutch: np.ndarray
    throttle: np.ndarray
    brake: np.ndarray
    grade: np.ndarray
    closed: np.ndarray


@dataclass(eq=False, kw_only=True)
class Vehicle:
    """Steps a car along its controls; the driver may look at ``speed`` and ``rpm`` between runs."""

    synth_car: SynthCar
    controls: Controls
    count: int = 0
    speed: float = 0.0
    omega: float = field(init=False)
    locked: bool = False
    force: float = 0.0
    force_rate: float = 0.0
    accel: float = 0.0
    rows: list[np.ndarray] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.omega = self.synth_car.idle_rpm / RPM

    @property
    def now_s(self) -> float:
        """Time up to which it has run [s]."""
        return self.count * STEP_S

    @property
    def rpm(self) -> float:
        """Engine speed now."""
        return self.omega * RPM

    def run(self, until_s: float) -> None:
        """Step on to ``until_s`` with the controls as they are now."""
        stop = int(round(until_s / STEP_S))
        if stop <= self.count:
            return
        time_s = np.arange(self.count, stop) * STEP_S
        c = self.controls
        inputs = np.stack([c.throttle.at(time_s), c.clutch.at(time_s), c.brake.at(time_s), c.grade.at(time_s)])
        gears = [c.gear.gears[i] for i in c.gear.index_at(time_s)]
        out = [self._step(gear, *pedals) for gear, pedals in zip(gears, inputs.T.tolist(), strict=True)]
        self.rows.append(np.column_stack([time_s, np.array(out), inputs.T]))
        self.count = stop

    def motion(self) -> Motion:
        """All that was run so far."""
        rows = np.concatenate(self.rows)
        time_s, speed, omega, accel, force, closed, throttle, clutch, brake, grade = rows.T
        return Motion(
            time_s=time_s,
            speed_mps=speed,
            engine_rpm=omega * RPM,
            accel_mps2=accel,
            force_n=force,
            yaw_rate=self.controls.curve.at(time_s) * np.clip(speed / 5.0, 0.0, 1.0),
            clutch=clutch,
            throttle=throttle,
            brake=brake,
            grade=grade,
            closed=closed > 0.5,
        )

    def _step(
        self, gear: str | None, throttle: float, clutch: float, brake: float, grade: float
    ) -> tuple[float, float, float, float, float]:
        k = 0.0 if gear is None else omega_per_mps(self.synth_car, gear)
        engine = engine_torque(self.synth_car, self.omega, throttle)
        passed = self._clutch_torque(engine, k, clutch)
        self._swing_driveline(passed * k, gear)
        self._move(brake, grade)
        if self.locked:
            self.omega = max(k * self.speed, 0.0)
        else:
            self.omega = max(self.omega + (engine - passed) / self.synth_car.engine_inertia_kgm2 * STEP_S, 0.0)
        return self.speed, self.omega, self.accel, self.force, float(self.locked)

    def _clutch_torque(self, engine: float, k: float, clutch: float) -> float:
        """Torque through the clutch [N m]; sets ``locked``."""
        if k == 0.0 or clutch > 0.97:
            self.locked = False
            return 0.0
        most = CLUTCH_MARGIN * self.synth_car.torque_nm * (1 - clutch) ** 1.5
        slip = self.omega - k * self.speed
        carried = engine - self.synth_car.engine_inertia_kgm2 * k * self.accel
        stalls = abs(k * self.speed) < 0.45 * self.synth_car.idle_rpm / RPM
        self.locked = (self.locked or abs(slip) < 4.0) and abs(carried) <= most and not stalls
        return carried if self.locked else most * math.tanh(slip / 6.0)

    def _swing_driveline(self, wanted_n: float, gear: str | None) -> None:
        """Force at the wheels follows the clutch through the twist of shafts and tyres (second order)."""
        omega, damping = 2 * math.pi * shuffle_hz(self.synth_car, gear), self.synth_car.shuffle_damping
        if wanted_n == 0.0:
            omega, damping = 2.0 * omega, FREE_DAMPING
        rate = omega**2 * (wanted_n - self.force) - 2 * damping * omega * self.force_rate
        self.force_rate += rate * STEP_S
        self.force += self.force_rate * STEP_S

    def _move(self, brake: float, grade: float) -> None:
        car = self.synth_car
        direction = math.copysign(1.0, self.speed) if abs(self.speed) > 1e-6 else 0.0
        drag = direction * 0.5 * AIR_KGPM3 * car.drag_area_m2 * self.speed**2
        hold = car.mass_kg * (ROLLING * G + brake * BRAKE_MPS2)
        push = self.force - drag - car.mass_kg * G * grade
        standing = math.copysign(max(abs(push) - hold, 0.0), push)
        net = push - direction * hold if direction else standing
        speed = self.speed + net / car.mass_kg * STEP_S
        if direction and speed * direction <= 0.0 and abs(push) <= hold:
            speed = 0.0
        self.accel = (speed - self.speed) / STEP_S
        self.speed = speed


def omega_per_mps(synth_car: SynthCar, gear: str) -> float:
    """Engine speed over vehicle speed with the clutch closed [rad/m]; below zero in reverse."""
    ratio = synth_car.car.rpm_per_mps(gear) / RPM
    return -ratio if gear == "R" else ratio


def shuffle_hz(synth_car: SynthCar, gear: str | None) -> float:
    """Undamped frequency of the driveline's swing in a gear [Hz]; neutral rings like the highest."""
    gears = synth_car.forward_gears
    low, high = synth_car.shuffle_hz
    if gear == "R":
        return low
    place = gears.index(gear) / (len(gears) - 1) if gear else 1.0
    return low + (high - low) * place


def engine_torque(synth_car: SynthCar, omega: float, throttle: float) -> float:
    """Torque of the engine at a speed [rad/s] and a throttle opening, its losses and idle governor included [N m]."""
    rpm = omega * RPM
    redline = synth_car.car.redline_rpm
    fuel = 0.0 if rpm > redline else throttle
    full = synth_car.torque_nm * (1.0 - 0.35 * ((rpm - 0.55 * redline) / (0.6 * redline)) ** 2)
    losses = synth_car.torque_nm * (0.08 + 0.14 * rpm / redline)
    idle = max(0.0, synth_car.torque_nm * (synth_car.idle_rpm - rpm) / 250.0 + losses)
    governed = min(idle, 0.6 * synth_car.torque_nm) if rpm < synth_car.idle_rpm + 250.0 else 0.0
    return max(fuel * full, governed) - losses
