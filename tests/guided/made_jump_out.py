"""Jump-out tests made by hand: an engine that rocks on its mounts, gears that walk out, gears that let go."""

from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

from .made import LEVER_HZ, PLACES, RATIOS, Log, MadeDrive, Mark, Way, lever_log, rpm_per_mps

GEARS = ("1", "2", "3", "4", "5")
HOLD_S, QUICK_S, COAST_S = 5.0, 1.0, 1.2


@dataclass(eq=False, kw_only=True)
class MadeJumpOut:
    """Each gear three times under drive and on the overrun.

    rock_mm : engage movement of the lever under full drive in first, forward positive; creep : share of it that
    follows slowly; walks : (gear, direction) → mm in five seconds, jumps : → in how many of the three it lets go
    steps : → mm that the gear goes out at once, as the torque comes; comes_back : whether it goes in again with it
    hangs_at : depth at which the lever of a gear that lets go comes to lie, until a hand puts it in again
    by_card : overrun follows drive at once, and a steady speed comes at the end alone; pedal : under drive [%];
    closed : what a closed throttle is logged as [%]; gears : those tried
    """

    seed: int
    rock_mm: float = 1.0
    creep: float = 0.1
    walks: dict[tuple[str, str], float] = field(default_factory=dict)
    jumps: dict[tuple[str, str], int] = field(default_factory=dict)
    steps: dict[tuple[str, str], float] = field(default_factory=dict)
    comes_back: bool = False
    hangs_at: float = 0.0
    by_card: bool = False
    pedal: float = 95.0
    closed: float = 0.0
    gears: tuple[str, ...] = GEARS
    has_throttle: bool = True
    gearbox: dict[str, object] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.rng = np.random.default_rng([self.seed, 17])

    def run(self, folder: Path) -> Path:
        self.way, self.torque, self.speed, self.gear, self.clutch = Way(), [0.0], [6.0], ["N"], [0.0]
        self._pass(1.5, 0.0, "N")
        start_s = self.way.now_s
        for gear in self.gears:
            self._into(gear)
            for turn in range(3):
                for direction, sign in (("drive", 1.0), ("overrun", -0.35)):
                    self._hold(gear, direction, sign, turn)
            for k in range(5):
                self._stretch(gear, QUICK_S, 1.0 if k % 2 == 0 else -0.35)
        end_s = self.way.now_s
        self._open(lambda: self.way.out().stay(0.5))
        marks = [Mark(kind="jump_out", start_s=start_s, end_s=end_s)]
        return MadeDrive(logs=self._logs(), marks=marks, gearbox=self.gearbox).write(folder)

    def _into(self, gear: str) -> None:
        self._open(lambda: self.way.into(gear).stay(0.3))
        self.speed[-1] = 1700.0 / rpm_per_mps(gear)
        self._stretch(gear, COAST_S, 0.0)

    def _open(self, act) -> None:
        """The clutch down while the lever does this."""
        before = self.way.count
        act()
        n = self.way.count - before
        self.torque += [0.0] * n
        self.speed += [self.speed[-1]] * n
        self.gear += ["N"] * n
        self.clutch += [1.0] * n

    def _pass(self, lasts_s: float, torque: float, gear: str) -> None:
        before = self.way.count
        self.way.stay(lasts_s)
        n = self.way.count - before
        gain = 2.0 * torque * RATIOS.get(gear, 0.0) / RATIOS["1"] - 0.25 * (torque < 0)
        self.torque += [torque] * n
        self.speed += list(np.maximum(self.speed[-1] + gain * np.arange(1, n + 1) / LEVER_HZ, 2.0))
        self.gear += [gear] * n
        self.clutch += [0.0] * n

    def _stretch(self, gear: str, lasts_s: float, torque: float) -> None:
        self._pass(lasts_s, torque, gear)

    def _hold(self, gear: str, direction: str, torque: float, turn: int) -> None:
        key = (gear, direction)
        out_mm = self.walks.get(key, 0.0) * self.rng.uniform(0.8, 1.2)
        lets_go = turn < self.jumps.get(key, 0)
        lasts_s = self.rng.uniform(2.0, 4.0) if lets_go else HOLD_S
        first = self.way.count
        self._pass(lasts_s, torque, gear)
        side = np.sign(PLACES[gear][1])
        run = np.linspace(0, 1, self.way.count - first) ** self.rng.uniform(0.7, 1.3)
        if lets_go:
            out_mm = max(out_mm, 3.0)
        at_once = self.steps.get(key, 0.0) * (1 - np.exp(-np.arange(run.size) / (0.08 * LEVER_HZ)))
        self.way.pieces[-1] = self.way.pieces[-1] - np.column_stack([0 * run, side * (out_mm * run + at_once)])
        if lets_go:
            self._let_go(gear, torque)
            self._into(gear)
            return
        out_mm += self.steps.get(key, 0.0)
        if out_mm and self.comes_back:
            self.way.move(PLACES[gear], 0.2)
            self._fill(gear, torque)
        if self.by_card and direction == "drive":
            return
        self._stretch(gear, COAST_S, 0.0)
        if out_mm or self.by_card:
            self._open(lambda: self.way.move(PLACES[gear], 0.2).stay(0.3))
            self._stretch(gear, COAST_S, 0.0)

    def _fill(self, gear: str, torque: float) -> None:
        """Torque and speed of what the lever did by itself."""
        n = self.way.count - len(self.torque)
        self.torque += [torque] * n
        self.speed += [self.speed[-1]] * n
        self.gear += [gear] * n
        self.clutch += [0.0] * n

    def _let_go(self, gear: str, torque: float) -> None:
        before = self.way.count
        select, engage = PLACES[gear]
        self.way.move((select, self.hangs_at * engage), 0.07)
        self.way.stay(1.0).move(PLACES[gear], 0.15) if self.hangs_at else self.way.move((0.0, 0.0), 0.3).stay(0.8)
        n = self.way.count - before
        self.torque += [torque] * n
        self.speed += [self.speed[-1]] * n
        self.gear += ["free"] * n
        self.clutch += [0.0] * n

    def _logs(self) -> list[Log]:
        rng, mm = self.rng, self.way.mm.copy()
        time_s, torque = self.way.time_s, np.array(self.torque)
        gears = np.array(self.gear)
        load = torque * np.array([RATIOS.get(g, 0.0) / RATIOS["1"] for g in gears]) ** 0.7
        mm[:, 1] += self.rock_mm * ((1 - self.creep) * _lagged(load, 0.08) + self.creep * _lagged(load, 1.5))
        mm += 0.05 * np.sin(2 * np.pi * 27 * time_s)[:, None]
        speed = np.array(self.speed)
        rpm = speed * np.array([rpm_per_mps(g) if g in RATIOS else 0.0 for g in gears])
        for k in range(1, rpm.size):
            if gears[k] == "free":
                rpm[k] = (
                    min(rpm[k - 1] + 4000 / LEVER_HZ, 6500) if torque[k] > 0 else max(rpm[k - 1] - 2500 / LEVER_HZ, 850)
                )
            elif gears[k] == "N":
                rpm[k] = max(rpm[k - 1] - 1500 / LEVER_HZ, 850)
        at = slice(None, None, 5)
        pedal = np.where(torque > 0.5, self.pedal, np.where(torque < -0.1, 0.0, 25.0))
        columns = {
            "engine_speed [rpm]": np.round(rpm[at] + rng.normal(0, 5, rpm[at].size)),
            "vehicle_speed [km/h]": np.round(3.6 * speed[at], 2), "clutch": np.array(self.clutch)[at],
        }  # fmt: skip
        if self.has_throttle:
            columns["throttle [%]"] = self.closed + (1 - self.closed / 100) * pedal[at]
        return [lever_log(mm, rng), Log(name="bus", place="engine", time_s=time_s[at], columns=columns)]


def _lagged(values: np.ndarray, tau_s: float) -> np.ndarray:
    out, share = np.zeros(values.size), 1 / (tau_s * LEVER_HZ)
    for k in range(1, values.size):
        out[k] = out[k - 1] + share * (values[k] - out[k - 1])
    return out
