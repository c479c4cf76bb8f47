"""Clearance tests made by hand: levers of many gates, let go and pushed home, as cheap sensors log them."""

from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np

LAYOUTS = {
    "four": ("1-2,3-4", "1-2"),
    "five": ("1-2,3-4,5-R", "3-4"),
    "six": ("R,1-2,3-4,5-6", "3-4"),
    "dogleg": ("R-1,2-3,4-5", "2-3"),
    "seven": ("R,1-2,3-4,5-6,7", "3-4"),
}
RATE_HZ = 200.0


@dataclass(eq=False, kw_only=True)
class MadeTest:
    """A car at standstill. clearances : true, by gear [mm]; wanted [mm]; gives : mm of a soft stop, by gear

    sides : (left, right) room across the gate by gear [mm], pressed after the stop; pitch : what the profile says of a
    turn of the engage and of the select cable [mm]
    """

    seed: int
    layout: str = "five"
    presses: int = 3
    bits: int = 10
    noise: float = 1.0
    clearances: dict[str, float] = field(default_factory=dict)
    soft: dict[str, float] = field(default_factory=dict)
    wanted: float = 1.5
    range_mm: tuple[float, float] = (-4.0, 4.0)
    sides: dict[str, tuple[float, float]] = field(default_factory=dict)
    pitch: tuple[float, float] = (1.25, 1.25)

    def __post_init__(self) -> None:
        self.rng = np.random.default_rng([self.seed, 55])
        planes, self.home = LAYOUTS[self.layout]
        self.planes = [tuple(p.split("-")) if "-" in p else (p, None) for p in planes.split(",")]
        gears = [g for plane in self.planes for g in plane if g]
        self.clearances = {g: float(self.rng.uniform(0.0, 3.5)) for g in gears} | self.clearances

    def place(self, gear: str) -> tuple[float, float, int]:
        """Where the lever lies in a gear when let go (select, engage) [mm], and the way it goes in."""
        origin = next(i for i, p in enumerate(self.planes) if "-".join(g for g in p if g) == self.home)
        for index, plane in enumerate(self.planes):
            for side, name in zip((1, -1), plane, strict=True):
                if name == gear:
                    return 25.0 * (index - origin), 15.0 * side, side
        raise KeyError(gear)

    @property
    def ways(self) -> dict[str, int]:
        return {gear: self.place(gear)[2] for gear in self.clearances}

    def path(self) -> np.ndarray:
        """The lever's way, (n, 2) mm at ``RATE_HZ``: gears in any order, a second let go, a second pressed, let go."""
        points: list[np.ndarray] = [np.zeros((int(RATE_HZ), 2))]
        order = list(self.clearances)
        self.rng.shuffle(order)
        for gear in order:
            select, engage, way = self.place(gear)
            self._move(points, (select, 0.0), 0.25)
            self._move(points, (select, engage), 0.2)
            self._stay(points, 1.0)
            for _ in range(self.presses):
                beyond = self.clearances[gear] + self.rng.normal(0, 0.04)
                if gear in self.soft:
                    beyond += self.soft[gear] * self.rng.uniform(0, 1)
                if beyond > 0.02:
                    self._move(points, (select, engage + way * beyond), 0.15)
                self._stay(points, self.rng.uniform(0.8, 1.3))
                self._move(points, (select, engage), 0.15)
                self._stay(points, self.rng.uniform(0.8, 1.3))
            self._press_aside(points, (select, engage), self.sides.get(gear))
            self._move(points, (select, 0.0), 0.2)
            self._move(points, (0.0, 0.0), 0.25)
            self._stay(points, 0.6)
        return np.concatenate(points)

    def _press_aside(
        self, points: list[np.ndarray], at: tuple[float, float], room: tuple[float, float] | None
    ) -> None:  # fmt: skip
        for sign, mm in ((-1, room[0]), (1, room[1])) if room else ():
            for _ in range(self.presses):
                self._move(points, (at[0] + sign * (mm + self.rng.normal(0, 0.04)), at[1]), 0.15)
                self._stay(points, self.rng.uniform(0.8, 1.3))
                self._move(points, at, 0.15)
                self._stay(points, self.rng.uniform(0.8, 1.3))

    def turned(self, engage_mm: float, select_mm: float = 0.0) -> "MadeTest":
        """The same car after its cables moved the lever by so much, tested again by another hand."""
        clearances = {g: max(mm - self.ways[g] * engage_mm, 0.0) for g, mm in self.clearances.items()}
        sides = {g: (left + select_mm, right - select_mm) for g, (left, right) in self.sides.items()}
        return replace(self, seed=self.seed + 50_000, clearances=clearances, sides=sides)

    def _move(self, points: list[np.ndarray], to: tuple[float, float], lasts_s: float) -> None:
        here = points[-1][-1]
        share = np.linspace(0, 1, max(int(lasts_s * RATE_HZ), 2))[:, None]
        points.append(here + (10 * share**3 - 15 * share**4 + 6 * share**5) * (np.array(to) - here))

    def _stay(self, points: list[np.ndarray], lasts_s: float) -> None:
        points.append(np.tile(points[-1][-1], (int(lasts_s * RATE_HZ), 1)))

    def write(self, folder: Path) -> Path:
        """The drive folder: counts of a 10-bit sensor, turned and leaning on its axes."""
        folder.mkdir(parents=True, exist_ok=True)
        way = self.path()
        turn = np.deg2rad(self.rng.uniform(-15, 15))
        axes = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
        axes = axes @ np.array([[1.0, self.rng.uniform(-0.1, 0.1)], [self.rng.uniform(-0.1, 0.1), 1.0]])
        counts = way @ (self.rng.uniform(6, 9) * axes).T + 2**self.bits / 2
        counts = np.clip(np.round(counts + self.rng.normal(0, self.noise, counts.shape)), 0, 2**self.bits - 1)
        rows = "\n".join(f"{k / RATE_HZ:.4f},{a:.0f},{b:.0f}" for k, (a, b) in enumerate(counts))
        (folder / "lever.csv").write_text(f"time [s],select [count],engage [count]\n{rows}\n", encoding="utf-8")
        planes = ", ".join(
            "{ " + ", ".join(f'{side} = "{g}"' for side, g in zip(("forward", "rear"), p, strict=True) if g) + " }"
            for p in self.planes
        )
        (folder / "car.toml").write_text(
            f'format = 1\n[car]\nname = "Made car"\nredline_rpm = 7000\n[gate]\nplanes = [ {planes} ]\n'
            f'home = "{self.home}"\nplane_pitch_mm = 25\nengage_travel_mm = 30\n'
            f"[limits]\nclearance_mm = {self.wanted}\n"
            f'[cables]\nend = "turn"\nengage_mm_per_turn = {self.pitch[0]}\n'
            f"select_mm_per_turn = {self.pitch[1]}\n"
            f"engage_range_mm = [{self.range_mm[0]}, {self.range_mm[1]}]\nselect_range_mm = [-4, 4]\n",
            encoding="utf-8",
        )
        (folder / "drive.toml").write_text(
            'format = 1\n[car]\nprofile = "car.toml"\n[[recording]]\nname = "lever"\nfile = "lever.csv"\n'
            'place = "lever"\n[recording.columns]\nselect = { column = "select", unit = "count", grows = "right" }\n'
            'engage = { column = "engage", unit = "count", grows = "forward" }\n'
            'time = { column = "time", unit = "s" }\n'
            f'[[test]]\nkind = "clearance"\nstart_s = 0.5\nend_s = {len(way) / RATE_HZ - 0.2:.2f}\n',
            encoding="utf-8",
        )
        return folder

    def smallest(self, engage_mm: float) -> float:
        """True smallest margin over the gears with hard stops after moving the engage cable [mm]."""
        return min(c - self.ways[g] * engage_mm - self.wanted for g, c in self.clearances.items() if g not in self.soft)

    def best(self) -> tuple[float, float]:
        """(engage, smallest margin) by trying every hundredth of a millimetre of the range."""
        tried = np.arange(self.range_mm[0], self.range_mm[1] + 1e-9, 0.01)
        return max(((float(e), self.smallest(float(e))) for e in tried), key=lambda pair: pair[1])
