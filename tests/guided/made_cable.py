"""A cable between lever and tower by its forces: play, stretch, Coulomb friction, a hand of limited force, vibration.

Nothing here knows how loops are measured: truth is that of the parts, and of the motion before any sensor.
"""

from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

from .made import LEVER_HZ, PLACES, Log, MadeDrive, Mark, rpm_per_mps

FINE_HZ = 2000.0
SIDES = {gear: float(np.sign(place[1])) for gear, place in PLACES.items()}


@dataclass(eq=False, kw_only=True)
class Axis:
    """One cable in series: play, spring, and a slider with the detents of the gearbox behind it.

    play_mm : width; give_n_per_mm : the cable's stiffness; friction_n : Coulomb friction at the tower
    box_n : friction in the lever box; detent_n : greatest pull of the detents, every ``detent_mm``; spring : centring
    """

    play_mm: float
    give_n_per_mm: float = 30.0
    friction_n: float = 8.0
    box_n: float = 2.0
    detent_n: float = 12.0
    detent_mm: float = 15.0
    spring_n_per_mm: float = 0.0
    drag_near: float = 0.06
    drag_far: float = 0.04

    @property
    def loop_mm(self) -> float:
        """Between going and coming back, while the tower slides."""
        return self.play_mm + 2 * self.friction_n / self.give_n_per_mm

    def pull(self, lead_mm: float) -> float:
        """Force in the cable."""
        half = self.play_mm / 2
        return self.give_n_per_mm * (lead_mm - half if lead_mm > half else min(lead_mm + half, 0.0))

    def resist(self, far_mm: float) -> float:
        """What detents and spring ask for at this place of the tower."""
        detent = self.detent_n * np.sin(2 * np.pi * far_mm / self.detent_mm) if self.detent_n else 0.0
        return detent + self.spring_n_per_mm * far_mm


def slides(force: float, friction: float, drag: float) -> float:
    """Speed of a slider [mm/s]: none until the force exceeds friction."""
    return 0.0 if abs(force) <= friction else (force - np.copysign(friction, force)) / drag


