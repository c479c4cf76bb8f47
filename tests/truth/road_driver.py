"""Three drivers of ``RoadCar`` who follow the road before them: through traffic, hard about bends, and with a load.

None of them does anything to be mistaken for a change of gear: lifts, brakes and partial throttle come from the speed
the road asks for. What each does to pedals in a shift is his own. All habits are drawn (common practice, no source).
"""

from dataclasses import dataclass, field

import numpy as np

from tests.truth.other_driver import OtherShift
from tests.truth.road_car import SALOON, SPORTS, VAN, Make, RoadCar


@dataclass(frozen=True, kw_only=True)
class Style:
    """Ranges that a driver is drawn from.

    asked_mps : speeds the road asks for; holds_s : for how long; hard_mps2, brakes_mps2 : how hard he pulls and slows;
    lever_s : the hand's time; feet_s : time of a foot; up, down : shares of the redline at which he changes;
    blips : how often he matches revs; foot_on : how often throttle comes before the clutch is home; hills : grades
    """

    make: Make
    asked_mps: tuple[float, float]
    holds_s: tuple[float, float]
    hard_mps2: tuple[float, float]
    brakes_mps2: tuple[float, float]
    lever_s: tuple[float, float]
    feet_s: tuple[float, float]
    up: tuple[float, float]
    down: tuple[float, float]
    blips: float
    foot_on: float
    hills: float
    bends: float


STYLES = {
    "traffic": Style(make=SALOON, asked_mps=(0.0, 17.0), holds_s=(3, 15), hard_mps2=(0.8, 2.2), brakes_mps2=(0.8, 2.5),
                     lever_s=(0.25, 0.7), feet_s=(0.12, 0.4), up=(0.35, 0.55), down=(0.2, 0.3), blips=0.05, foot_on=0.4,
                     hills=0.02, bends=0.3),
    "bends": Style(make=SPORTS, asked_mps=(9.0, 34.0), holds_s=(1, 6), hard_mps2=(2.5, 6.0), brakes_mps2=(2.5, 7.0),
                   lever_s=(0.12, 0.35), feet_s=(0.06, 0.18), up=(0.75, 0.97), down=(0.45, 0.6), blips=0.75,
                   foot_on=0.8, hills=0.04, bends=0.8),
    "loaded": Style(make=VAN, asked_mps=(5.0, 24.0), holds_s=(5, 25), hard_mps2=(0.5, 1.6), brakes_mps2=(0.5, 2.0),
                    lever_s=(0.4, 1.3), feet_s=(0.2, 0.6), up=(0.5, 0.75), down=(0.28, 0.42), blips=0.15, foot_on=0.2,
                    hills=0.06, bends=0.2),
}  # fmt: skip

TICK_S = 0.1


