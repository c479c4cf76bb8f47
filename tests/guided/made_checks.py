"""Straight pushes, tries for reverse and free play made by hand, with what the lever then truly did."""

from dataclasses import dataclass, field

import numpy as np

from tests.guided.made_lever import PITCH_MM, TRAVEL_MM, MadeLever, Spring
from tests.guided.made_release import MadeRelease


@dataclass(eq=False, kw_only=True)
class MadePush:
    """Let go from both sides by turns, then pushed straight forward.

    spring : how it runs home; jam : chance that the palm meets the wall between two slots
    refused : chance that the gear does not go in; found : true gear of each push, None where it met a wall
    """

    seed: int
    layout: str = "five"
    each: int = 10
    spring: Spring = field(default_factory=Spring)
    spread_mm: float = 0.5
    stick: float = 0.0
    refused: float = 0.0
    found: list[tuple[str, str | None]] = field(default_factory=list)

    def make(self) -> MadeLever:
        lever = MadeLever(self.seed, self.layout)
        lever.tour(times=2)
        begin, rng = lever.now, lever.rng
        for side in ["right", "left"] * self.each:
            one = MadeRelease(seed=0, layout=self.layout, spring=self.spring, spread_mm=self.spread_mm)
            reach = one.reach(lever, side)
            if not reach:
                continue
            way = 1 if side == "right" else -1
            lever.move((way * (reach + rng.uniform(-3, 2)), rng.normal(0, 0.4)), rng.uniform(0.4, 0.8))
            lever.hold(rng.uniform(0.3, 1.0))
            if rng.random() >= self.stick:
                one._run(lever)
            lever.stay(rng.uniform(0.8, 2.2))
            self._push(lever, side)
        lever.mark("straight_push", begin)
        lever.stay(0.5)
        return lever

    def _push(self, lever: MadeLever, side: str) -> None:
        rng, select = lever.rng, float(lever.here[0])
        index = int(np.argmin([abs(lever.plane_mm(k) - select) for k in range(len(lever.planes))]))
        gear, centre = lever.planes[index][0], lever.plane_mm(index)
        self.found.append((side, gear))
        slot = centre + rng.uniform(-1.5, 1.5)
        deep = TRAVEL_MM / 2 if gear else 1.5
        if gear and rng.random() < self.refused:
            deep *= rng.uniform(0.5, 0.7)
        # A palm lets the lever slide along the chamfer into the slot.
        lever.move((slot, 0.22 * deep), 0.12)
        lever.move((slot + rng.normal(0, 0.2), deep + rng.normal(0, 0.2)), rng.uniform(0.15, 0.3))
        lever.hold(rng.uniform(0.4, 1.2), tremor_mm=0.1, wander_mm=0.1)
        lever.move((slot, 0.0), 0.3)
        lever.hold(rng.uniform(0.05, 0.4), tremor_mm=0.1, wander_mm=0.1)


def draw_push(seed: int) -> MadePush:
    """A push test of any lever, any gate with a gear ahead of home."""
    rng = np.random.default_rng([seed, 31])
    return MadePush(
        seed=seed, layout=["four", "five", "six", "six_right", "dogleg", "seven"][seed % 6],
        each=int(rng.integers(5, 11)), spread_mm=float(rng.uniform(0.2, 7)), stick=float(rng.choice([0, 0, 0.3])),
        refused=float(rng.choice([0, 0.2])),
        spring=Spring(centre_mm=float(rng.uniform(-14, 14)), frequency_hz=float(rng.uniform(2, 8)),
                      damping=float(rng.uniform(0.15, 1.3)), friction_mm=float(rng.uniform(0, 5))),
    )  # fmt: skip


@dataclass(eq=False, kw_only=True)
class MadeLockout:
    """Tries for reverse. lost : chance that it gives way; reach_mm : how far past the plane beside it the wall lies"""

    seed: int
    layout: str = "six"
    tries: int = 10
    lost: float = 0.0
    reach_mm: float = 4.0
    hold_s: tuple[float, float] = (0.3, 1.5)
    spring: Spring = field(default_factory=Spring)
    held: list[bool] = field(default_factory=list)
    left_mm: list[float] = field(default_factory=list)

    def make(self) -> MadeLever:
        lever = MadeLever(self.seed, self.layout)
        lever.tour(times=2)
        begin = lever.now
        index = next(k for k, p in enumerate(lever.planes) if "R" in p)
        way = 1 if index > lever.origin else -1
        alone = None in lever.planes[index]
        for _ in range(self.tries):
            self._try(lever, index, way, alone)
            lever.run_home(self.spring)
            lever.stay(lever.rng.uniform(0.8, 2.0))
        lever.mark("lockout", begin)
        lever.stay(0.5)
        return lever

    def _try(self, lever: MadeLever, index: int, way: int, alone: bool) -> None:
        rng = lever.rng
        gives = rng.random() < self.lost
        self.held.append(not gives)
        plane, seat = lever.plane_mm(index), lever.place("R")[1]
        if alone:
            wall = plane - way * PITCH_MM + way * (self.reach_mm + rng.normal(0, 0.3))
            lever.move((plane if gives else wall, 0.0), rng.uniform(0.3, 0.6))
            self.left_mm.append(0.0 if gives else abs(plane - wall))
        else:
            lever.move((plane + way * rng.uniform(0, 2), 0.0), rng.uniform(0.3, 0.6))
            stop = np.sign(seat) * (self.reach_mm + rng.normal(0, 0.2))
            if not gives:
                lever.move((plane, stop), 0.2)
            self.left_mm.append(0.0 if gives else abs(seat - stop))
        lever.hold(rng.uniform(*self.hold_s), tremor_mm=0.15, wander_mm=0.15)
        if gives:
            lever.move((plane, seat), 0.25)
            lever.hold(rng.uniform(0.3, 0.8), tremor_mm=0.1, wander_mm=0.1)
        if abs(lever.here[1]) > 0.5:
            lever.move((plane if gives or not alone else lever.here[0], 0.0), 0.25)


