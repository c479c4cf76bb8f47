"""Engine speed at idle, and whether an engine idles."""

import numpy as np

from shiftlog.detect.speeds import Samples, value_at

STALLED_RPM = 300.0
"""No engine idles below this; it has stopped, or is being started."""

STANDING_MPS = 0.5
"""Below this the car stands, or moves so slowly that the clutch is open."""

LEAST_STANDING = 3
"""So many samples at standstill are enough for a median."""

IDLE_QUANTILE = 0.02
"""Without standstill in the log, idle is taken as the engine speed undercut this share of the time …"""

GREATEST_IDLE_RPM = 1200.0
"""… unless that is more than an engine idles at: then the log has no idle (common practice, no source)."""

IDLE_WITHIN = 0.25
"""An engine that idles stays within this share of its idle speed at standstill: it is raised while the car rolls and
while the engine is cold (common practice, no source)."""


def find_idle(engine: Samples, vehicle: Samples) -> float | None:
    """Engine speed at idle [rpm]: at standstill, else the lowest that is kept; None where it never idled."""
    running = engine.values > STALLED_RPM
    mps = value_at(vehicle, engine.time_s)
    standing = running & (np.nan_to_num(mps, nan=np.inf) < STANDING_MPS)
    if np.count_nonzero(standing) >= LEAST_STANDING:
        return float(np.median(engine.values[standing]))
    lowest = float(np.quantile(engine.values[running], IDLE_QUANTILE)) if running.any() else np.inf
    return lowest if lowest < GREATEST_IDLE_RPM else None


def is_idling(rpm: np.ndarray, idle_rpm: float | None) -> np.ndarray:
    """Whether each engine speed is near idle, (n,) bool."""
    if idle_rpm is None:
        return np.zeros(rpm.shape, dtype=bool)
    return np.abs(rpm / idle_rpm - 1) < IDLE_WITHIN
