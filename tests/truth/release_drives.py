"""Marked release tests whose every let-go is known: a hand, a lever, a gate and a sensor, made for this alone."""

from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

from tests.truth.release_levers import STEP_S, Lever

GATES = {
    "3 planes": ("1-2", "3-4", "5-R"),
    "4 planes": ("R-", "1-2", "3-4", "5-6"),
    "dog-leg": ("R-1", "2-3", "4-5"),
    "wide": ("R-", "1-2", "3-4", "5-6", "7-"),
}
HOMES = {"3 planes": 1, "4 planes": 2, "dog-leg": 1, "wide": 2}
BEYOND_MM = 3.0


@dataclass(frozen=True, kw_only=True)
class TrueLetGo:
    """side : where it was held; gear : what the push after it found, if any

    let_go_s, settled_s, taken_s : when it was let go, came within 1 mm of its rest for good, and was taken again
    """

    side: str
    held_mm: float
    rest_mm: float
    let_go_s: float
    settled_s: float
    taken_s: float
    plane: str
    gear: str | None = None


@dataclass(frozen=True, kw_only=True)
class Hand:
    """tremor_mm, sway_mm : one standard deviation of each; again : how it takes a lever that lies where it is needed

    ``middle`` leads it to the middle first, ``grip`` takes it in its place
    """

    tremor_mm: float
    sway_mm: float
    again: str
    pushes: bool
    hold_s: tuple[float, float] = (0.7, 1.4)
    waits_s: tuple[float, float] = (1.4, 2.6)


