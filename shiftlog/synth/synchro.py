"""Synchronisers: how long a cone takes for a difference in speed, and how the input shaft runs meanwhile."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from shiftlog.model.car import REVERSE, Car
from shiftlog.synth.cars import SynthCar
from shiftlog.synth.health import Health, usual_slope

LONGEST_STAND_S = 0.5


@dataclass(frozen=True, eq=False, kw_only=True)
class Synchro:
    """The gearbox's cones and its open clutch.

    slopes : by gear and direction (``up``, ``down``), ms a cone takes for 1,000 rpm at its hub: t = J Δω / T
    drag_rpmps : how the input shaft with the clutch disc coasts down [rpm/s]
    worn : gears whose cones grip no more
    dragging : share of engine speed with which an open clutch turns the input shaft of a standing car
    """

    slopes: Mapping[str, Mapping[str, float]]
    drag_rpmps: float
    dragging: float
    worn: tuple[str, ...] = ()

    def stand_s(self, gear: str, direction: str, hub_rpm: float) -> float:
        """How long the cone of ``gear`` takes for a difference at its hub [s]."""
        return min(self.slopes[gear][direction] * abs(hub_rpm) / 1e6, LONGEST_STAND_S)


def draw_synchro(synth_car: SynthCar, health: Health, rng: np.random.Generator) -> Synchro:
    """Cones as the health has them; drag and a dragging clutch are the day's."""
    plain = {gear: usual_slope(health, gear) for gear in synth_car.forward_gears}
    slopes = {gear: {"up": slope, "down": slope} for gear, slope in plain.items()}
    return Synchro(
        slopes={**slopes, **health.synchro},
        drag_rpmps=rng.uniform(250.0, 900.0),
        dragging=rng.uniform(0.35, 1.0),
        worn=tuple(health.grinds),
    )


def direction(synth_car: SynthCar, old: str | None, new: str) -> str:
    """``up`` or ``down``; out of neutral it is told as down, as the shaft has to be brought up to speed."""
    gears = synth_car.forward_gears
    return "up" if old in gears and new in gears and gears.index(new) > gears.index(old) else "down"


def hub_difference(car: Car, gear: str, input_rpm: float, speed_mps: float) -> float:
    """Speed difference at the hub of a gear [rpm]: n_input / i − v · i_final · 60 / (2π r), times i on the input."""
    ratio = car.ratios[gear]
    geared = speed_mps * car.rpm_per_mps(gear) * (-1.0 if gear == REVERSE else 1.0)
    at_output = (input_rpm - geared) / ratio
    return at_output * ratio if car.hub.get(gear, "output") == "input" else at_output
