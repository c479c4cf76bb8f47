"""A second gearbox made apart from the synthesiser: teeth that ratchet, gravel, joints and firing strokes.

Each tooth has its own height, the same in every turn; rings that bounce off pass some teeth by; hand force comes in
rises and falls as fast as a ratchet; contacts are half sines of a third to one and a half milliseconds.
"""

import numpy as np
from scipy import signal

from tests.truth.grind_sounds import FINE_HZ, Burst, Structure, draw_blow, draw_structure, sum_tones

CLASH_RMS_MPS2 = 3.0
"""In the middle of what is drawn."""


def draw_ratchet(
    casing: Structure, start_s: float, tooth_hz: np.ndarray, rng: np.random.Generator, *, teeth: int, rms: float
) -> Burst:
    """Teeth of a ring that pass at ``tooth_hz`` (m,) on the fine grid, of which some are passed by in the air."""
    passed = np.cumsum(tooth_hz) / FINE_HZ + rng.uniform(0, teeth)
    hits = np.flatnonzero(np.diff(np.floor(passed)) > 0)
    heights = rng.lognormal(0, rng.uniform(0.1, 0.5), teeth)[np.floor(passed[hits]).astype(int) % teeth]
    force = np.zeros(tooth_hz.size + int(0.06 * FINE_HZ))
    late = rng.normal(0, rng.uniform(0.02, 0.12), hits.size) * FINE_HZ / tooth_hz[hits]
    at = np.clip(hits + np.round(late).astype(int), 0, tooth_hz.size - 1)
    met = rng.random(hits.size) > rng.uniform(0.0, 0.4)
    met[:1] = True
    hand = _ratcheting(hits / FINE_HZ, rng)
    np.add.at(force, at[met], (heights * hand)[met])
    contact = signal.windows.cosine(max(int(rng.uniform(0.3e-3, 1.5e-3) * FINE_HZ), 3))
    accel = casing.ring(np.convolve(force, contact)[: force.size])
    inside = accel[: tooth_hz.size]
    return Burst(start_s=start_s, accel=accel * rms / np.sqrt(np.mean(np.sum(inside**2, axis=1))))


def _ratcheting(since_s: np.ndarray, rng: np.random.Generator) -> np.ndarray:
    """How hard the hand presses: it rises, and lets go some 8 to 30 times in a second."""
    rises = 1 - np.exp(-(since_s + 0.005) / rng.uniform(0.005, 0.04))
    depth = rng.uniform(0.0, 0.7)
    return rises * (1 - depth * (0.5 + 0.5 * np.sin(2 * np.pi * rng.uniform(8, 30) * since_s + rng.uniform(0, 6))))


def add_background(
    total: np.ndarray, time_s: np.ndarray, courses: dict[str, np.ndarray], rng: np.random.Generator, *, rough: bool
) -> None:
    """Tyres on their own hum, firing strokes, a whine under drive, a fan: added to (n, 3).

    courses : rpm, speed [m/s], pull (1 under drive), each (n,)
    """
    rate_hz = 1 / float(np.median(np.diff(time_s)))
    rpm, speed, pull = courses["rpm"], courses["speed"], courses["pull"]
    tyre = _hum(time_s.size, rng, rate_hz=rate_hz, modes_hz=rng.uniform(60, 260, 3), damping=0.15)
    size = rng.uniform(0.6, 1.6) if rough else rng.uniform(0.04, 0.3)
    total += tyre * (size * _surface(time_s, speed, rng, rough=rough) * (speed / 15) ** rng.uniform(0.8, 1.4))[:, None]
    hiss = _hum(time_s.size, rng, rate_hz=rate_hz, modes_hz=rng.uniform(250, 0.4 * rate_hz, 4), damping=0.2)
    total += hiss * (rng.uniform(0.1, 0.4) * (rpm / 3000) ** rng.uniform(0.5, 1.5))[:, None]
    turns = np.cumsum(rpm / 60) / rate_hz
    total += sum_tones(turns, rng.uniform(0.1, 0.5) * (rpm / 3000) ** 1.5, rng, orders=(0.5, 1, 2, 3, 4, 6, 8))
    shafts = np.cumsum(speed) / rate_hz / (2 * np.pi * 0.3) * rng.uniform(3, 5)
    whine = rng.uniform(0.1, 0.8) * np.where(pull > 0.5, 1.0, rng.uniform(0.05, 0.3)) * (speed > 1)
    total += sum_tones(shafts, whine, rng, orders=(rng.integers(14, 30), rng.integers(30, 60)))


