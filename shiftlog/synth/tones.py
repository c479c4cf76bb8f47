"""Tones that turn with the car: firing orders of the engine, and the whine of gears that turn with the wheels."""

from dataclasses import dataclass

import numpy as np

from shiftlog.synth.cars import SynthCar
from shiftlog.synth.ride import HONEST_SHARE
from shiftlog.synth.vehicle import Motion


@dataclass(frozen=True, eq=False, kw_only=True)
class Tones:
    """How one sensor hears them: phases (4,) and directions (4, 3) of firing, its double, mesh and final drive."""

    phases: np.ndarray
    ways: np.ndarray
    mesh_teeth: int
    final_teeth: int

    def felt(self, time_s: np.ndarray, motion: Motion, synth_car: SynthCar, *, rate_hz: float) -> np.ndarray:
        """Acceleration at a sensor's instants, (n,) → (n, 3) [m/s²]; what its anti-alias filter takes away is gone."""
        car = synth_car.car
        engine_hz = motion.engine_rpm / 60
        gears = car.ratios
        final = car.final_drive[next(iter(gears))]
        wheel_hz = np.abs(motion.speed_mps) / (2 * np.pi * car.rolling_radius_m)
        load = np.minimum(np.abs(motion.force_n) / (synth_car.mass_kg * 3.0), 1.0)
        firing = synth_car.cylinders / 2
        courses = (
            (firing * engine_hz, 0.25 + 0.5 * engine_hz / 50),
            (2 * firing * engine_hz, 0.2 * engine_hz / 50),
            (self.mesh_teeth * final * wheel_hz, 0.9 * load),
            (self.final_teeth * wheel_hz, 0.08 * np.minimum(wheel_hz / 10, 1.0)),
        )
        total = np.zeros((time_s.size, 3))
        for (tone_hz, size), phase, way in zip(courses, self.phases, self.ways, strict=True):
            heard = np.interp(time_s, motion.time_s, size * (tone_hz < HONEST_SHARE * rate_hz))
            total += np.outer(heard * np.sin(np.interp(time_s, motion.time_s, _angle(tone_hz, motion)) + phase), way)
        return total


def draw_tones(rng: np.random.Generator) -> Tones:
    """The whine of the driven gear carries torque, and is gone when the clutch opens; the final drive always turns."""
    return Tones(
        phases=rng.uniform(0, 2 * np.pi, 4),
        ways=rng.uniform(-1, 1, (4, 3)),
        mesh_teeth=int(rng.integers(17, 30)),
        final_teeth=int(rng.integers(45, 66)),
    )


def _angle(tone_hz: np.ndarray, motion: Motion) -> np.ndarray:
    steps = (tone_hz[1:] + tone_hz[:-1]) / 2 * np.diff(motion.time_s)
    return 2 * np.pi * np.concatenate(([0.0], np.cumsum(steps)))