@dataclass(eq=False, kw_only=True)
class ReleaseDrive:
    """A drive folder's worth of way; places in mm, (n, 2) select and engage, one row a millisecond."""

    rng: np.random.Generator
    gate: str
    pitch_mm: float
    travel_mm: float
    hand: Hand
    way: list[np.ndarray] = field(default_factory=lambda: [np.zeros((500, 2))])
    let_goes: list[TrueLetGo] = field(default_factory=list)
    span: tuple[float, float] = (0.0, 0.0)

    @property
    def planes_mm(self) -> np.ndarray:
        return self.pitch_mm * (np.arange(len(GATES[self.gate])) - HOMES[self.gate])

    @property
    def walls(self) -> tuple[float, float]:
        return float(self.planes_mm[0] - BEYOND_MM), float(self.planes_mm[-1] + BEYOND_MM)

    @property
    def now_s(self) -> float:
        return sum(len(part) for part in self.way) * STEP_S

    @property
    def here(self) -> np.ndarray:
        return self.way[-1][-1]

    def nearest(self, select_mm: float) -> int:
        return int(np.argmin(np.abs(self.planes_mm - select_mm)))

    def _unsteady(self, steps: int) -> np.ndarray:
        """What a hand adds to where it means to be: tremor of 8 to 12 Hz and slow sway, from none on, (n, 2) mm."""
        time = np.arange(steps) * STEP_S
        both = np.zeros((steps, 2))
        for axis, size in ((0, 1.0), (1, 0.7)):
            for low, high, sd in ((8, 12, self.hand.tremor_mm), (0.2, 1.0, self.hand.sway_mm)):
                tones = self.rng.uniform(low, high, 5)
                waves = np.sin(2 * np.pi * np.outer(time, tones) + self.rng.uniform(0, 2 * np.pi, 5)).sum(axis=1)
                both[:, axis] += size * sd * waves * np.sqrt(2 / 5)
        return both * np.minimum(1, time / 0.08)[:, None]

    def lead(self, to: tuple[float, float], lasts_s: float, *, hold_s: float = 0.0) -> None:
        """A hand takes the lever somewhere and holds it there."""
        moves, holds = int(lasts_s / STEP_S), int(hold_s / STEP_S)
        u = np.linspace(0, 1, moves)
        u = u + self.rng.uniform(-0.4, 0.4) * u * (1 - u)
        share = np.concatenate([u**3 * (10 - 15 * u + 6 * u**2), np.ones(holds)])[:, None]
        way = self.here + share * (np.asarray(to) - self.here) + self._unsteady(moves + holds)
        way[:, 0] = np.clip(way[:, 0], *self.walls)
        self.way.append(way)

    def lie(self, lasts_s: float) -> None:
        self.way.append(np.tile(self.here, (max(int(lasts_s / STEP_S), 1), 1)))

    def tour(self) -> None:
        """Twice through every gear."""
        for plane, gears in list(zip(self.planes_mm, GATES[self.gate], strict=True)) * 2:
            for way, gear in zip((1, -1), gears.split("-"), strict=True):
                if gear:
                    self.lead((plane, 0.0), 0.3)
                    seat = (plane + self.rng.normal(0, 0.2), way * self.travel_mm / 2)
                    self.lead(seat, 0.25)
                    self.lie(self.rng.uniform(0.7, 1.1))
                    self.lead((plane, 0.0), 0.25)
        self.lead((0.0, 0.0), 0.3)
        self.lie(0.8)

    def release(self, lever: Lever, sides: list[str]) -> None:
        """The marked test: the lever led out, held, let go and left alone, once for each of the sides."""
        begin = self.now_s
        for side in sides:
            self._take_out(side, lever)
            self._let_go(side, lever)
        self.lead((0.0, 0.0), 0.4)
        self.span = (begin, self.now_s)
        self.lie(0.5)

    def _take_out(self, side: str, lever: Lever) -> None:
        way = 1 if side == "right" else -1
        out = way * self.pitch_mm * self.rng.uniform(0.8, 1.1)
        beyond = lever.rest_mm + way * self.rng.uniform(2, 5)
        to = float(np.clip(way * max(way * out, way * beyond), self.walls[0] + 0.3, self.walls[1] - 0.3))
        hold = self.rng.uniform(*self.hand.hold_s)
        lies_there = way * self.here[0] > way * out - 4 and not (self.hand.pushes and abs(self.here[1]) > 3)
        if lies_there and self.hand.again == "grip":
            to = float(np.clip(self.here[0] + way * self.rng.uniform(0.2, 1.2), *self.walls))
        elif lies_there:
            self.lead((self.rng.uniform(-2, 2), 0.0), self.rng.uniform(0.3, 0.6), hold_s=self.rng.uniform(0, 0.2))
        self.lead((to, self.rng.normal(0, 0.4)), self.rng.uniform(0.3, 0.8), hold_s=hold)

    def _let_go(self, side: str, lever: Lever) -> None:
        let_go_s, held = self.now_s, float(self.here[0])
        run = lever.run(held, self.rng)
        left = 0.0 if run.size > 1 else self.here[1]
        engage = left + (self.here[1] - left) * np.exp(-np.arange(run.size) * STEP_S / 0.05)
        self.way.append(np.column_stack([run, engage]))
        outside = np.flatnonzero(np.abs(run - run[-1]) > 1.0)
        settled_s = let_go_s + (int(outside[-1]) + 1 if outside.size else 0) * STEP_S
        self.lie(self.rng.uniform(*self.hand.waits_s))
        taken_s, rest = self.now_s, float(self.here[0])
        self.let_goes.append(TrueLetGo(
            side=side, held_mm=held, rest_mm=rest, let_go_s=let_go_s, settled_s=settled_s, taken_s=taken_s,
            plane=GATES[self.gate][self.nearest(rest)].strip("-"), gear=self._push() if self.hand.pushes else None,
        ))  # fmt: skip

    def _push(self) -> str | None:
        """Straight forward with an open palm: a slot takes it where it has one, a wall between two stops it."""
        plane = self.nearest(float(self.here[0]))
        gear = GATES[self.gate][plane].split("-")[0] or None
        select = float(self.planes_mm[plane])
        self.lead(
            (select, self.travel_mm / 2 if gear else 0.1 * self.travel_mm), 0.35, hold_s=self.rng.uniform(0.3, 0.8)
        )
        self.lead((select, 0.0), 0.3)
        return gear

    def write(self, folder: Path, *, rate_hz: float, bits: int, noise_mm: float) -> Path:
        """The drive folder, of a sensor that is turned, leans on its axes and rounds."""
        rng = self.rng
        folder.mkdir(parents=True, exist_ok=True)
        way = np.concatenate(self.way)
        rows = np.round(np.arange(0, len(way) * STEP_S, 1 / rate_hz) / STEP_S).astype(int)
        rows = rows[rows < len(way)]
        turn = np.deg2rad(rng.uniform(-20, 20))
        axes = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
        axes = axes @ np.array([[1.0, rng.uniform(-0.12, 0.12)], [rng.uniform(-0.12, 0.12), 1.0]])
        reach = max(abs(w) for w in self.walls) + self.travel_mm
        mm = way[rows] + rng.normal(0, noise_mm, (rows.size, 2))
        counts = np.round(mm @ axes.T * (2**bits / 2 / reach) + 2**bits / 2)
        text = "\n".join(f"{r * STEP_S:.4f},{a:.0f},{b:.0f}" for r, (a, b) in zip(rows, counts, strict=True))
        (folder / "lever.csv").write_text(f"time [s],select [count],engage [count]\n{text}\n", encoding="utf-8")
        (folder / "car.toml").write_text(self._car(), encoding="utf-8")
        kinds = ["release"] + ["straight_push"] * self.hand.pushes
        marks = "".join(f'[[test]]\nkind = "{k}"\nstart_s = {self.span[0]}\nend_s = {self.span[1]}\n' for k in kinds)
        (folder / "drive.toml").write_text(
            'format = 1\n[car]\nprofile = "car.toml"\n[[recording]]\nname = "lever"\nfile = "lever.csv"\n'
            'place = "lever"\n[recording.columns]\nselect = { column = "select", unit = "count", grows = "right" }\n'
            'engage = { column = "engage", unit = "count", grows = "forward" }\n'
            'time = { column = "time", unit = "s" }\n' + marks, encoding="utf-8",
        )  # fmt: skip
        return folder

    def _car(self) -> str:
        planes = []
        for gears in GATES[self.gate]:
            named = zip(("forward", "rear"), gears.split("-"), strict=True)
            planes.append("{ " + ", ".join(f'{side} = "{gear}"' for side, gear in named if gear) + " }")
        home = GATES[self.gate][HOMES[self.gate]]
        return (
            f'format = 1\n[car]\nname = "Made car"\nredline_rpm = 7000\n[gate]\nplanes = [ {", ".join(planes)} ]\n'
            f'home = "{home}"\nplane_pitch_mm = {self.pitch_mm:.3f}\nengage_travel_mm = {self.travel_mm:.3f}\n'
        )