@dataclass(eq=False, kw_only=True)
class RoadDriver:
    """A driver drawn from a style, and what he has done."""

    style: Style
    rng: np.random.Generator
    shifting: bool = True
    shifts: list[OtherShift] = field(default_factory=list)

    def __post_init__(self) -> None:
        draw, style = self.rng.uniform, self.style
        self.car = RoadCar(rng=self.rng, make=style.make)
        self.hard, self.slows = draw(*style.hard_mps2), draw(*style.brakes_mps2)
        self.lever_s, self.foot_s = draw(*style.lever_s), draw(*style.feet_s)
        self.up, self.down = draw(*style.up), draw(*style.down)
        self.fast_enough = 0.8 * self.car.redline / self.car.per_mps[0]

    def about(self, value: float, spread: float = 0.25) -> float:
        """A value as this driver repeats it."""
        return value * float(np.exp(self.rng.normal(0, spread)))

    def drive_about(self, *, until_s: float) -> None:
        self.car.run(1.5)
        self._set_off()
        while self.car.now_s < until_s:
            self._follow(self._next_speed())

    def _next_speed(self) -> float:
        rng, style, car = self.rng, self.style, self.car
        car.grade = rng.uniform(-style.hills, style.hills)
        asked = rng.uniform(*style.asked_mps)
        across = rng.uniform(1.0, 2.0 + self.slows / 2) if rng.random() < style.bends else 0.0
        car.curve = float(rng.choice([-1, 1])) * across / max(asked, car.speed, 6.0)
        return min(asked, self.fast_enough) if not self.shifting else asked

    def _set_off(self) -> None:
        car = self.car
        car.gear = 0
        car.press(clutch=1.0, brake=0.0, pace_s=0.3)
        car.run(self.rng.uniform(0.5, 4.0))
        car.press(throttle=self.rng.uniform(0.25, 0.5), pace_s=1.0)
        car.press(clutch=0.0, pace_s=self.rng.uniform(1.0, 2.2))
        car.run(2.6)

    def _follow(self, asked: float) -> None:
        """Keep to the speed the road asks for, for as long as it does."""
        car, hard, slows = self.car, self.about(self.hard), self.about(self.slows)
        deadband, until_s = self.rng.uniform(0.3, 1.5), car.now_s + self.rng.uniform(*self.style.holds_s)
        reached = False
        while not (reached and car.now_s > until_s):
            reached = reached or abs(car.speed - asked) < deadband + 0.3 or car.now_s > until_s + 25
            lack = asked - car.speed
            wanted = float(np.clip(0.5 * lack, -slows, hard)) if abs(lack) > deadband else 0.15 * lack
            self._pedals(wanted)
            car.run(TICK_S)
            if car.speed < 1.2 or car.engine_in(car.gear) < 0.75 * car.idle:
                return self._stop(asked)
            if self.shifting:
                self._maybe_shift(wanted)
        return None

    def _pedals(self, wanted: float) -> None:
        car = self.car
        share = car.engine / car.redline
        drag = car.rolling + car.air * car.speed**2
        k = car.per_mps[car.gear]
        pull = car.torque * (0.7 + 0.75 * share - 0.6 * share**2) * k / car.mass
        engine = -car.drag * (0.5 + 0.5 * share) * k / car.mass
        hill = 9.81 * car.grade
        throttle = (wanted + drag + hill - engine) / (pull - engine)
        if throttle > 0 or wanted > engine - drag - hill - 0.15:
            car.press(throttle=float(np.clip(throttle, 0, 1)), brake=0.0, pace_s=self.foot_s * 2)
        else:
            brake = float(np.clip(-(wanted - engine + drag + hill) / 9.0, 0.0, 1.0))
            car.press(throttle=0.0, pace_s=self.foot_s)
            car.press(brake=brake, pace_s=self.foot_s * 4)

    def _stop(self, asked: float) -> None:
        """The clutch goes down and the car rolls on, to a stop if the road asks for it."""
        car = self.car
        car.press(clutch=1.0, throttle=0.0, pace_s=0.2)
        car.press(brake=0.15, pace_s=0.5)
        for _ in range(80):
            car.run(TICK_S)
            if car.speed < 0.05:
                break
        self._set_off()

    def _maybe_shift(self, wanted: float) -> None:
        car, gear = self.car, self.car.gear
        share = car.engine_in(gear) / car.redline
        eager = 0.7 + 0.4 * min(max(wanted, 0.0) / self.hard, 1.0)
        if share > self.up * eager and gear + 1 < len(car.per_mps) and wanted > -0.3:
            if car.engine_in(gear + 1) > 1.15 * car.idle and self.rng.random() < 0.5:
                self._shift(gear + 1)
        elif gear > 0 and car.engine_in(gear - 1) < 0.9 * car.redline and car.speed > 2.5 and self.rng.random() < 0.3:
            weak = wanted > 0.6 * self.hard and car.pedal["throttle"] > 0.9 and share < 0.55
            if share < self.down or weak:
                lower = gear - 2 if gear > 1 and self.rng.random() < 0.15 else gear - 1
                self._shift(lower if car.engine_in(lower) < 0.9 * car.redline else gear - 1)

    def _shift(self, to: int) -> None:
        car, rng, old = self.car, self.rng, self.car.gear
        kind = "brakes" if car.pedal["brake"] > 0.02 else "drive" if car.rows[-1][4] > 0 else "engine"
        throttle, brake = car.pedal["throttle"], car.pedal["brake"]
        car.press(throttle=0.0, pace_s=self.about(self.foot_s))
        car.run(max(rng.normal(0.02, 0.06), 0.0))
        car.press(clutch=1.0, pace_s=self.about(self.foot_s))
        car.run(self.about(0.7 * self.foot_s))
        start_s, hand_s, car.gear = car.now_s, self.about(self.lever_s, 0.35), None
        keep = brake * rng.uniform(0.8, 1.2) if rng.random() < 0.85 else 0.0
        car.press(brake=keep, pace_s=0.4)
        car.run(0.5 * hand_s)
        matched = to < old and rng.random() < self.style.blips
        if matched:
            car.press(throttle=rng.uniform(0.4, 0.9), pace_s=0.05)
        car.run(0.5 * hand_s)
        car.press(throttle=0.0, pace_s=0.05)
        self.shifts.append(OtherShift(start_s=start_s, end_s=car.now_s, kind=kind, from_gear=old, to_gear=to))
        car.gear = to
        if matched:
            car.engine = 0.5 * car.engine + 0.5 * car.engine_in(to) * rng.uniform(0.9, 1.1)
        self._take_up(throttle if brake < 0.02 else 0.0)

    def _take_up(self, throttle: float) -> None:
        car, rng = self.car, self.rng
        home_s = self.about(1.6 * self.foot_s, 0.4)
        car.press(clutch=0.0, pace_s=home_s)
        if rng.random() < self.style.foot_on:
            car.run(rng.uniform(0.0, 0.5) * home_s)
        else:
            car.run(home_s * rng.uniform(0.6, 1.3))
        car.press(throttle=min(throttle * rng.uniform(0.8, 1.3), 1.0), pace_s=self.about(2 * self.foot_s))
        car.run(max(home_s, 0.3) + rng.uniform(0.1, 0.6))