def _hum(count: int, rng: np.random.Generator, *, rate_hz: float, modes_hz: np.ndarray, damping: float) -> np.ndarray:
    """Noise heard through broad modes, unit r.m.s. an axis, (n, 3)."""
    frequency_hz = np.fft.rfftfreq(count, 1 / rate_hz)
    shape = 0.05 / np.sqrt(1 + (frequency_hz / 120.0) ** 2)
    for mode_hz in modes_hz:
        ratio = frequency_hz / mode_hz
        shape = (
            shape + rng.uniform(0.3, 1) * ratio / np.sqrt((1 - ratio**2) ** 2 + (2 * damping * ratio) ** 2) * damping
        )
    shape = shape * (frequency_hz > 3) / np.sqrt(1 + (frequency_hz / (0.45 * rate_hz)) ** 12)
    noise = np.fft.irfft(np.fft.rfft(rng.normal(0, 1, (count, 3)), axis=0) * shape[:, None], n=count, axis=0)
    return noise / noise.std(axis=0)


def _surface(time_s: np.ndarray, speed: np.ndarray, rng: np.random.Generator, *, rough: bool) -> np.ndarray:
    """How rough the road is along its way: slabs of some 3 to 40 m, each of its own, (n,)."""
    way = np.concatenate([[0.0], np.cumsum(0.5 * (speed[1:] + speed[:-1]) * np.diff(time_s))])
    edges = np.cumsum(rng.uniform(3, 40, int(way[-1] / 3) + 2))
    spread_db = rng.uniform(1.5, 3.0) if rough else rng.uniform(0.3, 1.0)
    slabs = 10 ** (spread_db * rng.normal(0, 1, edges.size) / 20)
    lasting = max(int(0.03 / float(np.median(np.diff(time_s)))), 1)
    return np.convolve(slabs[np.searchsorted(edges, way).clip(max=edges.size - 1)], np.ones(lasting) / lasting, "same")


def draw_road_blow(at_s: float, speed: float, rng: np.random.Generator) -> list[Burst]:
    """A joint met by two axles, a stone thrown up against the sill, or the edge of a hole."""
    kind, apart_s = rng.choice(["joint", "stone", "hole"]), min(2.6 / speed, 0.5)
    if kind == "stone":
        sill = draw_structure(rng, 200.0, 700.0, count=2, damping=0.06)
        return [draw_blow(sill, at_s, rng, peak=rng.uniform(0.5, 4.0), width_s=0.0006)]
    bursts = []
    for wheel_s in (at_s, at_s + apart_s):
        size = rng.uniform(2, 8) if kind == "joint" else rng.uniform(4, 16)
        hop = draw_structure(rng, 9.0, 18.0, count=1, damping=0.2)
        body = draw_structure(rng, 25.0, 110.0, count=3, damping=0.1)
        shell = draw_structure(rng, 130.0, 500.0, count=4, damping=0.05)
        bursts += [draw_blow(hop, wheel_s, rng, peak=size, width_s=0.025)]
        bursts += [draw_blow(body, wheel_s, rng, peak=size * rng.uniform(0.4, 1.0), width_s=0.008)]
        bursts += [draw_blow(shell, wheel_s, rng, peak=size * rng.uniform(0.03, 0.3), width_s=0.003)]
    return bursts
