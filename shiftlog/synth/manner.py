"""How one shift is done: pushes that are refused, stands, pauses and hesitation, as the car and driver have them."""

from dataclasses import dataclass

import numpy as np

from shiftlog.synth.driver import Driver
from shiftlog.synth.hand import Push


@dataclass(frozen=True, kw_only=True)
class Mix:
    """How often things happen, as weights of the acts a driver may choose from while driving."""

    up: float = 8.0
    down: float = 7.0
    skip: float = 1.5
    row: float = 1.0
    miss: float = 0.6
    wrong: float = 0.6
    back: float = 0.5
    coast: float = 1.2
    stop: float = 1.2
    jump: float = 0.3
    pause_share: float = 0.08
    hesitate_share: float = 0.06
    lean_share: float = 0.3


def draw_manner(driver: Driver, to: str, mix: Mix) -> dict[str, object]:
    """Pushes, pause and hesitation of one shift, as this car and this driver have them."""
    rng, health = driver.rng, driver.health
    trouble = health.gear_trouble.get(to, 1.0)
    refused = rng.binomial(2, min(0.7, trouble * health.refuse_share))
    stands = rng.random() < min(0.95, trouble * health.baulk_share)
    low, high = health.stand_s
    final = Push(depth=rng.uniform(0.4, 0.7), stand_s=rng.uniform(low, high)) if stands else Push()
    return {
        "pushes": (*draw_refusals(rng, refused), final),
        "pause_s": rng.uniform(0.3, 1.4) if rng.random() < mix.pause_share else 0.0,
        "hesitate_s": rng.uniform(0.1, 0.35) if rng.random() < mix.hesitate_share else 0.0,
    }


def draw_standing_pushes(driver: Driver) -> tuple[Push, ...]:
    """At standstill tooth stands on tooth: refusals are normal."""
    return (*draw_refusals(driver.rng, driver.rng.binomial(2, 0.25)), Push())


def draw_refusals(rng: np.random.Generator, count: int) -> tuple[Push, ...]:
    """Pushes that go to 0.42 … 0.75 of the depth and fall back by 0.28 at least, as must the push that follows."""
    depths = rng.uniform(0.42, 0.75, count)
    lowest = np.minimum(depths, np.append(depths[1:], 1.0)) - 0.28
    return tuple(
        Push(
            depth=float(depth),
            stand_s=float(rng.choice([0.0, rng.uniform(0.04, 0.25)])),
            fall_to=rng.uniform(0.0, low),
            again_s=rng.uniform(0.0, 0.04),
        )
        for depth, low in zip(depths, lowest, strict=True)
    )