def drive_axis(
    axis: Axis,
    hand_mm: np.ndarray,
    *,
    holds: np.ndarray,
    hand_n: np.ndarray,
    stop_mm: np.ndarray,
    rock_mm: np.ndarray,
    hand_n_per_mm: float = 8.0,
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Lever and tower [mm] and the cable's force [N], each (n,) on the fine grid.

    hand_mm : where the hand wants the lever; holds : whether there is one; hand_n : no more than so much
    stop_mm : (n, 2) between which the tower can be; rock_mm : the engine against the body
    """
    near, far, force = (np.empty(hand_mm.size) for _ in range(3))
    x = y = float(hand_mm[0])
    for k in range(hand_mm.size):
        push = min(max(hand_n_per_mm * (hand_mm[k] - x), -hand_n[k]), hand_n[k]) if holds[k] else 0.0
        pull = axis.pull(x - y - rock_mm[k])
        x += slides(push - pull, axis.box_n, axis.drag_near) / FINE_HZ
        y += slides(pull - axis.resist(y), axis.friction_n, axis.drag_far) / FINE_HZ
        y = min(max(y, stop_mm[k, 0]), stop_mm[k, 1])
        near[k], far[k], force[k] = x, y, pull
    return near, far, force


@dataclass(eq=False, kw_only=True)
class MadeCableDrive:
    """Ordinary shifts on the road with a sensor at either end.

    engage, select : the cables; tower_hz, late_s, drift_ppm : the tower's recorder, whose clock is known to ``late_s``
    bits : of both sensors over ``range_mm``; shake_mm : of engine and road; rock_mm : of the engine under torque
    turn_deg : of the tower's sensor on its axes
    """

    seed: int
    engage: Axis = field(default_factory=lambda: Axis(play_mm=1.2))
    select: Axis = field(
        default_factory=lambda: Axis(play_mm=0.8, detent_n=0.0, spring_n_per_mm=0.5, friction_n=5.0)
    )  # fmt: skip
    sequence: tuple[str, ...] = (
        "1",
        "2",
        "3",
        "4",
        "5",
        "4",
        "3",
        "2",
        "3",
        "4",
        "3",
        "2",
        "1",
        "2",
        "3",
        "4",
        "5",
        "4",
    )
    quick: float = 1.0
    tower_hz: float = 250.0
    late_s: float = 0.0
    drift_ppm: float = 0.0
    bits: int = 10
    range_mm: float = 90.0
    shake_mm: float = 0.1
    rock_mm: float = 0.8
    turn_deg: float = 8.0
    loaded: bool = True
    mark: bool = True
    ruler: bool = True

    def __post_init__(self) -> None:
        self.rng = np.random.default_rng([self.seed, 53])
        self.hand, self.holds, self.force, self.stops, self.torque = [], [], [], [], []
        self.gear: list[str] = []
        self.stands: list[tuple[int, int]] = []

    def run(self, folder: Path) -> Path:
        self._pass(2.0, "N", (0.0, 0.0), torque=0.0)
        now = "N"
        for gear in self.sequence:
            self._shift(now, gear)
            self._pass(self.rng.uniform(1.0, 2.0), gear, PLACES[gear], torque=self.rng.choice([1.0, -0.6]))
            now = gear
        hand, holds, force = np.concatenate(self.hand), np.concatenate(self.holds), np.concatenate(self.force)
        stops, torque = np.concatenate(self.stops), np.concatenate(self.torque)
        self.time_s = np.arange(len(hand)) / FINE_HZ
        rock = self._rocks(torque)
        zero = np.zeros(len(hand))
        wide = np.tile([-27.0, 27.0], (len(hand), 1))
        self.near, self.far = np.empty_like(hand), np.empty_like(hand)
        self.near[:, 1], self.far[:, 1], self.pull = drive_axis(
            self.engage, hand[:, 1], holds=holds, hand_n=force, stop_mm=stops, rock_mm=rock
        )
        self.near[:, 0], self.far[:, 0], _ = drive_axis(
            self.select, hand[:, 0], holds=np.ones(len(hand), bool), hand_n=force, stop_mm=wide, rock_mm=zero
        )
        logs = [
            self._log("lever", self.near, LEVER_HZ, 0.0, 0.0),
            self._log("tower", self.far, self.tower_hz, self.late_s, self.drift_ppm),
        ]
        marks = [Mark(kind="two_ended", start_s=0.5, end_s=self.time_s[-1] - 0.5)] if self.mark else []
        ruler = self.range_mm / 2**self.bits if self.ruler else None
        return MadeDrive(logs=[*logs, self._bus()], marks=marks, mm_per_unit=ruler).write(folder)

    def _add(
        self, hand: np.ndarray, gear: str, *, holds: bool, force: float, stops: tuple[float, float], torque: float
    ) -> None:
        n = len(hand)
        self.hand.append(hand)
        self.holds.append(np.full(n, holds))
        self.force.append(np.full(n, force))
        self.stops.append(np.tile(stops, (n, 1)))
        self.torque.append(np.full(n, torque))
        self.gear += [gear] * n

    def _pass(self, lasts_s: float, gear: str, at: tuple[float, float], *, torque: float) -> None:
        self._add(
            np.tile(at, (round(lasts_s * FINE_HZ), 1)),
            gear,
            holds=False,
            force=60.0,
            stops=(-15.0, 15.0),
            torque=torque,
        )

    def _shift(self, old: str, new: str) -> None:
        """Out, across, against the cone, through, a moment pressed home, and the hand goes."""
        rng, q = self.rng, self.quick
        here = np.array(PLACES.get(old, (0.0, 0.0)))
        select, engage = PLACES[new]
        firm = rng.uniform(40, 90) if self.loaded else 30.0
        side, free = SIDES[new], (-15.0, 15.0)

        def to(at: tuple[float, float], lasts_s: float, gear: str, stops: tuple[float, float] = free) -> None:
            nonlocal here
            share = np.linspace(0, 1, round(lasts_s * FINE_HZ))[:, None]
            eased = 10 * share**3 - 15 * share**4 + 6 * share**5
            self._add(here + eased * (np.array(at) - here), gear, holds=True, force=firm, stops=stops, torque=0.0)
            here = np.array(at, float)

        if old != "N":
            to((here[0], here[1]), 0.1, "N")
            to((here[0], 0.0), q * rng.uniform(0.1, 0.2), "N")
        if abs(here[0] - select) > 1.0:
            to((select, 0.0), q * rng.uniform(0.12, 0.25), "N")
        if self.loaded:
            block = (-15.0, 7.5) if side > 0 else (-7.5, 15.0)
            to((select, engage + side * 3), q * rng.uniform(0.12, 0.22), "N", block)
            lasts = rng.uniform(0.06, 0.25)
            to((select, engage + side * 3), lasts, "N", block)
            self.stands.append((len(self.gear) - round(lasts * FINE_HZ), len(self.gear)))
            to((select, engage + side * 2), 0.1, "N")
        else:
            to((select, engage + side * 1), q * rng.uniform(0.12, 0.22), "N")
        to((select, engage + side * 1), rng.uniform(0.1, 0.3), new)

    def _rocks(self, torque: np.ndarray) -> np.ndarray:
        """The engine leans with its torque within a fifth of a second, and shakes."""
        lean = np.empty(torque.size)
        place = 0.0
        for k, t in enumerate(torque):
            place += (t - place) / (0.07 * FINE_HZ)
            lean[k] = place
        shake = self.shake_mm * np.sin(2 * np.pi * 27.0 * self.time_s + self.rng.uniform(0, 6)) * 0.5
        return self.rock_mm * lean + shake

    def _log(self, name: str, mm: np.ndarray, rate_hz: float, late_s: float, drift_ppm: float) -> Log:
        """Counts, at a rate and on a clock of its own, with what the road shakes both sensors by."""
        rng = self.rng
        at = np.arange(0.3, self.time_s[-1] - 0.3, 1 / rate_hz)
        read = np.stack([np.interp(at, self.time_s, column) for column in mm.T], axis=1)
        for hz in rng.uniform(9, 40, 3):
            read += 0.5 * self.shake_mm * np.sin(2 * np.pi * hz * at[:, None] + rng.uniform(0, 6, 2))
        gain = 2**self.bits / self.range_mm * (1.0 if name == "lever" else 0.8)
        turn = np.deg2rad(self.turn_deg * rng.uniform(-1, 1))
        axes = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn) + rng.uniform(-0.06, 0.06), np.cos(turn)]])
        counts = np.round(read @ (gain * axes).T + 2 ** (self.bits - 1) + rng.normal(0, 0.4, read.shape))
        clock = at * (1 + 1e-6 * drift_ppm) + late_s
        return Log(
            name=name, place=name, time_s=clock, grows=True,
            columns={"select [count]": counts[:, 0], "engage [count]": counts[:, 1]},
        )  # fmt: skip

    def _bus(self) -> Log:
        step = round(FINE_HZ / 50)
        gear = self.gear[::step]
        speed = np.interp(np.arange(len(gear)), *self._speeds(gear))
        target = [rpm_per_mps(g) * v if g != "N" else 0.0 for g, v in zip(gear, speed, strict=True)]
        rpm = np.empty(len(gear))
        rpm[0] = 900.0
        for k in range(1, rpm.size):
            wanted = target[k] or rpm[k - 1] - 15
            rpm[k] = max(rpm[k - 1] + np.clip(wanted - rpm[k - 1], -180, 180), 800.0)
        return Log(
            name="bus", place="engine", time_s=np.arange(len(gear)) / 50,
            columns={"engine_speed [rpm]": np.round(rpm), "vehicle_speed [km/h]": np.round(3.6 * speed, 2)},
        )  # fmt: skip

    def _speeds(self, gear: list[str]) -> tuple[np.ndarray, np.ndarray]:
        usual = {"1": 4.5, "2": 8.0, "3": 12.0, "4": 16.0, "5": 20.0}
        at = [k for k, g in enumerate(gear) if g in usual]
        return np.array(at), np.array([usual[gear[k]] for k in at])

    def stretch(self) -> float:
        """Median over the shifts of how far the cone's hold stretched the cable, beyond friction [mm]."""
        axis = self.engage
        held = [np.median(np.abs(self.pull[a:b])) for a, b in self.stands]
        return float(np.median(held) - axis.friction_n) / axis.give_n_per_mm
