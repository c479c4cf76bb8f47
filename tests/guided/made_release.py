"""Release tests made by hand: every let-go, where the lever then lay, and how it got there are known."""

from dataclasses import dataclass, field

import numpy as np

from tests.guided.made_lever import PATH_HZ, PITCH_MM, MadeLever, Spring


@dataclass(frozen=True, kw_only=True)
class LetGo:
    """side : where it was held; at_s : when it was let go; rest_mm : where it then lay (median of its lie)"""

    side: str
    at_s: float
    held_mm: float
    rest_mm: float
    plane: str
    settled_s: float


@dataclass(eq=False, kw_only=True)
class MadeRelease:
    """A release test at standstill.

    spring, creep_s : how it runs home; creep_s makes it creep with that time constant instead
    stick : chance that a let-go makes no motion; again : how the hand takes a stuck lever the next time
    (``through`` the middle, ``press`` further out, ``grip`` in its place)
    """

    seed: int
    layout: str = "five"
    each: int = 10
    spring: Spring = field(default_factory=Spring)
    spread_mm: float = 0.3
    creep_s: float | None = None
    stick: float = 0.0
    again: str = "through"
    by_turns: bool = False
    hold_s: tuple[float, float] = (0.5, 1.5)
    lie_s: tuple[float, float] = (1.4, 2.4)
    tremor_mm: float = 0.15
    configuration: str | None = None
    let_goes: list[LetGo] = field(default_factory=list)

    def make(self) -> MadeLever:
        """The whole test: a tour of the gears, then every let-go, marked."""
        lever = MadeLever(self.seed, self.layout)
        lever.tour(times=2)
        self.add(lever)
        return lever

    def add(self, lever: MadeLever) -> None:
        """The let-goes of this test, marked, after what the lever did so far."""
        begin, rng = lever.now, lever.rng
        sides = ["right", "left"] * self.each if self.by_turns else ["right"] * self.each + ["left"] * self.each
        stuck_on = None
        for side in [s for s in sides if self.reach(lever, s)]:
            self._bring(lever, side, stuck_on)
            lever.hold(rng.uniform(*self.hold_s), tremor_mm=self.tremor_mm, wander_mm=min(0.3, 2 * self.tremor_mm))
            stuck_on = side if self._let_go(lever, side) else None
        lever.move((0.0, 0.0), 0.3)
        lever.mark("release", begin, self.configuration)
        lever.stay(0.5)

    def reach(self, lever: MadeLever, side: str) -> float:
        """How far out the next plane lies on that side [mm], 0 where there is none."""
        if lever.home == "none":
            return PITCH_MM
        index = lever.origin + (1 if side == "right" else -1)
        return abs(lever.plane_mm(index)) if 0 <= index < len(lever.planes) else 0.0

    def _bring(self, lever: MadeLever, side: str, stuck_on: str | None) -> None:
        rng = lever.rng
        way = 1 if side == "right" else -1
        middle = PITCH_MM if lever.home == "none" else 0.0
        to = middle + way * (self.reach(lever, side) + rng.uniform(-3.0, 2.5))
        if stuck_on == side and self.again == "grip":
            return
        if stuck_on == side and self.again == "press":
            further = np.clip(lever.here[0] + way * rng.uniform(0.8, 2.0), *lever.walls)
            lever.move((further, lever.here[1]), 0.2)
            return
        if stuck_on == side:
            lever.move((middle + rng.uniform(-2, 2), 0.0), rng.uniform(0.3, 0.6))
            lever.hold(rng.uniform(0.1, 0.3), tremor_mm=self.tremor_mm)
        lever.move((to, rng.normal(0, 0.4)), rng.uniform(0.25, 0.6))

    def _let_go(self, lever: MadeLever, side: str) -> bool:
        """Let go; whether it stayed where it was."""
        rng, at_s, held = lever.rng, lever.now, float(lever.here[0])
        sticks = rng.random() < self.stick
        if not sticks:
            self._run(lever)
        settled = lever.now
        lies = rng.uniform(*self.lie_s)
        lever.stay(lies)
        self.let_goes.append(LetGo(
            side=side, at_s=at_s, held_mm=held, rest_mm=float(lever.here[0]), settled_s=settled - at_s,
            plane=lever.nearest_plane(float(lever.here[0])),
        ))  # fmt: skip
        return abs(lever.here[0] - held) < 1.0

    def _run(self, lever: MadeLever) -> None:
        s, rng = self.spring, lever.rng
        centre = s.centre_mm + rng.normal(0, self.spread_mm)
        if self.creep_s is None:
            lever.run_home(Spring(centre_mm=centre, frequency_hz=s.frequency_hz, damping=s.damping,
                                  friction_mm=s.friction_mm))  # fmt: skip
            return
        held = float(lever.here[0])
        goal = centre + np.sign(held - centre) * s.friction_mm
        t = np.arange(int(8 * self.creep_s * PATH_HZ)) / PATH_HZ
        way = goal + (held - goal) * np.exp(-t / self.creep_s)
        way = way[: int(np.argmax(np.abs(way - goal) < 0.05)) or None]
        lever.parts.append(np.column_stack([way, np.full(way.size, lever.here[1])]))

    def true_hysteresis(self) -> float:
        """Median rest from the right minus median rest from the left, as the lever lay."""
        right, left = ([g.rest_mm for g in self.let_goes if g.side == s] for s in ("right", "left"))
        return float(np.median(right) - np.median(left))


def draw_release(seed: int) -> MadeRelease:
    """A test of any lever: healthy, stiff, offset, creeping, stuck; any gate."""
    rng = np.random.default_rng([seed, 77])
    layout = ["four", "five", "six", "six_right", "dogleg", "seven"][seed % 6]
    kind = ("healthy", "offset", "dry", "creeps", "sticks", "stuck")[rng.integers(6)]
    spring = Spring(
        centre_mm=float(rng.uniform(-2, 2) if kind != "offset" else rng.choice([-1, 1]) * rng.uniform(4, 12)),
        frequency_hz=float(rng.uniform(2, 8)), damping=float(rng.uniform(0.1, 1.5)),
        friction_mm=float(rng.uniform(4, 10) if kind == "dry" else rng.uniform(0.0, 1.5)),
    )  # fmt: skip
    return MadeRelease(
        seed=seed, layout=layout, each=int(rng.integers(10, 16)), spring=spring, spread_mm=float(rng.uniform(0, 0.8)),
        creep_s=float(rng.uniform(0.15, 0.6)) if kind == "creeps" else None,
        stick={"sticks": float(rng.uniform(0.1, 0.6)), "stuck": 1.0}.get(kind, 0.0),
        again=str(rng.choice(["through", "press", "grip"])), by_turns=bool(rng.random() < 0.3),
        tremor_mm=float(rng.uniform(0.12, 0.3)),
    )  # fmt: skip
