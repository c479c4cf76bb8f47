"""A drive put together piece by piece, with engine and vehicle speed known exactly and every change of gear written
down: kinematics only, so that nothing of the detector's own is in it."""

from dataclasses import dataclass, field

import numpy as np

from shiftlog.model.drive import Signals
from shiftlog.model.trace import Trace

STEP_S = 0.005
IDLE_RPM = 850.0
KMH = 1 / 3.6

FIVE = {"1": 440.0, "2": 255.0, "3": 172.0, "4": 129.0, "5": 104.0}
SIX_CLOSE = {"1": 395.0, "2": 265.0, "3": 202.0, "4": 165.0, "5": 140.0, "6": 121.0}
FOUR_WIDE = {"1": 510.0, "2": 285.0, "3": 178.0, "4": 118.0}


@dataclass(eq=False)
class MadeDrive:
    """Pieces of driving one after the other; ``ratios`` in rpm per m/s."""

    ratios: dict[str, float]
    mps: float = 0.0
    gear: str | None = None
    pieces: list[np.ndarray] = field(default_factory=list)
    changes: list[tuple[str, str, float, float]] = field(default_factory=list)

    @property
    def now_s(self) -> float:
        return sum(len(piece) for piece in self.pieces) * STEP_S

    def stand(self, seconds: float, *, rpm: float = IDLE_RPM) -> "MadeDrive":
        """Engine running, car still."""
        self.mps, self.gear = 0.0, None
        return self._add(seconds, np.full(self._count(seconds), rpm), 0.0)

    def launch(self, seconds: float, accel: float) -> "MadeDrive":
        """First gear with the clutch slipping until the engine fits the wheels."""
        self.gear = "1"
        speed = self._speeds(seconds, accel)
        return self._add(seconds, np.maximum(speed * self.ratios["1"], 1800.0), accel)

    def go(self, seconds: float, accel: float) -> "MadeDrive":
        """Clutch closed."""
        speed = self._speeds(seconds, accel)
        return self._add(seconds, speed * self.ratios[self.gear], accel)

    def change(self, to: str, seconds: float, *, accel: float = -0.2, overshoot: float = 0.0) -> "MadeDrive":
        """Clutch open, engine on its way to the next gear's speed, overshooting it by a share on the way."""
        start_s, speed = self.now_s, self._speeds(seconds, accel)
        u = np.linspace(0, 1, speed.size)
        first, last = self.ratios[self.gear] * speed[0], self.ratios[to] * speed[-1]
        rpm = first + (last - first) * np.minimum(u / 0.8, 1) + overshoot * last * np.sin(np.pi * u) ** 2
        self._add(seconds, rpm, accel)
        self.changes.append((self.gear, to, start_s, self.now_s))
        self.gear = to
        return self

    def coast(self, seconds: float, accel: float) -> "MadeDrive":
        """No gear driving: the engine falls to idle."""
        count = self._count(seconds)
        first = self.ratios[self.gear] * self.mps if self.gear else IDLE_RPM
        fall = np.exp(-np.arange(count) * STEP_S / 0.25)
        return self._add(seconds, IDLE_RPM + (first - IDLE_RPM) * fall, accel)

    def take_up(self, gear: str, seconds: float) -> "MadeDrive":
        """From coasting into a gear, the engine pulled from idle to its speed."""
        self.gear = gear
        rpm = np.linspace(IDLE_RPM, self.ratios[gear] * self.mps, self._count(seconds))
        return self._add(seconds, rpm, 0.0)

    def rev(self, seconds: float, *rpm: float, accel: float = 0.0) -> "MadeDrive":
        """Clutch open, engine speed by way of these values, evenly spread."""
        way = np.interp(np.linspace(0, 1, self._count(seconds)), np.linspace(0, 1, len(rpm)), rpm)
        return self._add(seconds, way, accel)

    def slip(self, seconds: float, share: float, accel: float) -> "MadeDrive":
        """In gear, engine faster (or slower, below 0) than the wheels' true speed by up to a share."""
        speed = self._speeds(seconds, accel)
        u = np.sin(np.pi * np.linspace(0, 1, speed.size)) ** 0.5
        return self._add(seconds, speed * self.ratios[self.gear] * (1 + share * u), accel)

    def _count(self, seconds: float) -> int:
        return round(seconds / STEP_S)

    def _speeds(self, seconds: float, accel: float) -> np.ndarray:
        return np.maximum(self.mps + accel * STEP_S * np.arange(1, self._count(seconds) + 1), 0.0)

    def _add(self, seconds: float, rpm: np.ndarray, accel: float) -> "MadeDrive":
        speed = self._speeds(seconds, accel)
        self.pieces.append(np.stack([rpm, speed, np.full(speed.size, accel)], axis=1))
        self.mps = float(speed[-1])
        return self

    def read(
        self,
        *,
        rates_hz: tuple[float, float] = (20.0, 10.0),
        lag_s: float = 0.0,
        step_mps: float = 0.0,
        scale: float = 1.0,
        zero_s: float = 0.0,
        noise_mps: float = 0.03,
        accel_hz: float | None = None,
        clutch: tuple[tuple[float, float], ...] | None = None,
        seed: int = 1,
    ) -> Signals:
        """What recorders make of it: speed late by ``lag_s``, cut off to whole ``step_mps``; engine speed to 1 rpm."""
        rng = np.random.default_rng(seed)
        true = np.concatenate(self.pieces)
        time = np.arange(len(true)) * STEP_S
        t_engine, t_speed = (np.arange(rng.uniform(0, 1 / rate), time[-1], 1 / rate) for rate in rates_hz)
        rpm = np.interp(t_engine, time, true[:, 0]) + rng.normal(0, 8, t_engine.size)
        mps = np.interp(t_speed - lag_s, time, true[:, 1]) * scale
        mps = np.floor(mps / step_mps) * step_mps if step_mps else mps + rng.normal(0, noise_mps, mps.size)
        more = {}
        if accel_hz:
            t_accel = np.arange(0, time[-1], 1 / accel_hz)
            forward = np.interp(t_accel, time, true[:, 2]) + rng.normal(0, 0.1, t_accel.size)
            level = np.stack([forward, 0 * forward, 9.81 + 0 * forward], axis=1)
            more["accel_vehicle"] = {"body": trace(t_accel + zero_s, level, accel_hz, place="body")}
        if clutch is not None:
            t_clutch = np.arange(0, time[-1], 0.02)
            down = np.any([(t_clutch >= a) & (t_clutch < b) for a, b in clutch], axis=0)
            more["clutch"] = trace(t_clutch + zero_s, down.astype(float), 50.0)
        return Signals(
            engine_speed=trace(t_engine + zero_s, np.round(np.maximum(rpm, 0)), rates_hz[0]),
            vehicle_speed=trace(t_speed + zero_s, np.maximum(mps, 0), rates_hz[1]),
            **more,
        )


def trace(time_s: np.ndarray, values: np.ndarray, rate_hz: float, *, place: str = "engine") -> Trace:
    return Trace(
        time_s=time_s, values=values, spans=((float(time_s[0]), float(time_s[-1])),), rate_hz=rate_hz,
        recording="made", place=place,
    )  # fmt: skip


def up_and_down(ratios: dict[str, float], *, change_s: float = 0.5, dwell_s: float = 6.0) -> MadeDrive:
    """From walking pace up through all gears and down again, twice, with a rev-matched way down."""
    drive, gears = MadeDrive(ratios, mps=3.0, gear="1"), list(ratios)
    for _ in range(2):
        for gear in gears[1:]:
            drive.go(dwell_s, 14.0 / drive.ratios[drive.gear] * 10).change(gear, change_s)
        drive.go(dwell_s, 0.3)
        for gear in gears[-2::-1]:
            target = 2600.0 / ratios[gear]
            drive.go(dwell_s, min((target - drive.mps) / dwell_s, -0.3)).change(gear, change_s, overshoot=0.08)
        drive.go(dwell_s, -0.1)
    return drive
