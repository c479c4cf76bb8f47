"""Levers that are let go: how each kind runs, creeps, jerks or stays, one sample a millisecond."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

STEP_S = 0.001
MANNERS = ("healthy", "offset", "creeping", "dragging", "jerking", "sticky", "stuck", "wandering")


@dataclass(frozen=True, kw_only=True)
class Lever:
    """One lever, select only; places in mm from the home plane.

    rest_mm : where it wants to lie; wander_mm : how far that place shifts from one let-go to the next, one standard
    deviation; band_mm : half width of the band in which dry friction holds it; stays : chance that it does not move
    frequency_hz, damping : of its swing; speed_mmps : of one that creeps; walls : where the gate ends
    """

    manner: str
    rest_mm: float
    wander_mm: float
    band_mm: float
    stays: float
    frequency_hz: float
    damping: float
    speed_mmps: float
    walls: tuple[float, float]

    def run(self, from_mm: float, rng: np.random.Generator) -> np.ndarray:
        """Where it is after it was let go, (n,) mm, until it lies."""
        rest = float(np.clip(self.rest_mm + rng.normal(0, self.wander_mm), *self.walls))
        if rng.random() < self.stays or abs(from_mm - rest) <= self.band_mm:
            return np.array([from_mm])
        return RUNS.get(self.manner, _swing)(self, from_mm, rest, rng)


def _swing(lever: Lever, from_mm: float, rest: float, rng: np.random.Generator) -> np.ndarray:
    """Second order with dry friction, by small steps."""
    omega, place, speed, way = 2 * np.pi * lever.frequency_hz, from_mm, 0.0, [from_mm]
    for _ in range(6000):
        for _ in range(2):
            along = np.sign(speed) if speed else -np.sign(place - rest)
            pull = -(omega**2) * (place - rest + lever.band_mm * along) - 2 * lever.damping * omega * speed
            turned = speed
            speed += pull * STEP_S / 2
            speed = 0.0 if turned * speed < 0 else speed
            place += speed * STEP_S / 2
            if not lever.walls[0] <= place <= lever.walls[1]:
                place, speed = float(np.clip(place, *lever.walls)), -0.2 * speed
        way.append(place)
        if abs(speed) < 0.5 and abs(place - rest) <= lever.band_mm + 0.02:
            break
    return np.array(way)


def _creep(lever: Lever, from_mm: float, rest: float, rng: np.random.Generator) -> np.ndarray:
    """At one speed, but for a few hundredths of it, and then it stands."""
    to = rest + np.sign(from_mm - rest) * lever.band_mm
    steps = max(int(abs(from_mm - to) / lever.speed_mmps / STEP_S), 2)
    pace = 1 + 0.05 * np.sin(2 * np.pi * np.linspace(0, rng.uniform(0.5, 2), steps) + rng.uniform(0, 6))
    return from_mm + (to - from_mm) * np.cumsum(pace) / pace.sum()


def _drag(lever: Lever, from_mm: float, rest: float, rng: np.random.Generator) -> np.ndarray:
    """Ever slower, as stiff grease lets it."""
    to = rest + np.sign(from_mm - rest) * lever.band_mm
    lasts_s = abs(from_mm - to) / lever.speed_mmps / 2
    time = np.arange(int(6 * lasts_s / STEP_S)) * STEP_S
    return to + (from_mm - to) * np.exp(-time / lasts_s)


def _jerk(lever: Lever, from_mm: float, rest: float, rng: np.random.Generator) -> np.ndarray:
    """By slips of a few millimetres with a stand between, until friction holds it."""
    way, place = [np.array([from_mm])], from_mm
    while abs(place - rest) > lever.band_mm:
        to = place - np.sign(place - rest) * min(rng.uniform(2.0, 7.0), abs(place - rest))
        u = np.linspace(0, 1, int(rng.uniform(20, 60)))[1:]
        way += [place + (to - place) * (1 - np.cos(np.pi * u)) / 2, np.full(int(rng.uniform(20, 160)), to)]
        place = to
    return np.concatenate(way)


RUNS: dict[str, Callable[[Lever, float, float, np.random.Generator], np.ndarray]] = {
    "creeping": _creep, "dragging": _drag, "jerking": _jerk,
}  # fmt: skip


def draw_lever(rng: np.random.Generator, manner: str, planes_mm: np.ndarray, walls: tuple[float, float]) -> Lever:
    """One lever of a kind; an offset one rests near any of the planes or between two."""
    away = float(rng.choice(planes_mm)) + rng.uniform(-8, 8)
    rest = float(np.clip(away, walls[0] + 2, walls[1] - 2)) if manner == "offset" else float(rng.uniform(-2, 2))
    return Lever(
        manner=manner, rest_mm=rest, walls=walls,
        wander_mm=float(rng.uniform(2, 5) if manner == "wandering" else rng.uniform(0, 0.5)),
        band_mm=float(rng.uniform(2, 7) if manner in ("sticky", "jerking") else rng.uniform(0, 1)),
        stays={"stuck": 1.0, "sticky": float(rng.uniform(0.1, 0.5))}.get(manner, 0.0),
        frequency_hz=float(rng.uniform(2, 7)), damping=float(rng.uniform(0.1, 1.1)),
        speed_mmps=float(rng.uniform(15, 80)),
    )  # fmt: skip
