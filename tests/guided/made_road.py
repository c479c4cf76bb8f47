"""Shifts on the road made by hand: cones that take t = J Δω / T for a difference, in a car that keeps its speed."""

from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

from .made import LEVER_HZ, PLACES, RATIOS, Log, MadeDrive, Mark, Way, lever_log, rpm_per_mps

SPEEDS_RPM = (2200.0, 3500.0, 4800.0)
TOUCH = 0.5


@dataclass(eq=False, kw_only=True)
class MadeRoad:
    """slopes : ms for 1,000 rpm at the hub, by gear entered; drag_rpmps : how the free shaft coasts

    refuses : probability of a refused push, by state
    """

    seed: int
    slopes: dict[str, float] = field(default_factory=lambda: {"1": 160.0, "2": 110.0, "3": 80.0, "4": 60.0})
    drag_rpmps: float = 350.0
    scatter: float = 0.08

    def __post_init__(self) -> None:
        self.rng = np.random.default_rng([self.seed, 41])
        self.way, self.speed, self.gear, self.clutch = Way(), [5.0], ["N"], [0.0]
        self.marks: list[Mark] = []
        self.temp: list[tuple[float, float]] = []
        self.stood_ms: dict[tuple[str, str], list[float]] = {}
        self.state = ""

    def synchroniser(self, configuration: str = "hot", *, each: int = 3) -> None:
        """2-3, 3-2, 3-4, 4-3 at three engine speeds, by a deliberate and a quick hand."""
        start_s = self.way.now_s
        for rpm in SPEEDS_RPM:
            for in_s in (0.28, 0.1):
                for _ in range(each):
                    for old, new in (("2", "3"), ("3", "2"), ("3", "4"), ("4", "3")):
                        top = rpm * (0.75 if int(new) < int(old) else 1.0)
                        self.shift(old, new, top / rpm_per_mps(old) * self.rng.uniform(0.92, 1.08), in_s)
        self.marks.append(Mark(kind="synchroniser", start_s=start_s, end_s=self.way.now_s, configuration=configuration))

    def warm_up(self, configuration: str, *, longer: float = 1.0, refuses: float = 0.0, each: int = 10) -> None:
        """Ten 1-2 and ten 3-2, with cones that take ``longer`` times their own time."""
        start_s, own, self.state = self.way.now_s, dict(self.slopes), configuration
        self.slopes = {gear: longer * slope for gear, slope in own.items()}
        for _ in range(each):
            self.shift("1", "2", 6.0 * self.rng.uniform(0.9, 1.1), 0.15, refused=self.rng.uniform() < refuses)
            self.shift("3", "2", 12.0 * self.rng.uniform(0.9, 1.1), 0.15, refused=self.rng.uniform() < refuses)
        self.slopes = own
        self.marks.append(Mark(kind="warm_up", start_s=start_s, end_s=self.way.now_s, configuration=configuration))

    def cruise(self, lasts_s: float) -> None:
        """In gear, nothing done."""
        self._pass(lasts_s)

    def shift(self, old: str, new: str, mps: float, in_s: float, *, refused: bool = False) -> None:
        """Into the old gear with time taken, and then the shift that counts."""
        self._at(mps)
        self._act("N", lambda: self.way.into(old, in_s=0.25).stay(0.1), old)
        self._pass(1.2)
        self._act(old, lambda: self._go(old, new, mps, in_s, refused), new)
        self._pass(1.0)

    def _go(self, old: str, new: str, mps: float, in_s: float, refused: bool) -> None:
        way, rng = self.way, self.rng
        select, engage = PLACES[new]
        way.stay(0.1).move((way.here[0], 0.0), in_s)
        if abs(way.here[0] - select) > 0.5:
            way.move((select, 0.0), max(in_s, 0.12))
        if refused:
            way.move((select, 0.5 * engage), 0.1).stay(0.05).move((select, 0.0), 0.1)
        from_s = way.now_s
        way.move((select, TOUCH * engage), 0.6 * in_s)
        coasted = self.drag_rpmps * (way.now_s - from_s + 0.15 + in_s)
        turning = mps * rpm_per_mps(old) - coasted
        apart = abs(turning - mps * rpm_per_mps(new)) / RATIOS[new]
        stands_s = self.slopes[new] * apart * 1e-6 * rng.lognormal(0, self.scatter)
        self.stood_ms.setdefault((f"{old}-{new}", self.state), []).append(1000 * stands_s)
        way.stay(stands_s)
        way.move((select, engage), 0.5 * in_s).stay(0.15)

    def _at(self, mps: float) -> None:
        self.speed[-1] = mps

    def _act(self, gear: str, act, then: str) -> None:
        before = self.way.count
        act()
        n = self.way.count - before
        self.speed += [self.speed[-1]] * n
        self.gear += [gear] * (n // 3) + ["N"] * (n - n // 3)
        self.clutch += [1.0] * n
        self.now = then

    def _pass(self, lasts_s: float) -> None:
        before = self.way.count
        self.way.stay(lasts_s)
        n = self.way.count - before
        self.speed += [self.speed[-1]] * n
        self.gear += [self.now] * n
        self.clutch += [0.0] * n

    def write(self, folder: Path, *, head: dict[str, object] | None = None) -> Path:
        self._act("N", lambda: self.way.out().stay(1.0), "N")
        time_s, speed = self.way.time_s, np.array(self.speed)
        target = np.array([s * rpm_per_mps(g) if g in RATIOS else 900.0 for s, g in zip(speed, self.gear, strict=True)])
        rpm = np.empty(target.size)
        rpm[0] = 900.0
        for k in range(1, rpm.size):
            reach = 9000 / LEVER_HZ if self.gear[k] in RATIOS else 1200 / LEVER_HZ
            rpm[k] = rpm[k - 1] + np.clip(target[k] - rpm[k - 1], -reach, reach)
        at = slice(None, None, 5)
        noise = self.rng.normal(0, 4, rpm[at].size)
        columns = {
            "engine_speed [rpm]": np.round(rpm[at] + noise), "vehicle_speed [km/h]": np.round(3.6 * speed[at], 2),
            "clutch": np.array(self.clutch)[at],
        }  # fmt: skip
        if self.temp:
            columns["gearbox_temp [degC]"] = np.round(np.interp(time_s[at], *zip(*self.temp, strict=True)), 1)
        bus = Log(name="bus", place="engine", time_s=time_s[at], columns=columns)
        logs = [lever_log(self.way.mm, self.rng, noise=0.7), bus]
        return MadeDrive(logs=logs, marks=self.marks, head=head or {}).write(folder)
