"""A lever, a hand and a cheap sensor, made by hand: what they did is known to the sample."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

LAYOUTS = {
    "four": ("1-2,3-4", "3-4"),
    "five": ("1-2,3-4,5-R", "3-4"),
    "six": ("R,1-2,3-4,5-6", "3-4"),
    "six_right": ("1-2,3-4,5-6,R", "3-4"),
    "dogleg": ("R-1,2-3,4-5", "2-3"),
    "seven": ("R,1-2,3-4,5-6,7", "3-4"),
    "homeless": ("1-2,3-4,5-R", "none"),
}
PITCH_MM, TRAVEL_MM, BEYOND_MM = 25.0, 30.0, 3.0
PATH_HZ = 1000.0


@dataclass(eq=False, kw_only=True)
class Spring:
    """centre_mm : where it pulls to; friction_mm : half width of the band in which dry friction holds the lever."""

    centre_mm: float = 0.0
    frequency_hz: float = 4.0
    damping: float = 0.4
    friction_mm: float = 0.5

    def run(self, from_mm: float, low: float, high: float) -> np.ndarray:
        """The way after the let-go until it stands, at ``PATH_HZ``; one sample where friction holds it at once.

        Exact between samples for a constant friction force (matrix exponential), friction turned at each standstill.
        """
        w, x, v = 2 * np.pi * self.frequency_hz, from_mm, 0.0
        way = [x]
        for _ in range(int(8 * PATH_HZ)):
            if v == 0.0 and abs(x - self.centre_mm) <= self.friction_mm:
                break
            for _ in range(4):
                direction = np.sign(v) if v else -np.sign(x - self.centre_mm)
                pull = -(w**2) * (x - self.centre_mm + self.friction_mm * direction) - 2 * self.damping * w * v
                before, v = v, v + pull / (4 * PATH_HZ)
                x += v / (4 * PATH_HZ)
                v = 0.0 if before * v < 0 else v
            if not low <= x <= high:
                x, v = float(np.clip(x, low, high)), -0.25 * v
            # Slower than this nobody waits for it.
            if abs(v) < 0.3 and abs(x - self.centre_mm) < self.friction_mm + 0.03:
                break
            way.append(x)
        return np.array(way)


class MadeLever:
    """Builds the lever's way piece by piece. seed : of everything drawn; layout : a key of ``LAYOUTS``"""

    def __init__(self, seed: int, layout: str) -> None:
        self.rng = np.random.default_rng([seed, 2025])
        self.layout = layout
        planes, self.home = LAYOUTS[layout]
        self.planes = [tuple(p.split("-")) if "-" in p else (p, None) for p in planes.split(",")]
        names = ["-".join(g for g in p if g) for p in self.planes]
        self.origin = names.index(self.home) if self.home in names else 0
        self.names = names
        self.parts: list[np.ndarray] = [np.zeros((int(0.5 * PATH_HZ), 2))]
        self.marks: list[tuple[str, float, float, str | None]] = []
        self.force: list[np.ndarray] = []

    @property
    def now(self) -> float:
        return sum(len(part) for part in self.parts) / PATH_HZ

    @property
    def here(self) -> np.ndarray:
        return self.parts[-1][-1]

    @property
    def gears(self) -> list[str]:
        return [g for plane in self.planes for g in plane if g]

    def plane_mm(self, index: int) -> float:
        return PITCH_MM * (index - self.origin)

    def place(self, gear: str) -> tuple[float, float]:
        for index, plane in enumerate(self.planes):
            for side, name in zip((1, -1), plane, strict=True):
                if name == gear:
                    return self.plane_mm(index), side * TRAVEL_MM / 2
        raise KeyError(gear)

    def nearest_plane(self, select_mm: float) -> str:
        return self.names[int(np.argmin([abs(self.plane_mm(k) - select_mm) for k in range(len(self.planes))]))]

    @property
    def walls(self) -> tuple[float, float]:
        return self.plane_mm(0) - BEYOND_MM, self.plane_mm(len(self.planes) - 1) + BEYOND_MM

    def move(self, to: Sequence[float], lasts_s: float) -> None:
        u = np.linspace(0, 1, max(int(lasts_s * PATH_HZ), 2))[1:, None]
        self.parts.append(self.here + (10 * u**3 - 15 * u**4 + 6 * u**5) * (np.asarray(to, float) - self.here))

    def stay(self, lasts_s: float) -> None:
        self.parts.append(np.tile(self.here, (max(int(lasts_s * PATH_HZ), 1), 1)))

    def hold(self, lasts_s: float, *, tremor_mm: float = 0.15, wander_mm: float = 0.3) -> None:
        """A hand on the lever: it trembles at 8 to 12 Hz and wanders, and ends where it began."""
        n = max(int(lasts_s * PATH_HZ), 3)
        t = np.arange(n) / PATH_HZ
        fade = np.minimum(1, np.minimum(t, t[-1] - t) / 0.05)[:, None]
        tone = self.rng.uniform(8, 12) + 0.7 * np.sin(2 * np.pi * self.rng.uniform(0.3, 1.0) * t)
        phase = 2 * np.pi * np.cumsum(tone) / PATH_HZ
        shake = tremor_mm * np.stack([np.sin(phase), 0.6 * np.sin(phase + 1.0)], axis=1)
        slow = wander_mm * np.stack(
            [np.sin(2 * np.pi * self.rng.uniform(0.3, 0.9) * t + self.rng.uniform(0, 6)) for _ in range(2)], axis=1
        )
        self.parts.append(self.here + fade * (shake + slow - slow[0]))

    def run_home(self, spring: Spring) -> None:
        way = spring.run(float(self.here[0]), *self.walls)
        self.parts.append(np.column_stack([way, np.full(way.size, self.here[1])]))

    def tour(self, *, times: int = 1) -> None:
        """Once through all gears, so that the gate is known."""
        for _ in range(times):
            for gear in self.gears:
                select, engage = self.place(gear)
                self.move((select, 0.0), 0.25)
                self.move((select + self.rng.normal(0, 0.15), engage), 0.2)
                self.stay(self.rng.uniform(0.7, 1.0))
                self.move((select, 0.0), 0.2)
            self.move((0.0, 0.0), 0.25)
            self.stay(0.6)

    def mark(self, kind: str, start_s: float, configuration: str | None = None) -> None:
        self.marks.append((kind, start_s, self.now, configuration))

    def write(self, folder: Path, *, bits: int = 10, noise: float = 1.0, rate_hz: float = 200.0,
              absolute: bool = False, force: np.ndarray | None = None) -> Path:  # fmt: skip
        """The drive folder: counts of a sensor with so many bits, turned and leaning on its axes."""
        folder.mkdir(parents=True, exist_ok=True)
        way = np.concatenate(self.parts)
        at = np.arange(0, len(way) / PATH_HZ, 1 / rate_hz)
        rows = np.minimum((at * PATH_HZ).round().astype(int), len(way) - 1)
        turn = np.deg2rad(self.rng.uniform(-2, 2) if absolute else self.rng.uniform(-15, 15))
        axes = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
        if not absolute:
            axes = axes @ np.array([[1.0, self.rng.uniform(-0.1, 0.1)], [self.rng.uniform(-0.1, 0.1), 1.0]])
        gain = self.rng.uniform(5, 6.5) if self.layout == "seven" else self.rng.uniform(6, 7.5)
        counts = way[rows] @ (gain * axes).T + 2**bits / 2 + self.rng.uniform(-20, 20, 2)
        counts = np.clip(np.round(counts + self.rng.normal(0, noise, counts.shape)), 0, 2**bits - 1)
        head, more = "time [s],select [count],engage [count]", [""] * len(rows)
        if force is not None:
            head += ",lever_force [N]"
            more = [f",{f:.2f}" for f in force[rows]]
        text = "\n".join(f"{t:.4f},{a:.0f},{b:.0f}{m}" for t, (a, b), m in zip(at, counts, more, strict=True))
        (folder / "lever.csv").write_text(f"{head}\n{text}\n", encoding="utf-8")
        self._write_car(folder, f"mm_per_unit = {{ select = {1 / gain}, engage = {1 / gain} }}\n" if absolute else "")
        (folder / "drive.toml").write_text(
            'format = 1\n[car]\nprofile = "car.toml"\n[[recording]]\nname = "lever"\nfile = "lever.csv"\n'
            'place = "lever"\n[recording.columns]\nselect = { column = "select", unit = "count", grows = "right" }\n'
            'engage = { column = "engage", unit = "count", grows = "forward" }\n'
            'time = { column = "time", unit = "s" }\n' + "".join(map(_mark_text, self.marks)),
            encoding="utf-8",
        )
        return folder

    def _write_car(self, folder: Path, scale: str) -> None:
        planes = ", ".join(
            "{ " + ", ".join(f'{side} = "{g}"' for side, g in zip(("forward", "rear"), p, strict=True) if g) + " }"
            for p in self.planes
        )
        (folder / "car.toml").write_text(
            f'format = 1\n[car]\nname = "Made car"\nredline_rpm = 7000\n[gate]\nplanes = [ {planes} ]\n'
            f'home = "{self.home}"\nplane_pitch_mm = {PITCH_MM:g}\nengage_travel_mm = {TRAVEL_MM:g}\n{scale}',
            encoding="utf-8",
        )


def _mark_text(mark: tuple[str, float, float, str | None]) -> str:
    kind, start_s, end_s, configuration = mark
    more = f'configuration = "{configuration}"\n' if configuration else ""
    return f'[[test]]\nkind = "{kind}"\nstart_s = {start_s:.3f}\nend_s = {end_s:.3f}\n{more}'
