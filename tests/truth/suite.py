"""The drives that are scored: every car, healthy, worn and sick, smooth and rough, axes any way round."""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import partial

import numpy as np

from shiftlog.synth.cars import CARS
from shiftlog.synth.manner import Mix
from shiftlog.synth.recorder import Sensors
from shiftlog.synth.scenario import SynthDrive, make_drive
from shiftlog.synth.standing_tests import release_from_both_sides

ODD = Mix(
    up=4, down=4, skip=2, row=3, miss=3, wrong=3, back=2, coast=3, stop=1, jump=4, pause_share=0.2, hesitate_share=0.25
)
HEALTHS = ("healthy", "worn", "sick")


@dataclass(frozen=True, kw_only=True)
class Case:
    """One drive of the suite; the same case gives the same drive."""

    seed: int
    car: str
    health: str
    road: str
    hurry: float
    sensors: Sensors
    minutes: float
    releases: int
    mix: Mix

    def make(self) -> SynthDrive:
        """The drive, about a second's work."""
        return make_drive(
            car=self.car,
            seed=self.seed,
            health=self.health,
            road=self.road,
            sensors=self.sensors,
            minutes=self.minutes,
            hurry=self.hurry,
            first=(partial(release_from_both_sides, each=self.releases),) if self.releases else (),
            mix=self.mix,
        )


def cases(count: int, *, first_seed: int = 0, minutes: float = 4.0, kind: str = "plain") -> Iterator[Case]:
    """``count`` cases in turn over cars, healths and roads. ``plain`` is the sensor of the stated figures (250 Hz,
    11 counts/mm, 2 counts of noise); ``hard`` other sensors: slower, coarser, jittering, with lost samples; ``odd`` the
    stated sensor in the hands of drivers who do everything that is not a clean shift, some of them very fast."""
    for seed in range(first_seed, first_seed + count):
        rng = np.random.default_rng([seed, 77])
        yield Case(
            seed=seed,
            car=list(CARS)[seed % len(CARS)],
            health=HEALTHS[(seed // 2) % 3],
            road=("smooth", "rough")[(seed // 3) % 2],
            hurry=rng.uniform(0.6, 2.3) if kind == "odd" else rng.uniform(0.7, 1.6),
            sensors=_hard(rng) if kind == "hard" else _plain(rng),
            mix=ODD if kind == "odd" else Mix(),
            minutes=minutes,
            releases=3 if seed % 4 == 1 else 0,
        )


def _plain(rng: np.random.Generator) -> Sensors:
    """The stated sensor; its axes are turned by a few degrees and may be mirrored, as the log declares."""
    return Sensors(
        lever_turn_deg=rng.uniform(-6, 6),
        lever_mirror=(int(rng.choice([-1, 1])), int(rng.choice([-1, 1]))),
    )


def _hard(rng: np.random.Generator) -> Sensors:
    """What people really fit: 100 to 500 Hz, 10-bit converters, two clocks' worth of jitter, speed in whole km/h."""
    return Sensors(
        lever_rate_hz=float(rng.choice([100.0, 125.0, 200.0, 500.0, 1000.0])),
        counts_per_mm=rng.uniform(4.0, 9.0),
        lever_bits=10,
        lever_noise=rng.uniform(0.5, 1.5),
        lever_turn_deg=rng.uniform(-20, 20),
        lever_mirror=(int(rng.choice([-1, 1])), int(rng.choice([-1, 1]))),
        lever_swap=bool(rng.random() < 0.3),
        lever_stretch=(rng.uniform(0.7, 1.3), 1.0),
        declare_grows=bool(rng.random() < 0.5),
        jitter_s=rng.uniform(0.0002, 0.001),
        lost_share=float(rng.choice([0.0, 0.005])),
        bus_rate_hz=float(rng.choice([10.0, 20.0, 100.0])),
        whole_kmh=bool(rng.random() < 0.5),
        speed_lag_s=float(rng.choice([0.0, 0.2])),
        clutch_switch=bool(rng.random() < 0.5),
    )
