"""What a gearbox hears, cause by cause, made apart from the synthesiser: teeth, blows, road, whine, orders, trim."""

from dataclasses import dataclass

import numpy as np
from scipy import signal

FINE_HZ = 12800.0
HONEST_SHARE = 0.45
"""Of the rate, where a recorder's own filter begins to cut."""


@dataclass(frozen=True, eq=False, kw_only=True)
class Burst:
    """A sound of its own on a fine grid: begins at ``start_s``; accel (m, 3) at ``FINE_HZ`` [m/s²]."""

    start_s: float
    accel: np.ndarray

    def add_to(self, accel: np.ndarray, time_s: np.ndarray, *, rate_hz: float) -> None:
        """Add what a recorder with a filter of its own has of it, times (n,), accel (n, 3)."""
        sos = signal.butter(6, HONEST_SHARE * rate_hz, fs=FINE_HZ, output="sos")
        smooth = signal.sosfiltfilt(sos, self.accel, axis=0)
        fine_s = self.start_s + np.arange(smooth.shape[0]) / FINE_HZ
        near = slice(*np.searchsorted(time_s, (fine_s[0], fine_s[-1])))
        for axis in range(3):
            accel[near, axis] += np.interp(time_s[near], fine_s, smooth[:, axis])


@dataclass(frozen=True, eq=False, kw_only=True)
class Structure:
    """How a casing answers a blow: modes (k,) [Hz], how long each rings [s], its direction (k, 3)."""

    modes_hz: np.ndarray
    rings_s: np.ndarray
    ways: np.ndarray

    def ring(self, force: np.ndarray) -> np.ndarray:
        """Acceleration (m, 3) from blows (m,) on the fine grid."""
        total = np.zeros((force.size, 3))
        for mode_hz, rings_s, way in zip(self.modes_hz, self.rings_s, self.ways, strict=True):
            turn, fade = 2 * np.pi * mode_hz / FINE_HZ, np.exp(-1 / (rings_s * FINE_HZ))
            rung = signal.lfilter([0.0, np.sin(turn)], [1.0, -2 * fade * np.cos(turn), fade**2], force)
            total += np.outer(rung, way)
        return total


def draw_structure(rng: np.random.Generator, low_hz: float, high_hz: float, *, count: int, damping: float) -> Structure:
    """Modes anywhere in a band, at a damping ratio about ``damping``."""
    modes = np.sort(rng.uniform(low_hz, high_hz, count))
    rings = 1 / (2 * np.pi * modes * damping * rng.uniform(0.6, 1.6, count))
    return Structure(modes_hz=modes, rings_s=rings, ways=rng.normal(0, 1, (count, 3)))


def draw_clash(
    casing: Structure, start_s: float, tooth_hz: np.ndarray, rng: np.random.Generator, *, rms: float
) -> Burst:
    """Teeth that pass at ``tooth_hz`` (m,) on the fine grid, an impact each, of uneven size, ``rms`` in all."""
    passed = np.cumsum(tooth_hz) / FINE_HZ + rng.uniform()
    hits = np.flatnonzero(np.diff(np.floor(passed)) > 0)
    tail = int(0.06 * FINE_HZ)
    force = np.zeros(tooth_hz.size + tail)
    uneven = rng.lognormal(0, rng.uniform(0.2, 0.7), hits.size)
    turn = 1 + rng.uniform(0, 0.6) * np.sin(2 * np.pi * hits / FINE_HZ * rng.uniform(8, 40) + rng.uniform(0, 6))
    force[hits] = uneven * turn
    accel = casing.ring(force)
    inside = accel[: tooth_hz.size]
    return Burst(start_s=start_s, accel=accel * rms / np.sqrt(np.mean(np.sum(inside**2, axis=1))))


def draw_blow(structure: Structure, at_s: float, rng: np.random.Generator, *, peak: float, width_s: float) -> Burst:
    """One blow of a half sine, that rings on."""
    count = max(int(width_s * FINE_HZ), 2)
    force = np.zeros(int(0.5 * FINE_HZ))
    force[:count] = np.sin(np.pi * np.arange(count) / count)
    accel = structure.ring(force * rng.choice((-1.0, 1.0)))
    return Burst(start_s=at_s, accel=accel * peak / np.linalg.norm(accel, axis=1).max())


