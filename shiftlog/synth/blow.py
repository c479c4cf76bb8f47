"""The blow of the dogs as a gear goes in: what it does to the gearbox, and its true peak."""

from dataclasses import dataclass

import numpy as np
from scipy import signal

FINE_HZ = 16000.0
"""Grid on which a blow is computed: 20 times the highest frequency that the definition looks at."""
REACH_S = 0.3
"""Half width of the stretch computed about a blow: six times its slowest decay at either end."""


@dataclass(frozen=True, eq=False, kw_only=True)
class Mode:
    """One way the gearbox rings: direction (3,) with its size [m/s²]."""

    frequency_hz: float
    decay_s: float
    size: np.ndarray


@dataclass(frozen=True, eq=False, kw_only=True)
class Blow:
    """A blow at ``at_s`` [s], as the sum of its modes; ``second`` strikes again, at a share of the size."""

    at_s: float
    modes: tuple[Mode, ...]
    second_s: float
    second_share: float

    def at(self, time_s: np.ndarray) -> np.ndarray:
        """Acceleration in vehicle axes at any times, (n,) → (n, 3) [m/s²]."""
        first = self._strike(time_s - self.at_s)
        return first + self.second_share * self._strike(time_s - self.at_s - self.second_s)

    def _strike(self, since_s: np.ndarray) -> np.ndarray:
        live = np.clip(since_s, 0.0, None)
        onset = np.clip(live / 0.0015, 0.0, 1.0)
        onset = 0.5 - 0.5 * np.cos(np.pi * onset)
        rings = [
            np.outer(np.exp(-live / m.decay_s) * np.sin(2 * np.pi * m.frequency_hz * live), m.size) for m in self.modes
        ]
        return onset[:, None] * np.sum(rings, axis=0)


def draw_blow(at_s: float, size_mps2: float, rng: np.random.Generator) -> Blow:
    """A blow of about that size, with modes between 70 and 500 Hz."""
    bands = ((70, 160), (170, 300), (310, 500))
    modes = []
    for band in bands:
        way = rng.normal(0, 1, 3)
        modes.append(
            Mode(
                frequency_hz=rng.uniform(*band),
                decay_s=rng.uniform(0.006, 0.018),
                size=size_mps2 * rng.uniform(0.4, 1.0) * way / np.linalg.norm(way),
            )
        )
    return Blow(
        at_s=at_s,
        modes=tuple(modes),
        second_s=rng.uniform(0.015, 0.05),
        second_share=float(rng.choice([0.0, rng.uniform(0.2, 0.7)])),
    )


def true_knock(blow: Blow, end_s: float, *, rate_hz: float) -> tuple[float, float]:
    """Peak [m/s²] and energy [m²/s³] by the definition, on the blow alone, for a recorder of that rate.

    Each axis 20 Hz to the lesser of 0.4 · rate and 800 Hz, Butterworth of order 4 per edge, forward and back;
    the norm, its peak and ∫|a|² dt from 20 ms before ``end_s`` to 120 ms after.
    """
    time_s = end_s + np.arange(-REACH_S, REACH_S, 1 / FINE_HZ)
    edges = (20.0, min(0.4 * rate_hz, 800.0))
    sos = signal.butter(4, edges, "bandpass", fs=FINE_HZ, output="sos")
    heard = signal.sosfiltfilt(sos, blow.at(time_s), axis=0)
    norm = np.linalg.norm(heard, axis=1)[(time_s >= end_s - 0.02) & (time_s <= end_s + 0.12)]
    return float(norm.max()), float(np.sum(norm**2) / FINE_HZ)


def heard_by(blow: Blow, time_s: np.ndarray, *, rate_hz: float) -> tuple[slice, np.ndarray]:
    """The samples a blow reaches, and what a recorder with an honest anti-alias filter adds there.

    time_s (n,) the recorder's own instants; returns a slice of them and (m, 3) [m/s²]
    """
    first, last = np.searchsorted(time_s, (blow.at_s - 0.05, blow.at_s + 0.25))
    fine_s = blow.at_s + np.arange(-0.1, 0.3, 1 / FINE_HZ)
    sos = signal.butter(8, 0.46 * rate_hz, fs=FINE_HZ, output="sos")
    smooth = signal.sosfiltfilt(sos, blow.at(fine_s), axis=0)
    inside = time_s[first:last]
    added = np.stack([np.interp(inside, fine_s, smooth[:, k]) for k in range(3)], axis=1)
    return slice(int(first), int(last)), added
