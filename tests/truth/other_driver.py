"""A second driver in a second car, made apart from ``shiftlog.synth`` so that nothing is tuned to one of the two.

Other physics (a clutch that slips by its own law, a shaft with twist and no lag), other feet (throttle and brakes of
first order, a clutch of straight lines), and above all other habits: every second act lifts, taps the brakes or changes
throttle with the gear in, which is what a shift must be told from. All sizes are drawn from what road cars have (common
practice, no source).
"""

import math
from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np

STEP_S = 0.002
G = 9.80665
RPM = 60 / (2 * math.pi)


@dataclass(frozen=True, kw_only=True)
class OtherShift:
    """One change of gear; kind : ``drive``, ``engine`` (drag before it) or ``brakes``; gears by index."""

    start_s: float
    end_s: float
    kind: str
    from_gear: int
    to_gear: int


@dataclass(eq=False, kw_only=True)
class OtherCar:
    """A car drawn at random, and its state; pedals follow their targets."""

    rng: np.random.Generator
    speed: float = 0.1
    twist: float = 0.0
    gear: int | None = 0
    locked: bool = False
    throttle: float = 0.0
    clutch: float = 1.0
    brake: float = 0.0
    grade: float = 0.0
    curve: float = 0.0
    target: dict[str, float] = field(default_factory=lambda: dict(throttle=0, clutch=1, brake=0, grade=0, curve=0))
    pace: dict[str, float] = field(default_factory=lambda: {"throttle": 0.12, "clutch": 0.05, "brake": 0.15})
    rows: list[tuple[float, ...]] = field(default_factory=list)

    def __post_init__(self) -> None:
        draw, gears = self.rng.uniform, int(self.rng.integers(4, 8))
        first, top = draw(2.9, 4.1), draw(0.65, 1.0)
        spread = np.linspace(0, 1, gears) ** draw(0.75, 1.0)
        radius, final = draw(0.28, 0.35), draw(3.2, 4.4)
        self.per_mps = (first * (top / first) ** spread * final / radius).tolist()
        self.mass = draw(850, 2200)
        self.torque = self.mass * draw(0.10, 0.24)
        self.redline, self.idle = draw(4500, 7800) / RPM, draw(700, 950) / RPM
        self.inertia, self.air, self.rolling = draw(0.1, 0.28), 0.6 * draw(0.55, 0.9), draw(0.009, 0.016)
        self.losses = (draw(0.06, 0.12) * self.torque, draw(0.08, 0.20) * self.torque)
        self.swing_hz = np.linspace(draw(1.8, 4.0), draw(4.5, 8.0), gears).tolist()
        self.damping = draw(0.06, 0.25)
        self.omega = self.idle

    @property
    def now_s(self) -> float:
        return len(self.rows) * STEP_S

    def engine_in(self, gear: int) -> float:
        """Engine speed this gear would mean now [rad/s]."""
        return self.per_mps[gear] * self.speed

    def run(self, seconds: float, until: Callable[[], bool] | None = None) -> None:
        """Step on for some seconds, or until something is reached."""
        for _ in range(round(seconds / STEP_S)):
            if until is not None and until():
                break
            self._move_pedals()
            force = self._drive()
            direction = math.tanh(self.speed / 0.1)
            drag = self.air * self.speed**2 + self.mass * (G * self.rolling + 8.5 * self.brake) * direction
            felt = (force - drag) / self.mass
            accel = felt - G * self.grade
            if self.speed <= 0.02 and accel < 0:
                felt = accel = 0.0
            self.speed = max(self.speed + accel * STEP_S, 0.0)
            self.rows.append((felt, self.speed, self.curve, accel, force / self.mass))

    def _move_pedals(self) -> None:
        most = STEP_S / self.pace["clutch"]
        self.throttle += (self.target["throttle"] - self.throttle) * STEP_S / self.pace["throttle"]
        self.clutch += max(-most, min(most, self.target["clutch"] - self.clutch))
        self.brake += (self.target["brake"] - self.brake) * STEP_S / self.pace["brake"]
        self.grade += (self.target["grade"] - self.grade) * STEP_S / 3.0
        self.curve += (self.target["curve"] - self.curve) * STEP_S / 0.6

    def _engine_torque(self) -> float:
        share = self.omega / self.redline
        full = self.torque * (0.75 + 0.5 * share - 0.5 * share**2) if share < 1 else 0.0
        torque = self.throttle * full - (1 - self.throttle) * (self.losses[0] + self.losses[1] * share)
        low = 1.15 * self.idle
        return max(torque, min(0.5 * self.torque, 2 * self.torque * (low - self.omega) / self.idle)) \
            if self.omega < low else torque  # fmt: skip

    def _drive(self) -> float:
        """Force at the wheels [N] after one step of engine, clutch and shaft."""
        torque = self._engine_torque()
        if self.gear is None or self.clutch > 0.85:
            self.locked, self.twist = False, self.twist * 0.97
            self.omega = max(self.omega + torque / self.inertia * STEP_S, 20.0)
            return 0.0
        k = self.per_mps[self.gear]
        most = 2.2 * self.torque * min(max((0.85 - self.clutch) / 0.65, 0.0), 1.0) ** 1.4
        apart = self.inertia * k**2 * self.mass / (self.inertia * k**2 + self.mass)
        stiff = (2 * math.pi * self.swing_hz[self.gear]) ** 2 * apart
        if self.locked:
            rate = self.omega / k - self.speed
            force = stiff * self.twist + 2 * self.damping * math.sqrt(stiff * apart) * rate
            self.locked = abs(force / k) <= most
            if self.locked:
                self.twist += rate * STEP_S
                self.omega += (torque - force / k) / self.inertia * STEP_S
                return force
        return self._slip(torque, k, most, stiff)

    def _slip(self, torque: float, k: float, most: float, stiff: float) -> float:
        passed = most * math.tanh((self.omega - k * self.speed) / 5.0)
        self.twist = passed * k / stiff
        self.omega = max(self.omega + (torque - passed) / self.inertia * STEP_S, 10.0)
        fits = abs(self.omega - k * self.speed) < 3.0 and most > 0.3 * self.torque
        self.locked = fits and k * self.speed > 0.5 * self.idle
        return passed * k