def draw_lockout(seed: int) -> MadeLockout:
    rng = np.random.default_rng([seed, 32])
    layout = ["five", "six", "six_right", "dogleg", "seven"][seed % 5]
    reach = rng.uniform(0.3, 3.5) if layout in ("five", "dogleg") else rng.uniform(1.0, 9.0)
    return MadeLockout(
        seed=seed, layout=layout, tries=int(rng.integers(8, 13)), lost=float(rng.choice([0, 0, 0.3])),
        reach_mm=float(reach), spring=Spring(damping=float(rng.uniform(0.3, 1.2))),
    )  # fmt: skip


@dataclass(eq=False, kw_only=True)
class MadePlay:
    """Light and firm pushes and pulls in one gear or two.

    play_mm : true; give : mm per N; lies_aside : share of the side play within which it lies anywhere when let go
    """

    seed: int
    layout: str = "five"
    gears: tuple[str, ...] = ("3",)
    play_mm: float = 2.0
    side_mm: float = 1.0
    lies_aside: float = 0.0
    give: float = 0.02
    light_n: float = 3.0
    firm_n: float | None = 60.0
    repeats: int = 10
    with_force: bool = False
    absolute: bool = False

    def make(self) -> MadeLever:
        lever = MadeLever(self.seed, self.layout)
        lever.tour(times=2)
        lever.force = [np.zeros(len(np.concatenate(lever.parts)))]
        begin = lever.now
        for gear in self.gears:
            self._gear(lever, gear)
        lever.mark("free_play", begin)
        lever.stay(0.5)
        self._newton(lever, 0.0)
        return lever

    def _newton(self, lever: MadeLever, newton: float) -> None:
        """Force of whatever was added since, with the noise of a gauge."""
        count = sum(map(len, lever.parts)) - sum(map(len, lever.force))
        lever.force.append(newton + lever.rng.normal(0, 0.3, count))

    def _gear(self, lever: MadeLever, gear: str) -> None:
        select, engage = lever.place(gear)
        lever.move((select, 0.0), 0.3)
        lever.move((select, engage), 0.25)
        lever.stay(lever.rng.uniform(0.5, 1.0))
        self._newton(lever, 0.0)
        for _ in range(self.repeats):
            for way, newton in [(1, self.light_n), (-1, self.light_n)]:
                self._press(lever, (self._aside(lever, lever.here[0]), engage), way, newton)
            for way in (1, -1):
                side = select + way * self.side_mm / 2
                lever.move((side + lever.rng.normal(0, 0.03), lever.here[1]), 0.2)
                lever.hold(lever.rng.uniform(0.8, 1.2), tremor_mm=0.02, wander_mm=0.03)
                self._newton(lever, 0.0)
            for way in (1, -1) if self.firm_n else ():
                self._press(lever, (lever.here[0], engage), way, self.firm_n)
            lever.move((self._aside(lever, select), engage + lever.rng.uniform(-0.3, 0.3) * self.play_mm), 0.2)
            lever.stay(lever.rng.uniform(0.8, 1.2))
            self._newton(lever, 0.0)
        lever.move((select, 0.0), 0.25)
        lever.move((0.0, 0.0), 0.25)
        self._newton(lever, 0.0)

    def _aside(self, lever: MadeLever, select: float) -> float:
        """Where across the gate it lies as nothing holds it there."""
        if not self.lies_aside:
            return select
        return lever.place(self.gears[0])[0] + self.lies_aside * self.side_mm / 2 * lever.rng.uniform(-1, 1)

    def _press(self, lever: MadeLever, seat: tuple[float, float], way: int, newton: float) -> None:
        rng = lever.rng
        newton = newton * rng.uniform(0.8, 1.2)
        to = seat[1] + way * (self.play_mm / 2 + self.give * newton) + rng.normal(0, 0.04)
        lever.move((seat[0], to), rng.uniform(0.2, 0.5))
        self._newton(lever, 0.0)
        lever.hold(rng.uniform(0.9, 1.5), tremor_mm=0.02, wander_mm=0.03)
        self._newton(lever, way * newton)

    def logged_force(self, lever: MadeLever) -> np.ndarray | None:
        return np.concatenate(lever.force) if self.with_force else None


def draw_play(seed: int) -> MadePlay:
    rng = np.random.default_rng([seed, 33])
    layout = ["four", "five", "six", "dogleg", "seven"][seed % 5]
    return MadePlay(
        seed=seed, layout=layout, gears=(("3", "4"), ("2",), ("3", "2"))[int(rng.integers(3))],
        play_mm=float(rng.uniform(0.8, 5)), side_mm=float(rng.uniform(0.4, 4)), give=float(rng.uniform(0.005, 0.05)),
        light_n=float(rng.uniform(1.5, 3)), firm_n=float(rng.uniform(30, 90)) if rng.random() < 0.7 else None,
        repeats=int(rng.integers(4, 11)), with_force=bool(rng.random() < 0.5), absolute=bool(rng.random() < 0.5),
    )  # fmt: skip
