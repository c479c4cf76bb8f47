"""Spin-down tests made by hand: an input shaft with oil that drags and a clutch that may drive it."""

from dataclasses import dataclass, field
from pathlib import Path

import numpy as np

from .made import (
    FINE_HZ,
    PLACES,
    RATIOS,
    Log,
    MadeDrive,
    Mark,
    Way,
    accel_log,
    as_recorded,
    engine_hum,
    lever_log,
    ring,
)

IDLE_RPM, TEETH = 830.0, 36
STEP_S = 0.001
OTHER_PLACES = 5
FALLS_IN_RPM = 40.0
"""A hub that turns slower than this lets the teeth fall in with a blow or two."""


@dataclass(eq=False, kw_only=True)
class MadeSpinDown:
    """One span of tries.

    coulomb_rpmps, tau_s : how oil and seals stop the shaft; drive_rpmps : how the clutch drives it on
    rings_alike : whether every blow rings like the one before
    refused : how often a tooth meets a tooth at each try on a shaft at rest, before the gear goes in
    through_second : the hand goes through second before reverse; second_after_grind : only where reverse ground
    """

    seed: int
    coulomb_rpmps: float = 250.0
    tau_s: float = 2.5
    drive_rpmps: float = 0.0
    rings_alike: bool = True
    waits_s: tuple[float, ...] = (10.0, 5.0, 3.0, 2.0, 1.0)
    rate_hz: float = 1600.0
    stop_when_loud: bool = True
    whole_gate: bool = False
    has_clutch: bool = True
    has_lever: bool = True
    by_card: bool = False
    types_waits: bool = False
    has_accel: bool = True
    through_second: bool = False
    second_after_grind: bool = False
    refused: int = 0
    head: dict[str, object] = field(default_factory=dict)
    gearbox: dict[str, object] = field(default_factory=dict)
    shafts: dict[float, float] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.rng = np.random.default_rng([self.seed, 91])

        turning, course = IDLE_RPM, []
        for _ in range(round(30.0 / STEP_S)):
            course.append(turning)
            pull = self.drive_rpmps - self.coulomb_rpmps - turning / self.tau_s
            turning = min(max(turning + pull * STEP_S, 0.0), IDLE_RPM)
        self.course = np.array(course)

    def shaft_rpm(self, wait_s: float) -> float:
        """True speed of the input shaft so long after the clutch went down."""
        return float(self.course[min(round(wait_s / STEP_S), self.course.size - 1)])

    @property
    def rests_after_s(self) -> float | None:
        """When the hub turns no faster than teeth that fall in; None where the clutch drives it on."""
        slow = np.flatnonzero(self.course / RATIOS["R"] < FALLS_IN_RPM)
        return float(slow[0] * STEP_S) if slow.size else None

    def run(self, folder: Path, configuration: str = "complete") -> Path:
        """One span of tries, and with ``whole_gate`` a trip through all gears after it."""
        way, downs, blows = Way(), [], []
        mark = self._tries(way, downs, blows, configuration)
        if self.whole_gate:
            for gear in ("1", "2", "3", "4", "5", "1", "3", "5", "2", "4"):
                way.into(gear).stay(1.0)
            way.out().stay(1.0)
        return self._write(folder, way, downs, blows, [mark])

    def run_before(self, second: "MadeSpinDown", folder: Path) -> Path:
        """This car as it is, then the other after the pedal was pumped."""
        way, downs, blows = Way(), [], []
        marks = [self._tries(way, downs, blows, "complete"), second._tries(way, downs, blows, "pumped")]
        return self._write(folder, way, downs, blows, marks)

    def run_every_gear(self, folder: Path, *, refused_on: float, refused_off: float) -> Path:
        """Every gear twice with the engine off and twice with it idling; pushes are refused with these shares."""
        way, marks = Way(), []
        for state, share in (("off", refused_off), ("idling", refused_on)):
            way.stay(2.0)
            start_s, refused = way.now_s, []
            for gear in ("1", "2", "3", "4", "5") * 2:
                refused.append(bool(self.rng.uniform() < share))
                self._push_at(way, gear, refused[-1])
            marks.append(
                Mark(kind="spin_down", start_s=start_s, end_s=way.now_s, configuration=f"every gear, engine {state}")
            )
            if state == "idling":
                self.truth_on = (sum(refused), len(refused))
        way.stay(1.0)
        return self._write(folder, way, [], [], marks)

    def _push_at(self, way: Way, gear: str, refused: bool) -> None:
        select, engage = PLACES[gear]
        way.move((select, 0.0), 0.25)
        if refused:
            way.move((select, 0.5 * engage), 0.1).stay(0.1).move((select, 0.0), 0.1).stay(0.15)
        way.move((select, engage), 0.15).stay(1.0).out().stay(0.8)

    def _write(self, folder: Path, way: Way, downs: list, blows: list, marks: list[Mark]) -> Path:
        return MadeDrive(logs=self._logs(way, downs, blows), marks=marks, gearbox=self.gearbox, head=self.head).write(
            folder
        )

    def _tries(self, way: Way, downs: list, blows: list, configuration: str) -> Mark:
        start_s = way.now_s + (3.0 if self.by_card else 1.0)
        way.stay(3.0)
        for wait_s in self.waits_s:
            loud = self._one_try(way, downs, blows, wait_s)
            if loud and self.stop_when_loud:
                break
        way.stay(1.0)
        typed = self.waits_s[: len(downs)] if self.types_waits else ()
        return Mark(
            kind="spin_down", start_s=start_s, end_s=way.now_s - 0.5, configuration=configuration, waits_s=typed
        )  # fmt: skip

    def _one_try(self, way: Way, downs: list, blows: list, wait_s: float) -> bool:
        rng = self.rng
        way.stay(5.0)
        down_s = way.now_s
        touch_s = down_s + wait_s + rng.uniform(0, 0.25)
        over_s = down_s + wait_s + 6.0
        if self.through_second:
            way.until(touch_s - 1.2).into("2").stay(0.3).move((-25.0, 0.0), 0.12)
        else:
            way.stay(0.3 * wait_s)
        way.move((25.0, 0.0), 0.3)
        way.until(touch_s - 0.06)
        turning = 0.0 if self.through_second else self.shaft_rpm(way.now_s + 0.06 - down_s)
        hub = turning / RATIOS["R"]
        way.move((25.0, -4.5), 0.06)
        self.shafts[round(way.now_s - down_s, 2)] = turning
        loud = hub > FALLS_IN_RPM
        blows.append((np.array([way.now_s]), np.array([rng.uniform(0.3, 1.2)])))
        for _ in range(0 if loud else self.refused):
            way.move((25.0, -6.0), 0.04).move((25.0, 0.0), 0.1).stay(0.1).move((25.0, -4.5), 0.06)
            blows.append((np.array([way.now_s]), np.array([rng.uniform(0.6, 1.5)])))
        if loud:
            self._clash(way, blows, hub)
        if loud and self.second_after_grind:
            way.move((25.0, -7.0), 0.06).move((25.0, 0.0), 0.12).stay(0.7).into("2").stay(0.3).move(
                (-25.0, 0.0), 0.15
            ).move((25.0, 0.0), 0.2)
            way.stay(0.1)
        way.move((25.0, -15.0), 0.1)
        blows.append((np.array([way.now_s - 0.01]), np.array([rng.uniform(1.0, 3.0)])))
        way.stay(1.0).move((25.0, 0.0), 0.15).move((0.0, 0.0), 0.3).stay(0.3)
        if self.by_card:
            way.until(over_s)
        downs.append((down_s, way.now_s))
        return loud

    def _clash(self, way: Way, blows: list, hub: float) -> None:
        """Teeth that stop the shaft: quickly where nothing drives it, hardly where the clutch does."""
        rng = self.rng
        lasts_s = rng.uniform(0.25, 0.5) if self.drive_rpmps > self.coulomb_rpmps else hub / rng.uniform(350, 1200)
        lasts_s = float(np.clip(lasts_s, 0.12, 0.6))
        left = rng.uniform(0.6, 0.95) if self.drive_rpmps > self.coulomb_rpmps else 0.05
        bent = rng.uniform(0.85, 1.2)
        time = np.arange(0, lasts_s, 1 / FINE_HZ)
        apart = hub * (1 - (1 - left) * (time / lasts_s) ** bent)
        passed = np.cumsum(TEETH * apart / 60) / FINE_HZ + rng.uniform()
        hits = np.flatnonzero(np.diff(np.floor(passed)) > 0)
        sizes = rng.lognormal(0, 0.4, hits.size) * np.clip(apart[hits] / 150, 0.3, 2.0)
        blows.append((way.now_s + time[hits], sizes * rng.uniform(0.6, 2.0)))
        steps = max(round(lasts_s * 250), 2)
        way.add(way.here + np.column_stack([np.zeros(steps), rng.normal(0, 0.4, steps)]))

    def _rung(self, blows: list, count: int) -> np.ndarray:
        """What the casing makes of all blows; where they do not ring alike, each strikes it somewhere else."""
        struck = np.zeros((1 if self.rings_alike else OTHER_PLACES, count))
        for at, sizes in blows:
            where = self.rng.integers(len(struck), size=at.size)
            sign = 1.0 if self.rings_alike else self.rng.choice([-1.0, 1.0], size=at.size)
            np.add.at(struck, (where, np.minimum((at * FINE_HZ).astype(int), count - 1)), sizes * sign)
        return sum(ring(one, self.rng) for one in struck)

    def _logs(self, way: Way, downs: list, blows: list) -> list[Log]:
        rng, lasts_s = self.rng, way.now_s
        heard = as_recorded(self._rung(blows, int(lasts_s * FINE_HZ) + 1) * 4.0, self.rate_hz)
        time_s = np.arange(len(heard)) / self.rate_hz
        rpm = IDLE_RPM + 8 * np.sin(2 * np.pi * 0.4 * time_s) + rng.normal(0, 1)
        slow = np.arange(0, lasts_s, 0.02)
        clutch = np.zeros(slow.size)
        for a, b in downs:
            clutch[(slow >= a) & (slow < b)] = 1
        columns = {"engine_speed [rpm]": np.round(np.interp(slow, time_s, rpm), 1)}
        if self.has_clutch:
            columns["clutch"] = clutch
        bus = Log(name="bus", place="engine", time_s=slow, columns=columns)
        heard = [accel_log(time_s, heard + engine_hum(time_s, rpm, rng))] if self.has_accel else []
        lever = [lever_log(way.mm, rng)] if self.has_lever else []
        return [*lever, *heard, bus]
