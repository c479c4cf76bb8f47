"""Guided tests made by hand: a lever's way, a recorder at the gearbox, and the folder as recorders write it."""

import json
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
from scipy import signal

LEVER_HZ = 250.0
FINE_HZ = 16000.0
PITCH_MM, TRAVEL_MM = 25.0, 30.0
PLACES = {
    "1": (-25.0, 15.0), "2": (-25.0, -15.0), "3": (0.0, 15.0), "4": (0.0, -15.0), "5": (25.0, 15.0), "R": (25.0, -15.0),
}  # fmt: skip
RATIOS = {"1": 3.2, "2": 1.95, "3": 1.4, "4": 1.05, "5": 0.85, "R": 3.1}
FINAL, RADIUS_M = 4.1, 0.29


def rpm_per_mps(gear: str) -> float:
    """Engine speed over vehicle speed."""
    return RATIOS[gear] * FINAL * 60 / (2 * np.pi * RADIUS_M)


class Way:
    """A lever's way through the gate, built move by move at ``LEVER_HZ``."""

    def __init__(self, at: tuple[float, float] = (0.0, 0.0)) -> None:
        self.pieces = [np.array([at], float)]
        self.count = 1

    @property
    def now_s(self) -> float:
        return (self.count - 1) / LEVER_HZ

    @property
    def here(self) -> np.ndarray:
        return self.pieces[-1][-1]

    def move(self, to: tuple[float, float], lasts_s: float) -> "Way":
        share = np.arange(1, max(round(lasts_s * LEVER_HZ), 2) + 1)[:, None] / max(round(lasts_s * LEVER_HZ), 2)
        eased = 10 * share**3 - 15 * share**4 + 6 * share**5
        return self.add(self.here + eased * (np.asarray(to, float) - self.here))

    def stay(self, lasts_s: float) -> "Way":
        return self.add(np.tile(self.here, (max(round(lasts_s * LEVER_HZ), 1), 1)))

    def until(self, at_s: float) -> "Way":
        return self.stay(at_s - self.now_s) if at_s > self.now_s + 0.5 / LEVER_HZ else self

    def add(self, piece: np.ndarray) -> "Way":
        self.pieces.append(np.asarray(piece, float))
        self.count += len(piece)
        return self

    def into(self, gear: str, *, cross_s: float = 0.2, in_s: float = 0.15) -> "Way":
        """Out of what it is in, across in neutral and into a gear."""
        select, engage = PLACES[gear]
        if abs(self.here[1]) > 1.0:
            self.move((self.here[0], 0.0), in_s)
        if abs(self.here[0] - select) > 0.5:
            self.move((select, 0.0), cross_s)
        return self.move((select, engage), in_s)

    def out(self, *, out_s: float = 0.15, home_s: float = 0.25) -> "Way":
        """To neutral and home."""
        return self.move((self.here[0], 0.0), out_s).move((0.0, 0.0), home_s)

    @property
    def mm(self) -> np.ndarray:
        return np.concatenate(self.pieces)

    @property
    def time_s(self) -> np.ndarray:
        return np.arange(self.count) / LEVER_HZ


@dataclass(eq=False, kw_only=True)
class Log:
    """One recording: header → values on its own times."""

    name: str
    place: str
    time_s: np.ndarray
    columns: dict[str, np.ndarray]
    grows: bool = False
    mounted: bool = False

    def write(self, folder: Path) -> None:
        table = np.column_stack([self.time_s, *self.columns.values()])
        header = ",".join(["time [s]", *self.columns])
        np.savetxt(folder / f"{self.name}.csv", table, fmt="%.6g", delimiter=",", header=header, comments="")

    def toml(self) -> list[str]:
        lines = [
            "[[recording]]", f'name = "{self.name}"', f'file = "{self.name}.csv"', f'place = "{self.place}"',
            'clock = "logger"',
        ]  # fmt: skip
        if self.mounted:
            lines.append("mounting = [[1,0,0],[0,1,0],[0,0,1]]")
        if self.grows:
            lines += [
                "[recording.columns]",
                'select = { column = "select [count]", unit = "count", grows = "right" }',
                'engage = { column = "engage [count]", unit = "count", grows = "forward" }',
            ]
        return lines


def lever_log(
    mm: np.ndarray,
    rng: np.random.Generator,
    *,
    name: str = "lever",
    place: str = "lever",
    noise: float = 1.0,
    gain: float = 30.0,
    declared: bool = True,
) -> Log:
    """Counts of a 12-bit sensor, turned and leaning on its axes."""  # fmt: skip
    turn = np.deg2rad(rng.uniform(-12, 12))
    axes = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
    axes = axes @ np.array([[1.0, rng.uniform(-0.08, 0.08)], [rng.uniform(-0.08, 0.08), 1.0]])
    counts = np.round(mm @ (gain * rng.uniform(0.9, 1.1) * axes).T + 2048 + rng.normal(0, noise, mm.shape))
    return Log(
        name=name, place=place, time_s=np.arange(len(mm)) / LEVER_HZ, grows=declared,
        columns={"select [count]": counts[:, 0], "engage [count]": counts[:, 1]},
    )  # fmt: skip