def draw_hole(at_s: float, apart_s: float, rng: np.random.Generator, *, size: float) -> list[Burst]:
    """A wheel in a hole and the one behind it: it hops, and the blow runs through the body into the gearbox."""
    since = np.arange(0, 0.5, 1 / FINE_HZ)
    bursts = []
    for wheel_s, share in ((at_s, 1.0), (at_s + apart_s, rng.uniform(0.3, 1.0))):
        hop = np.exp(-since / rng.uniform(0.04, 0.1)) * np.sin(2 * np.pi * rng.uniform(10, 15) * since)
        way = np.array([rng.uniform(0.2, 0.5), rng.uniform(0.1, 0.6), 1.0])
        bursts.append(Burst(start_s=wheel_s, accel=size * share * np.outer(hop, way)))
        body = draw_structure(rng, 30.0, 120.0, count=3, damping=0.08)
        bursts.append(draw_blow(body, wheel_s, rng, peak=size * share * rng.uniform(0.5, 1.2), width_s=0.008))
        shell = draw_structure(rng, 140.0, 450.0, count=3, damping=0.04)
        bursts.append(draw_blow(shell, wheel_s, rng, peak=size * share * rng.uniform(0.05, 0.5), width_s=0.002))
    return bursts


def draw_noise(
    count: int, rng: np.random.Generator, *, rate_hz: float, tilt: float, humps_hz: np.ndarray
) -> np.ndarray:
    """Noise of unit r.m.s. on each axis whose density falls as f^-tilt from 20 Hz on, with humps, (n, 3)."""
    frequency_hz = np.fft.rfftfreq(count, 1 / rate_hz)
    shape = np.maximum(frequency_hz, 20.0) ** (-tilt / 2)
    for hump_hz in humps_hz:
        shape = shape * (1 + 1.5 / (1 + ((frequency_hz - hump_hz) / (0.08 * hump_hz)) ** 2))
    shape = shape * (frequency_hz > 3) / np.sqrt(1 + (frequency_hz / (HONEST_SHARE * rate_hz)) ** 12)
    noise = np.fft.irfft(np.fft.rfft(rng.normal(0, 1, (count, 3)), axis=0) * shape[:, None], n=count, axis=0)
    return noise / noise.std(axis=0)


def draw_patches(time_s: np.ndarray, rng: np.random.Generator, *, spread_db: float, lasts_s: float) -> np.ndarray:
    """Factor by which a road is rougher here and smoother there, (n,)."""
    coarse = np.arange(time_s[0], time_s[-1] + lasts_s, lasts_s / 4)
    kept = np.exp(-0.25)
    wander = signal.lfilter([np.sqrt(1 - kept**2)], [1, -kept], rng.normal(0, 1, coarse.size))
    return 10 ** (spread_db * np.interp(time_s, coarse, wander) / 20)


def sum_tones(phase: np.ndarray, amplitude: np.ndarray, rng: np.random.Generator, *, orders: tuple) -> np.ndarray:
    """Tones at ``orders`` of a turning part: phase (n,) [turns], amplitude (n,) [m/s²] → (n, 3)."""
    total = np.zeros((phase.size, 3))
    for order in orders:
        size = rng.uniform(0.3, 1.0)
        tone = size * amplitude * np.sin(2 * np.pi * (order * phase + rng.uniform()))
        total += np.outer(tone, rng.normal(0, 0.6, 3))
    return total


def draw_rattle(time_s: np.ndarray, push: np.ndarray, rng: np.random.Generator, *, size: float) -> np.ndarray:
    """A loose trim: struck whenever the road's push (n,) exceeds its usual size, rings where it is fixed, (n, 3)."""
    rate_hz = 1 / float(np.median(np.diff(time_s)))
    over = np.maximum(np.abs(push) / push.std() - rng.uniform(1.5, 2.5), 0.0)
    struck = over * (rng.random(over.size) < 0.15)
    total = np.zeros((time_s.size, 3))
    for mode_hz in rng.uniform(180, 0.38 * rate_hz, 2):
        turn, fade = 2 * np.pi * mode_hz / rate_hz, np.exp(-1 / (0.006 * rate_hz))
        total += np.outer(signal.lfilter([0, np.sin(turn)], [1, -2 * fade * np.cos(turn), fade**2], struck),
                          rng.normal(0, 1, 3))  # fmt: skip
    return total * size / max(total.std(), 1e-9)