@dataclass(eq=False, kw_only=True)
class OtherDriver:
    """Drives a car about; with ``shifting`` False he stays in one gear whatever happens."""

    car: OtherCar
    rng: np.random.Generator
    shifting: bool = True
    shifts: list[OtherShift] = field(default_factory=list)

    def drive_about(self, *, until_s: float) -> None:
        self._set_off()
        while self.car.now_s < until_s:
            self._next_act()

    def _pedals(self, *, pace_s: float | None = None, **to: float) -> None:
        self.car.target.update(to)
        if pace_s is not None:
            self.car.pace.update(dict.fromkeys((k for k in to if k in self.car.pace), pace_s))

    def _set_off(self) -> None:
        self.car.gear = 0
        self._pedals(clutch=1.0, brake=0.0)
        self.car.run(1.0)
        self._pedals(throttle=self.rng.uniform(0.2, 0.5), pace_s=0.3)
        self._pedals(clutch=0.0, pace_s=self.rng.uniform(0.8, 2.0))
        self.car.run(2.5)

    def _stop(self) -> None:
        self._pedals(clutch=1.0, brake=0.2, throttle=0.0)
        self.car.run(10.0, until=lambda: self.car.speed < 0.05)
        self.car.run(self.rng.uniform(1, 4))
        self._set_off()

    def _next_act(self) -> None:
        car, rng, act = self.car, self.rng, self.rng.random()
        bend = rng.uniform(-0.15, 0.15) * min(1.0, 12 / max(car.speed, 1.0))
        self._pedals(grade=rng.uniform(-0.05, 0.05), curve=bend if rng.random() < 0.5 else 0.0)
        gear = car.gear
        if car.speed < 1.0 or car.engine_in(gear) < 0.8 * car.idle:
            return self._stop()
        up = gear + 1 < len(car.per_mps) and car.engine_in(gear + 1) > 1.2 * car.idle
        down = gear > 0 and car.engine_in(gear - 1) < 0.9 * car.redline and car.speed > 2.5
        revving = car.engine_in(gear) > 0.85 * car.redline
        if self.shifting and up and (act < 0.3 or revving):
            return self._up()
        if self.shifting and down and act < 0.55 and not revving:
            return self._down()
        if act < 0.70 and not revving:
            return self._lift_and_reapply()
        if act < 0.85 or revving:
            return self._tap_brakes()
        self._pedals(throttle=rng.uniform(0.05, 0.5), pace_s=rng.uniform(0.1, 0.4))
        return car.run(rng.uniform(1, 3))

    def _up(self) -> None:
        car, rng, gear = self.car, self.rng, self.car.gear
        self._pedals(throttle=rng.uniform(0.25, 1.0), pace_s=0.2)
        enough = rng.uniform(0.3, 0.8) * car.redline
        car.run(5.0, until=lambda: car.engine_in(gear) > enough)
        car.run(0.4)
        skips = rng.random() < 0.1 and gear + 2 < len(car.per_mps) and car.engine_in(gear + 2) > 1.3 * car.idle
        if car.engine_in(gear) > car.idle:
            self._shift(gear + 1 + skips, "drive", throttle=rng.uniform(0.1, 1.0))

    def _down(self) -> None:
        rng, to, way = self.rng, self.car.gear - 1, self.rng.random()
        if way < 0.25:
            self._pedals(throttle=rng.uniform(0.2, 0.5))
            self.car.run(1.0)
            self._shift_down(to, "drive", throttle=rng.uniform(0.5, 1.0))
        elif way < 0.55:
            self._pedals(throttle=0.0)
            self.car.run(rng.uniform(0.8, 3.0))
            self._shift_down(to, "engine", throttle=float(rng.choice([0.0, rng.uniform(0.1, 0.6)])))
        else:
            self._brake_down(to)

    def _brake_down(self, to: int) -> None:
        """The brakes stay on through the shift, or go off somewhere in it."""
        car, rng = self.car, self.rng
        self._pedals(throttle=0.0, pace_s=0.08)
        car.run(0.2)
        self._pedals(brake=rng.uniform(0.06, 0.45), pace_s=rng.uniform(0.08, 0.3))
        low = rng.uniform(0.25, 0.45) * car.redline
        car.run(6.0, until=lambda: car.engine_in(to + 1) < low)
        car.run(0.4)
        self._shift_down(to, "brakes", throttle=float(rng.choice([0.0, rng.uniform(0.1, 0.6)])))
        self._pedals(brake=0.0)
        car.run(0.8)

    def _shift_down(self, to: int, kind: str, *, throttle: float) -> None:
        car = self.car
        if car.engine_in(to) < 0.85 * car.redline and car.engine_in(car.gear) > 1.1 * car.idle and car.speed > 2.5:
            self._shift(to, kind, throttle=throttle)

    def _shift(self, to: int, kind: str, *, throttle: float) -> None:
        car, rng, old = self.car, self.rng, self.car.gear
        press_s, first_s = rng.uniform(0.08, 0.25), rng.uniform(-0.08, 0.12)
        pedals = ({"throttle": 0.0}, {"clutch": 1.0})
        car.pace.update(throttle=rng.uniform(0.03, 0.12), clutch=press_s)
        self._pedals(**pedals[first_s < 0])
        car.run(abs(first_s))
        self._pedals(**pedals[first_s >= 0])
        car.run(press_s * rng.uniform(0.6, 1.0))
        start_s, car.gear = car.now_s, None
        half_s = 0.5 * (rng.uniform(0.15, 0.9) if rng.random() < 0.8 else rng.uniform(0.9, 1.6))
        car.run(half_s)
        if kind != "drive" and rng.random() < 0.4:
            self._pedals(throttle=rng.uniform(0.3, 0.8))
        car.run(half_s)
        self.shifts.append(OtherShift(start_s=start_s, end_s=car.now_s, kind=kind, from_gear=old, to_gear=to))
        car.gear = to
        self._take_up(throttle)

    def _take_up(self, throttle: float) -> None:
        car, rng = self.car, self.rng
        self._pedals(throttle=0.0)
        car.run(rng.uniform(0.0, 0.15))
        if rng.random() < 0.4:
            self._pedals(brake=0.0)
        self._pedals(clutch=0.0, pace_s=rng.uniform(0.15, 1.2))
        car.run(max(rng.uniform(-0.1, 0.4), 0.0))
        self._pedals(throttle=throttle, pace_s=rng.uniform(0.08, 0.3))
        car.run(max(car.pace["clutch"], 0.6) + rng.uniform(0.6, 2.5))

    def _lift_and_reapply(self) -> None:
        rng, much = self.rng, self.rng.uniform(0.2, 0.9)
        self._pedals(throttle=much, pace_s=rng.uniform(0.08, 0.3))
        self.car.run(rng.uniform(1.0, 2.5))
        self._pedals(throttle=float(rng.choice([0.0, 0.0, rng.uniform(0, 0.15)])), pace_s=rng.uniform(0.05, 0.3))
        self.car.run(rng.uniform(0.3, 3.0))
        again = much * rng.uniform(0.5, 1.3) if rng.random() < 0.8 else 0.2
        self._pedals(throttle=min(again, 1.0), pace_s=rng.uniform(0.08, 0.3))
        self.car.run(rng.uniform(0.8, 2.0))

    def _tap_brakes(self) -> None:
        rng, car = self.rng, self.car
        self._pedals(throttle=0.0, pace_s=0.1)
        car.run(rng.uniform(0.1, 1.0))
        self._pedals(brake=rng.uniform(0.05, 0.5), pace_s=rng.uniform(0.06, 0.3))
        car.run(rng.uniform(0.3, 2.5), until=lambda: car.engine_in(car.gear) < 1.2 * car.idle)
        self._pedals(brake=0.0)
        car.run(rng.uniform(0.0, 1.5))
        self._pedals(throttle=rng.uniform(0.15, 0.6), pace_s=0.1)
        car.run(rng.uniform(1, 2))