def accel_log(
    time_s: np.ndarray, accel: np.ndarray, *, name: str = "gearbox", place: str = "gearbox", mounted: bool = False
) -> Log:
    """Three axes of acceleration [m/s²]."""
    columns = {f"accel_{axis} [m/s^2]": np.round(accel[:, k], 3) for k, axis in enumerate("xyz")}
    return Log(name=name, place=place, time_s=time_s, columns=columns, mounted=mounted)


def ring(struck: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """What a casing makes of blows on the fine grid: three resonances, (n,) → (n, 3)."""
    total = np.zeros((struck.size, 3))
    for low, high in ((250, 400), (380, 600), (550, 900)):
        turn, fade = 2 * np.pi * rng.uniform(low, high) / FINE_HZ, np.exp(-1 / (rng.uniform(0.002, 0.006) * FINE_HZ))
        rung = signal.lfilter([0.0, fade * np.sin(turn)], [1.0, -2 * fade * np.cos(turn), fade**2], struck)
        total += np.outer(rung, rng.normal(0, 1, 3))
    return total


def as_recorded(fine: np.ndarray, rate_hz: float) -> np.ndarray:
    """A recorder with an honest filter before it, from the fine grid to its own rate, (n, 3) → (m, 3)."""
    return signal.resample_poly(fine, round(rate_hz), round(FINE_HZ), axis=0)


def engine_hum(time_s: np.ndarray, rpm: np.ndarray, rng: np.random.Generator, *, size: float = 0.3) -> np.ndarray:
    """Firing orders of four cylinders and noise, (n,) → (n, 3) [m/s²]."""
    turns = 2 * np.pi * np.cumsum(rpm / 60) * np.median(np.diff(time_s))
    total = rng.normal(0, 0.05, (time_s.size, 3)) + np.array([0.0, 0.0, 9.81])
    for order in (1.0, 2.0, 4.0, 6.0):
        tone = size / order * np.sin(order * turns + rng.uniform(0, 6.28)) * (rpm > 100)
        total += np.outer(tone, rng.normal(0, 1, 3))
    return total


@dataclass(eq=False, kw_only=True)
class Mark:
    """A marked span."""

    kind: str
    start_s: float
    end_s: float
    configuration: str = "complete"
    waits_s: tuple[float, ...] = ()


@dataclass(eq=False, kw_only=True)
class MadeDrive:
    """A folder to be: recordings, marks, and what the profile says beyond the gate."""

    logs: list[Log]
    marks: list[Mark]
    gearbox: dict[str, object] = field(default_factory=dict)
    head: dict[str, object] = field(default_factory=dict)
    mm_per_unit: float | None = None

    def write(self, folder: Path) -> Path:
        folder.mkdir(parents=True, exist_ok=True)
        for log in self.logs:
            log.write(folder)
        lines = ["format = 1", "[drive]", *(f"{k} = {json.dumps(v)}" for k, v in self.head.items())]
        lines += ["[car]", 'profile = "car.toml"', *(line for log in self.logs for line in log.toml())]
        for mark in self.marks:
            lines += ["[[test]]", f'kind = "{mark.kind}"', f"start_s = {mark.start_s:.3f}"]
            lines += [f"end_s = {mark.end_s:.3f}", f'configuration = "{mark.configuration}"']
            lines += [f"waits_s = {list(mark.waits_s)}"] if mark.waits_s else []
        (folder / "drive.toml").write_text("\n".join(lines) + "\n", encoding="utf-8")
        (folder / "car.toml").write_text("\n".join(self._car()) + "\n", encoding="utf-8")
        return folder

    def _car(self) -> list[str]:
        known = {"final_drive": FINAL, "ratios": RATIOS, "dog_teeth": {g: 36 for g in RATIOS}, **self.gearbox}
        lines = ["format = 1", "[car]", 'name = "Made car"', "redline_rpm = 7000", "[gearbox]"]
        lines += [f"{key} = {_toml(value)}" for key, value in known.items() if value is not None]
        lines += [
            "[tyre]", f"rolling_radius_m = {RADIUS_M}", "[gate]",
            'planes = [ { forward = "1", rear = "2" }, { forward = "3", rear = "4" }, { forward = "5", rear = "R" } ]',
            'home = "3-4"', f"plane_pitch_mm = {PITCH_MM}", f"engage_travel_mm = {TRAVEL_MM}",
        ]  # fmt: skip
        if self.mm_per_unit:
            lines.append(f"mm_per_unit = {{ select = {self.mm_per_unit}, engage = {self.mm_per_unit} }}")
        return lines


def _toml(value: object) -> str:
    if isinstance(value, dict):
        return "{ " + ", ".join(f'"{k}" = {_toml(v)}' for k, v in value.items()) + " }"
    return json.dumps(value)
