"""The level at which a car without drive slows: the one level all plateaus with an open clutch share.

An accelerometer feels no grade while the car rolls freely: what slows it by gravity is not felt. So with the clutch
open it reads rolling and air drag alone, a function of speed, whatever the hill and the gear.
"""

from dataclasses import dataclass

import numpy as np

from shiftlog.detect.phone_evidence import GRID_HZ
from shiftlog.detect.phone_pairs import GUARD_S, Pair
from shiftlog.model.trace import Trace

ROLLING_MPS2, ROLLING_SD_MPS2 = -0.13, 0.12
"""0.013 g of rolling drag (common practice, no source); the drive's mean, taken off, is off by about this much."""

AIR_PER_M = np.arange(1.5, 7.6, 0.5) * 1e-4
"""Air drag over mass: 0.5 · 1.2 kg/m³ · 0.5 to 1 m² · over 800 to 2,000 kg (common practice, no source)."""

USUAL_AIR_PER_M, USUAL_SPEED_MPS = 4e-4, 15.0
"""Where speed is not known, the level of this speed is taken."""

KNOWN_SD_MPS2, UNKNOWN_SD_MPS2 = 0.07, 0.15
"""How closely plateaus lie to the level: with speed known, and not."""

LEAST_DEPTH_MPS2 = 0.25
"""Plateaus between smaller steps tell nothing."""

OFFSETS_MPS2 = np.arange(-0.6, 0.61, 0.02)


@dataclass(frozen=True, eq=False, kw_only=True)
class Coast:
    """level = rolling − air · speed² [m/s²]; ``sd`` is how closely plateaus lie to it."""

    rolling: float
    air: float
    sd: float
    speed: Trace | None

    def levels(self, pairs: list[Pair]) -> np.ndarray:
        """The level in the middle of each candidate, the drive's mean taken off, (n,) [m/s²]."""
        middle_s = np.array([(pair.start_s + pair.end_s) / 2 for pair in pairs])
        return self.rolling - self.air * speed_at(self.speed, middle_s) ** 2


def speed_at(speed: Trace | None, time_s: np.ndarray) -> np.ndarray:
    """Speed at these instants (n,) [m/s]; the usual one where it is not known."""
    if speed is None:
        return np.full(np.shape(time_s), USUAL_SPEED_MPS)
    return np.interp(time_s, speed.time_s, speed.values)


def find_coast(pairs: list[Pair], speed: Trace | None) -> Coast:
    """The level that most plateaus share, near where a car's rolling drag puts it."""
    sd = KNOWN_SD_MPS2 if speed is not None else UNKNOWN_SD_MPS2
    deep = [p for p in pairs if min(abs(p.middle - p.before), abs(p.after - p.middle)) > LEAST_DEPTH_MPS2]
    airs = AIR_PER_M if speed is not None else np.array([USUAL_AIR_PER_M])
    middles = np.array([p.middle for p in deep])
    squares = speed_at(speed, np.array([(p.start_s + p.end_s) / 2 for p in deep])) ** 2
    weights = np.array([np.exp(-2 * _wander(p)) for p in deep])
    levels = ROLLING_MPS2 + OFFSETS_MPS2
    scores = np.array([[_score(middles + air * squares - level, weights, sd) for level in levels] for air in airs])
    prior = -0.5 * (OFFSETS_MPS2 / ROLLING_SD_MPS2) ** 2
    best_air, best = np.unravel_index(np.argmax(np.log(1.0 + scores) * 3.0 + prior), scores.shape)
    return Coast(rolling=float(levels[best]), air=float(airs[best_air]), sd=sd, speed=speed)


def _wander(pair: Pair) -> float:
    """How far the plateau wanders, in standard deviations of the road."""
    inset = min(round(GUARD_S * GRID_HZ), (pair.second - pair.first) // 3)
    within = pair.felt.slow[pair.first + inset : pair.second - inset + 1]
    return float(within.std() / pair.felt.road[pair.first])


def _score(off: np.ndarray, weights: np.ndarray, sd: float) -> float:
    return float(np.sum(weights * np.exp(-0.5 * (off / sd) ** 2))) if off.size else 0.0
