"""The lever's noise-free path: what the hand does, what the gate lets it do, and what the engine adds."""

from dataclasses import dataclass

import numpy as np
from scipy import signal

from shiftlog.model.car import GateLayout
from shiftlog.synth.hand import WALL_MM, Hand, Touch
from shiftlog.synth.health import Health
from shiftlog.synth.path import ENGAGE, PATH_RATE_HZ, SELECT, keep_in_gate
from shiftlog.synth.vehicle import Motion

MOST_ROCK_MM = 1.5
"""What worn mounts let the lever move in gear, swing included (common practice, no source)."""


@dataclass(frozen=True, eq=False, kw_only=True)
class LeverPath:
    """The lever on a dense even grid.

    time_s (n,); path (n, 2) select, engage [gate mm], everything the lever does
    steady (n, 2) the same without chatter and shake: what stands, what lies still
    rock_mm (n,) engine rock along engage, within path and steady
    """

    time_s: np.ndarray
    path: np.ndarray
    steady: np.ndarray
    rock_mm: np.ndarray


def draw_path(hand: Hand, motion: Motion, *, cylinders: int, idle_rpm: float, seed: int) -> LeverPath:
    """Put the hand's plan, the gate's walls, rock, shake, tremor and chatter together."""
    rng = np.random.default_rng(seed)
    duration_s = float(motion.time_s[-1])
    time_s, led = hand.plan.trace(duration_s)
    gate, health = hand.gate, hand.health
    led = _walled(led, gate, health)
    rock = _rock(time_s, motion, health)
    steady = led + rock[:, None] * np.array([health.rock_select, 1.0])
    for touch in hand.tremor:
        _tremble(steady, touch, (1.0, 0.6), rng)
    path = steady + _shake(time_s, motion, health, cylinders=cylinders, idle_rpm=idle_rpm)
    for touch in hand.chatter:
        _tremble(path, touch, (0.15, 1.0), rng)
    return LeverPath(time_s=time_s, path=path, steady=steady, rock_mm=rock)


def _walled(led: np.ndarray, gate: GateLayout, health: Health) -> np.ndarray:
    planes = np.array([gate.plane_mm(i) for i in range(len(gate.planes))])
    half = gate.engage_travel_mm / 2
    within = np.clip(led[:, SELECT], planes[0] - WALL_MM, planes[-1] + WALL_MM)
    return keep_in_gate(
        np.stack([within, led[:, ENGAGE]], axis=1),
        planes,
        slack_mm=health.slack_mm + 0.8,
        mouth_mm=0.2 * half,
        corner_mm=0.42 * half,
    )


def _rock(time_s: np.ndarray, motion: Motion, health: Health) -> np.ndarray:
    """The engine leans on its mounts in step with the torque at the wheels, and swings there."""
    most = np.percentile(np.abs(motion.force_n), 99.0) or 1.0
    torque = np.clip(motion.force_n / most, -1.0, 1.0)
    omega = 2 * np.pi * health.rock_hz
    system = ([omega**2], [1.0, 2 * health.rock_damping * omega, omega**2])
    step_s = float(motion.time_s[1] - motion.time_s[0])
    numerator, denominator, _ = signal.cont2discrete(system, step_s, method="zoh")
    swung = signal.lfilter(numerator.ravel(), denominator, torque)
    rock = health.rock_mm * swung
    rock *= MOST_ROCK_MM / max(MOST_ROCK_MM, np.abs(rock).max())
    return np.interp(time_s, motion.time_s, rock)


def _shake(time_s: np.ndarray, motion: Motion, health: Health, *, cylinders: int, idle_rpm: float) -> np.ndarray:
    """Idling engines shake the lever at their firing frequency; it dies away with engine speed."""
    firing_hz = np.interp(time_s, motion.time_s, motion.engine_rpm) / 60 * cylinders / 2
    phase = 2 * np.pi * np.cumsum(firing_hz) / PATH_RATE_HZ
    above = np.clip(motion.engine_rpm - idle_rpm, 0.0, None)
    amount = health.shake_mm * np.interp(time_s, motion.time_s, np.exp(-above / 500.0))
    return amount[:, None] * np.stack([np.sin(phase), 0.7 * np.sin(phase + 1.1)], axis=1)


def _tremble(path: np.ndarray, touch: Touch, share: tuple[float, float], rng: np.random.Generator) -> None:
    """Add a trembling that swells and fades over 20 ms, with a frequency that strays, in place."""
    first, last = (int(round(t * PATH_RATE_HZ)) for t in (touch.start_s, touch.end_s))
    first, last = max(first, 0), min(last, path.shape[0])
    if last - first < 4:
        return
    count = last - first
    knots = np.arange(0, count + 400, 400)
    stray = np.interp(np.arange(count), knots, rng.normal(1, 0.12, knots.size))
    phase = 2 * np.pi * np.cumsum(touch.frequency_hz * stray) / PATH_RATE_HZ + rng.uniform(0, 6.28)
    swell = signal.windows.tukey(count, min(1.0, 0.04 * PATH_RATE_HZ / count))
    for axis in (SELECT, ENGAGE):
        slow = _wander(count, rng) * touch.wander_mm
        tremble = touch.amount_mm * np.sin(phase + axis * 0.9)
        path[first:last, axis] += share[axis] * swell * (tremble + slow)


def _wander(count: int, rng: np.random.Generator) -> np.ndarray:
    """A hand's slow drift, about one unit in size, with a new goal every 0.8 s, as smooth as a hand."""
    knots = np.arange(0, count + 3200, 1600)
    goals = rng.normal(0, 0.7, knots.size)
    place = np.arange(count)
    index = np.minimum(place // 1600, knots.size - 2)
    u = (place - knots[index]) / 1600.0
    return goals[index] + (goals[index + 1] - goals[index]) * u**3 * (10 + u * (6 * u - 15))
