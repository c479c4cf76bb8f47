"""A third driver, without engine, clutch or shaft: the car's acceleration is drawn stroke by stroke.

Nothing but the laws a change of gear cannot break ties its strokes: with the clutch open the car rolls freely, a lower
gear pulls and drags harder, the driveline swings when it is loaded. How quick a foot is, how a clutch takes up, how
hard the driver pulls and brakes is drawn anew for each drive and varies within it, far beyond one style (common
practice, no source). So what is learnt from these drives hangs on those laws and not on one model of a clutch.
"""

import math
from dataclasses import dataclass, field
from types import SimpleNamespace

import numpy as np

from shiftlog.synth.true_gap import true_gap
from tests.truth.other_drive import OtherDrive
from tests.truth.other_driver import STEP_S, G, OtherShift


@dataclass(eq=False, kw_only=True)
class ThirdDriver:
    """Car and driver, and where they are; accelerations along the car [m/s²], drive without rolling and air drag."""

    rng: np.random.Generator
    speed: float = 0.0
    drive: float = 0.0
    brake: float = 0.0
    grade: float = 0.0
    curve: float = 0.0
    gear: int = 0
    now_s: float = 0.0
    rows: list[np.ndarray] = field(default_factory=list)
    shifts: list[OtherShift] = field(default_factory=list)

    def __post_init__(self) -> None:
        draw, gears = self.rng.uniform, int(self.rng.integers(4, 8))
        self.ratio = (draw(0.18, 0.3)) ** (np.linspace(0, 1, gears) ** draw(0.75, 1.0))
        self.pull, self.drag = draw(3.0, 5.5), draw(0.7, 2.0)
        self.fastest = draw(11.0, 18.0) / self.ratio
        self.rolling, self.air = draw(0.08, 0.17), draw(2e-4, 6e-4)
        self.swing_hz, self.damping = np.linspace(draw(1.8, 4.5), draw(4.5, 9.0), gears), draw(0.05, 0.3)
        self.swing = draw(0.0, 0.9)
        self.quick_s, self.foot_s, self.clutch_s = draw(0.3, 1.1), draw(0.08, 0.35), draw(0.12, 0.7)
        self.hard, self.braking = draw(0.2, 0.8), draw(0.8, 3.5)

    def about(self, value: float, spread: float = 0.35) -> float:
        """A value as this driver repeats it."""
        return value * float(np.exp(self.rng.normal(0, spread)))

    def stroke(self, lasts_s: float, *, drive: float | None = None, brake: float | None = None, edge_s: float = 0.3,
               swing: float = 0.0) -> None:  # fmt: skip
        """Go on for some time, drive and brakes moving to new levels over ``edge_s``."""
        rng, count = self.rng, max(round(lasts_s / STEP_S), 1)
        since = np.arange(count) * STEP_S
        share = self._edge(since / edge_s)
        pulled = self.drive + (0.0 if drive is None else drive - self.drive) * share
        braked = self.brake + (0.0 if brake is None else brake - self.brake) * share
        if swing:
            f, at = self.swing_hz[self.gear] * rng.uniform(0.95, 1.05), np.maximum(since - 0.5 * edge_s, 0.0)
            pulled = pulled + swing * np.exp(-2 * math.pi * f * self.damping * at) * np.sin(2 * math.pi * f * at)
        drag = (self.rolling + self.air * self.speed**2) * math.tanh(self.speed)
        felt = pulled - braked - drag
        slope = G * self.grade
        speed = np.maximum(self.speed + np.cumsum(felt - slope) * STEP_S, 0.0)
        felt = np.where((speed <= 0) & (felt < slope), slope, felt)
        self.rows.append(np.column_stack([felt, speed, np.full(count, self.curve), felt - slope, pulled]))
        settled = float(share[-1])
        if drive is not None:
            self.drive += (drive - self.drive) * settled
        if brake is not None:
            self.brake += (brake - self.brake) * settled
        self.speed, self.now_s = float(speed[-1]), self.now_s + count * STEP_S

    def _edge(self, share: np.ndarray) -> np.ndarray:
        kind = self.rng.random()
        if kind < 0.4:
            return 0.5 - 0.5 * np.cos(math.pi * np.clip(share, 0, 1))
        return np.clip(share, 0, 1) if kind < 0.65 else 1 - np.exp(-3 * share)

    def engine_drag(self) -> float:
        return -self.drag * self.ratio[self.gear] * (0.5 + 0.5 * min(self.speed / self.fastest[self.gear], 1.2))

    def pull_of(self, throttle: float) -> float:
        return self.pull * self.ratio[self.gear] * throttle

    def drive_about(self, *, until_s: float, shifting: bool) -> None:
        self.stroke(1.5)
        self._set_off()
        while self.now_s < until_s:
            self._turn()
            if self.speed < 1.5:
                self._set_off()
            changes = (self._climb, self._climb, self._slow_down) if shifting else (self._press, self._press, self._tap)
            acts = (*changes, self._lift, self._press, self._tap)
            acts[int(self.rng.integers(len(acts)))]()
            if self.speed > 0.85 * self.fastest[self.gear]:
                self.stroke(1.0, drive=self.engine_drag(), edge_s=self.foot_s)
                self._brake_to(0.5 * self.fastest[self.gear])

    def _turn(self) -> None:
        self.grade = float(self.rng.uniform(-0.05, 0.05))
        self.curve = float(self.rng.uniform(-2.5, 2.5)) / max(self.speed, 6.0) if self.rng.random() < 0.4 else 0.0

    def _set_off(self) -> None:
        self.gear = 0
        self.stroke(self.rng.uniform(0.5, 1.5), drive=0.0, brake=0.0, edge_s=0.2)
        self.stroke(self.rng.uniform(2.5, 3.5), drive=self.pull_of(self.hard), edge_s=self.rng.uniform(0.6, 1.5))

    def _press(self) -> None:
        """Another throttle with the gear in; the driveline may swing."""
        rng, before = self.rng, self.drive
        drive = self.pull_of(rng.uniform(0.1, 0.6))
        self.stroke(rng.uniform(1.0, 4.0), drive=drive, edge_s=self.about(self.foot_s),
                    swing=rng.uniform(0, 0.5) * self.swing * (drive - before))  # fmt: skip

    def _lift(self) -> None:
        """Off the throttle, or part of it, and on again."""
        rng = self.rng
        self.stroke(rng.uniform(0.8, 2.5), drive=self.pull_of(rng.uniform(0.2, 0.9)), edge_s=self.about(self.foot_s))
        before = self.drive
        low = self.engine_drag() if rng.random() < 0.7 else rng.uniform(-0.3, 0.6) * self.drive
        self.stroke(self.about(1.2, 0.7), drive=low, edge_s=self.about(self.foot_s),
                    swing=rng.uniform(0, 0.5) * self.swing * (low - before))  # fmt: skip
        again = before * rng.uniform(0.5, 1.3)
        self.stroke(rng.uniform(0.8, 2.0), drive=again, edge_s=self.about(self.foot_s),
                    swing=rng.uniform(0, 0.7) * self.swing * (again - low))  # fmt: skip

    def _tap(self) -> None:
        rng = self.rng
        self.stroke(rng.uniform(0.15, 1.2), drive=self.engine_drag(), edge_s=self.about(self.foot_s))
        self.stroke(self.about(1.0, 0.6), brake=self.about(self.braking, 0.5), edge_s=rng.uniform(0.1, 0.5))
        self.stroke(rng.uniform(0.1, 1.5), brake=0.0, edge_s=rng.uniform(0.1, 0.4))
        self._press()

    def _climb(self) -> None:
        """Up through some gears."""
        rng = self.rng
        for _ in range(int(rng.integers(1, 4))):
            throttle = float(np.clip(self.about(self.hard), 0.12, 1.0))
            self.stroke(0.8, drive=self.pull_of(throttle), edge_s=self.about(self.foot_s))
            target = rng.uniform(0.35, 0.85) * self.fastest[self.gear]
            for _ in range(20):
                if self.speed >= target:
                    break
                self.stroke(0.3, drive=self.pull_of(throttle) * rng.uniform(0.97, 1.03))
            if self.gear + 1 >= len(self.ratio) or self.speed < 0.25 * self.fastest[self.gear]:
                return
            self.shift(self.gear + 1, "drive", float(np.clip(self.about(throttle), 0.1, 1.0)))

    def _slow_down(self) -> None:
        """Down a gear or two, under the brakes, engine drag or for more drive."""
        rng, way = self.rng, self.rng.random()
        if way < 0.2 and self.gear and self.speed < 0.55 * self.fastest[self.gear]:
            self.stroke(1.0, drive=self.pull_of(rng.uniform(0.2, 0.5)), edge_s=self.foot_s)
            self.shift(self.gear - 1, "drive", rng.uniform(0.5, 1.0))
            return
        brakes = way > 0.4
        self.stroke(rng.uniform(0.3, 1.5), drive=self.engine_drag(), edge_s=self.about(self.foot_s))
        if brakes:
            self._brake(self.about(self.braking, 0.5))
        for _ in range(int(rng.integers(1, 3))):
            for _ in range(25):
                if self.speed < 0.45 * self.fastest[self.gear]:
                    break
                self.stroke(0.3, drive=self.engine_drag(), brake=self.brake * rng.uniform(0.9, 1.1))
            if self.gear == 0 or self.speed < 2.5 or self.speed > 0.9 * self.fastest[self.gear - 1]:
                break
            self.shift(self.gear - 1, "brakes" if brakes else "engine", 0.0)
        self.stroke(rng.uniform(0.4, 1.2), brake=0.0, edge_s=rng.uniform(0.1, 0.5))

    def _brake(self, level: float) -> None:
        self.stroke(self.rng.uniform(0.7, 1.5), brake=level, edge_s=self.rng.uniform(0.15, 0.6))

    def _brake_to(self, speed: float) -> None:
        self._brake(self.about(self.braking))
        for _ in range(30):
            if self.speed < speed:
                break
            self.stroke(0.3, brake=self.brake)
        self.stroke(0.8, brake=0.0)

    def shift(self, to: int, kind: str, throttle: float) -> None:
        """The clutch opens, the gear is changed, the clutch takes up in one of four ways."""
        rng, old = self.rng, self.gear
        if kind == "drive" and rng.random() < 0.35:
            self.stroke(rng.uniform(0.05, 0.25), drive=rng.uniform(0.2, 1.0) * self.engine_drag(), edge_s=0.12)
        out_s, wait_s = self.about(0.14, 0.4), float(np.clip(self.about(self.quick_s), 0.2, 2.0))
        self.stroke(out_s, drive=0.0, edge_s=0.9 * out_s)
        self.drive, start_s = 0.0, self.now_s
        brake = 0.0 if kind == "brakes" and rng.random() < 0.15 else None
        self.stroke(wait_s, brake=brake if brake is not None else self.brake * rng.uniform(0.9, 1.1), edge_s=0.5)
        self.shifts.append(OtherShift(start_s=start_s, end_s=self.now_s, kind=kind, from_gear=old, to_gear=to))
        self.gear = to
        self._take_up(self.pull_of(throttle) if throttle else self.engine_drag())

    def _take_up(self, level: float) -> None:
        rng, edge_s, way = self.rng, self.about(self.clutch_s, 0.5), self.rng.random()
        swing = self.swing * rng.uniform(0.2, 1.0) * level
        if way < 0.2:
            self.stroke(self.about(0.25), drive=self.engine_drag() * rng.uniform(0.2, 1.0), edge_s=0.5 * edge_s)
        elif way < 0.4:
            self.stroke(self.about(0.3), drive=level * rng.uniform(1.1, 1.8), edge_s=0.7 * edge_s, swing=swing)
        elif way < 0.5:
            self.stroke(self.about(0.4), drive=level * rng.uniform(0.3, 0.7), edge_s=edge_s, swing=0.5 * swing)
        self.stroke(max(edge_s, 0.3) + rng.uniform(0.8, 2.5), drive=level, edge_s=edge_s, swing=swing)


def make_third_drive(seed: int, *, minutes: float = 5.0, shifting: bool = True) -> OtherDrive:
    rng = np.random.default_rng([seed, 606])
    driver = ThirdDriver(rng=rng)
    driver.drive_about(until_s=minutes * 60, shifting=shifting)
    rows = np.concatenate(driver.rows)
    motion = SimpleNamespace(time_s=np.arange(0, len(rows), 2) * STEP_S, accel_mps2=rows[::2, 0])
    gaps = tuple(true_gap(motion, s.start_s, s.end_s) for s in driver.shifts)
    return OtherDrive(seed=seed, rows=rows, shifts=tuple(driver.shifts), gaps=gaps)
