"""What the road does besides shaking: potholes and kerbs, and trim that rattles in its holder."""

from dataclasses import dataclass

import numpy as np
from scipy import signal

from shiftlog.synth.blow import Blow, Mode, heard_by
from shiftlog.synth.ride import ROADS, Ride, sampled, to_unit
from shiftlog.synth.truth import Truth

WHEELBASE_M = 2.6
HOP_HZ, HOP_S = 14.0, 0.06
RATTLE_HZ = 4000.0
RATTLES_ABOVE = 1.3
"""A trim leaves its seat where the road's push exceeds this many times its usual size."""


@dataclass(frozen=True, eq=False, kw_only=True)
class Pothole:
    """A wheel in a hole or on a kerb: the wheel hops, and the blow runs through the structure [m/s²]."""

    at_s: float
    size_mps2: float
    way: tuple[float, float, float]
    blow: Blow

    def felt(self, time_s: np.ndarray, *, rate_hz: float) -> tuple[slice, np.ndarray]:
        """The samples it reaches and what it adds there, (k, 3) [m/s²]."""
        first, last = np.searchsorted(time_s, (self.at_s - 0.05, self.at_s + 0.4))
        since = np.clip(time_s[first:last] - self.at_s, 0.0, None)
        hop = self.size_mps2 * np.exp(-since / HOP_S) * np.sin(2 * np.pi * HOP_HZ * since)
        added = np.outer(hop, self.way)
        where, crash = heard_by(self.blow, time_s, rate_hz=rate_hz)
        start, stop = max(where.start, first), min(where.stop, last)
        added[start - first : stop - first] += crash[start - where.start : stop - where.start]
        return slice(int(first), int(last)), added


def draw_potholes(
    truth: Truth, speed_mps: np.ndarray, time_s: np.ndarray, *, road: str, rng: np.random.Generator
) -> tuple[Pothole, ...]:
    """Potholes anywhere, and a few on purpose while a gear goes in."""
    minutes, own = truth.duration_s / 60, rng.spawn(1)[0]
    count = rng.poisson(ROADS[road][1] * minutes)
    places = [(float(rng.uniform(0, truth.duration_s)), rng.uniform(3, 12)) for _ in range(count)]
    ends = [s.end_s for s in truth.shifts if s.end_s is not None and not s.standing]
    hit = [end for end in ends if own.random() < ROADS[road][2]]
    places += [(end + own.uniform(-0.35, 0.1), own.uniform(3, 12)) for end in hit]
    rolls = [(at, size, float(np.interp(at, time_s, speed_mps))) for at, size in places]
    return tuple(_pothole(at, size, speed, own) for at, size, speed in rolls if speed > 1.0)


def _pothole(at_s: float, size_mps2: float, speed_mps: float, rng: np.random.Generator) -> Pothole:
    """A kerb pushes sideways more than a hole does; the rear wheel hits what the front wheel hit, if it hits it."""
    kerb = rng.random() < 0.3
    way = (0.4, rng.choice([-0.7, 0.7]) if kerb else 0.2, 1.0)
    sharp = size_mps2 * rng.uniform(0.2, 0.6)
    modes = tuple(
        Mode(
            frequency_hz=rng.uniform(*band), decay_s=rng.uniform(0.006, 0.02), size=share * sharp * rng.normal(0, 1, 3)
        )
        for band, share in (((45, 110), 1.0), ((110, 220), 0.7), ((220, 420), 0.35))
    )
    again = min(WHEELBASE_M / speed_mps, 0.2)
    blow = Blow(at_s=at_s, modes=modes, second_s=again, second_share=float(rng.choice([0.0, rng.uniform(0.3, 1.0)])))
    return Pothole(at_s=at_s, size_mps2=size_mps2, way=way, blow=blow)


@dataclass(frozen=True, eq=False, kw_only=True)
class Rattle:
    """A trim part that chatters: on an even grid of ``RATTLE_HZ``, times (n,) and (n, 3) [m/s²]."""

    time_s: np.ndarray
    accel: np.ndarray

    def felt(self, time_s: np.ndarray, *, rate_hz: float) -> np.ndarray:
        """What a recorder has of it, (n,) instants → (n, 3)."""
        return sampled(self.time_s, self.accel, time_s, rate_hz=rate_hz)


def draw_rattle(ride: Ride, size_mps2: float, rng: np.random.Generator) -> Rattle | None:
    """Bursts of broad resonances wherever the road throws the trim off its seat; None where nothing is loose."""
    push = np.abs(ride.shaking[:, 2])
    usual = float(np.sqrt(np.mean(push**2)))
    if not size_mps2 or not usual:
        return None
    time_s = np.arange(0, ride.time_s[-1], 1 / RATTLE_HZ)
    loose = np.clip(np.interp(time_s, ride.time_s, push) / usual - RATTLES_ABOVE, 0.0, 3.0)
    noise = loose * rng.normal(0, 1, time_s.size)
    rung = np.zeros(time_s.size)
    for low, high in ((160, 260), (260, 420), (400, 620)):
        centre = rng.uniform(low, high)
        sos = signal.butter(1, (0.85 * centre, 1.15 * centre), "bandpass", fs=RATTLE_HZ, output="sos")
        rung += signal.sosfilt(sos, noise)
    way = rng.normal(0, 1, 3)
    return Rattle(time_s=time_s, accel=np.outer(size_mps2 * to_unit(rung), way / np.linalg.norm(way)))
