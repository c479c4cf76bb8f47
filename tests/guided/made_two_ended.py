"""Both ends of a cable made by hand: backlash, Coulomb friction at the far end, and a cable that stretches."""

from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

from .made import PLACES, Log, MadeDrive, Mark, Way, lever_log


def follow(lever_mm: np.ndarray, width_mm: float, start_mm: float = 0.0) -> np.ndarray:
    """The far end behind play of this width: it stands until the near end has taken up the slack."""
    far = np.empty_like(lever_mm)
    place = start_mm
    for k, near in enumerate(lever_mm):
        place = min(max(place, near - width_mm / 2), near + width_mm / 2)
        far[k] = place
    return far


@dataclass(eq=False, kw_only=True)
class MadeTwoEnded:
    """At standstill: slowly through the gate and back twice, light pushes and pulls in gear, presses home.

    backlash_mm, friction_mm : (select, engage) width of the play, and of what friction stretches the cable by, to and
    fro; stretch_mm : further, as the lever is pressed home; lag_s : the tower's sensor reads late
    """

    seed: int
    backlash_mm: tuple[float, float] = (0.8, 1.2)
    friction_mm: tuple[float, float] = (0.6, 0.8)
    stretch_mm: float = 1.5
    lag_s: float = 0.0
    noise: float = 1.0
    quick: float = 1.0
    with_tower: bool = True
    presses: list[tuple[int, int, float]] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.rng = np.random.default_rng([self.seed, 29])

    def run(self, folder: Path) -> Path:
        way, wiggles, q = Way(), [], self.quick
        way.stay(2.0)
        for gear in ("1", "2", "3", "4", "5", "R", "5", "4", "3", "2", "1", "3"):
            way.into(gear, cross_s=1.0 * q, in_s=0.6 * q).stay(0.8)
            for _ in range(2):
                self._wiggle(way, wiggles)
                self._press(way, gear)
        way.out(out_s=0.6, home_s=0.6).stay(1.0)
        lever = way.mm
        # A hand that wiggles lightly goes to and fro within the slack, which its last way in took up on one side.
        tower = np.column_stack([self._far(lever[:, k], k) for k in (0, 1)])
        logs = [lever_log(lever, self.rng, noise=self.noise)]
        if self.with_tower:
            late = np.column_stack([np.interp(way.time_s - self.lag_s, way.time_s, column) for column in tower.T])
            logs.append(self._tower_log(late))
        marks = [Mark(kind="free_play", start_s=0.5, end_s=way.now_s - 0.3)]
        return MadeDrive(logs=logs, marks=marks).write(folder)

    def _far(self, near_mm: np.ndarray, axis: int) -> np.ndarray:
        moved = near_mm.copy()
        if axis == 1:
            for first, last, pressed in self.presses:
                moved[first:last] -= pressed
        return follow(moved, self.backlash_mm[axis] + self.friction_mm[axis])

    def _wiggle(self, way: Way, wiggles: list) -> None:
        """Back by the free play and forth again, twice, with two fingers: no force, so the cable does not stretch."""
        select, engage = way.here
        back = engage - np.sign(engage) * self.backlash_mm[1]
        for _ in range(3):
            way.move((select, back), 0.25).stay(0.1).move((select, engage), 0.25).stay(0.1)

    def _press(self, way: Way, gear: str) -> None:
        """Home against the stop: the lever goes on by what the cable stretches, the tower stands."""
        side, first = np.sign(PLACES[gear][1]), way.count
        here = way.here.copy()
        way.stay(0.3)
        start = way.count
        way.move((here[0], here[1] + side * self.stretch_mm), 0.3).stay(0.6).move(tuple(here), 0.3).stay(0.4)
        share = np.abs(way.mm[start:, 1] - here[1])
        for k, part in enumerate(share):
            self.presses.append((start + k, start + k + 1, side * part))
        assert first < start

    def _tower_log(self, tower: np.ndarray) -> Log:
        log = lever_log(tower * self.rng.uniform(0.6, 1.4), self.rng, name="tower", place="tower", noise=self.noise)
        return log
