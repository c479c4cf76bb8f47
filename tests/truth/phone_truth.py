"""Drives for a phone alone, from both drivers, with what truly happened told apart by how it feels."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from shiftlog.model.car import NEUTRAL, Car
from shiftlog.model.drive import Signals
from shiftlog.model.shift import Shift
from shiftlog.synth.cars import CARS
from shiftlog.synth.recorder import Sensors
from shiftlog.synth.scenario import SynthDrive, make_drive
from shiftlog.synth.true_gap import LEAST_STEP_MPS2
from shiftlog.synth.vehicle import STEP_S
from tests.truth.driven_changes import join_undriven
from tests.truth.other_drive import OtherDrive, Phone, make_other_drive, read_phone
from tests.truth.other_driver import STEP_S as ROW_S
from tests.truth.phone_steps import Course, lay_course
from tests.truth.road_drive import RoadDrive, make_road_drive, read_cradle
from tests.truth.third_driver import make_third_drive

UNKNOWN_CAR = Car(name="unknown", gate=None)

STANDS_OUT = 2.0
"""Standard deviations of the road that a step is greater than by chance once in twenty."""


@dataclass(frozen=True, kw_only=True)
class Event:
    """Something done with clutch and lever. kind : ``drive``, ``engine`` or ``brakes`` by what the wheels did before a
    shift between two gears under way; ``other`` for journeys to, from or by way of neutral into the same gear.

    open_s : the clutch goes down; gap : the true drive gap, or None where there is no clear one
    step_mps2 : the lesser of its two steps of drive; shaking_mps2 : what road and sensor lay over them, one standard
    deviation
    """

    open_s: float
    start_s: float
    end_s: float
    kind: str
    gap: tuple[float, float] | None
    step_mps2: float = 0.0
    shaking_mps2: float = 0.0

    @property
    def clear(self) -> bool:
        """Whether both steps are as large as those of a clear gap under drive, and stand out."""
        return self.step_mps2 >= max(LEAST_STEP_MPS2, STANDS_OUT * self.shaking_mps2)


@dataclass(frozen=True, eq=False, kw_only=True)
class PhoneCase:
    """One drive as the detector gets it, with its truth."""

    name: str
    signals: Signals
    car: Car
    events: tuple[Event, ...]
    minutes: float


def synth_cases(count: int, *, first_seed: int, minutes: float = 6.0, **sensors: object) -> Iterator[PhoneCase]:
    """Drives of all cars on smooth and rough road in turn."""
    for index in range(count):
        seed, name = first_seed + index, list(CARS)[index % len(CARS)]
        fitted = {"gps_rate_hz": 5.0, "speed_lag_s": 0.4, "body_rate_hz": 100.0, **sensors}
        alone = Sensors(lever_rate_hz=None, bus_rate_hz=None, gearbox_rate_hz=None, **fitted)
        road = ("smooth", "rough")[(index + index // len(CARS)) % 2]
        health = ("healthy", "worn", "sick")[seed % 3]
        drive = make_drive(car=name, seed=seed, road=road, health=health, minutes=minutes, sensors=alone)
        yield PhoneCase(
            name=f"{name} {seed} {road}", signals=drive.signals(), car=drive.car,
            events=_synth_events(drive), minutes=minutes,
        )  # fmt: skip


def other_cases(
    count: int, *, first_seed: int, phone: Phone | None = None, still_every: int = 4, minutes: float = 5.0
) -> Iterator[PhoneCase]:
    """The second driver's drives; every ``still_every``-th of them without a single shift."""
    for seed in range(first_seed, first_seed + count):
        drive = make_other_drive(seed, minutes=minutes, shifting=bool((seed + 1) % still_every))
        signals = read_phone(drive, phone)
        yield PhoneCase(
            name=f"other {seed}", signals=signals, car=UNKNOWN_CAR, events=_other_events(drive, signals),
            minutes=drive.minutes,
        )  # fmt: skip


def third_cases(
    count: int, *, first_seed: int, phone: Phone | None = None, still_every: int = 4, minutes: float = 5.0
) -> Iterator[PhoneCase]:
    """The third driver's drives; every ``still_every``-th of them without a single shift."""
    for seed in range(first_seed, first_seed + count):
        drive = make_third_drive(seed, minutes=minutes, shifting=bool((seed + 1) % still_every))
        signals = read_phone(drive, phone)
        yield PhoneCase(
            name=f"third {seed}", signals=signals, car=UNKNOWN_CAR, events=_other_events(drive, signals),
            minutes=drive.minutes,
        )  # fmt: skip


def _synth_events(drive: SynthDrive) -> tuple[Event, ...]:
    motion, signals = drive.motion, drive.signals()
    pull = motion.force_n / drive.synth_car.mass_kg
    course = lay_course(motion.time_s, pull, motion.accel_mps2, signals.accel_vehicle["body"])
    moving = [shift for shift in drive.truth.shifts if not shift.standing]
    return tuple(_with_steps(_event(shift, drive), course) for shift in join_undriven(drive, moving))


def _with_steps(event: Event, course: Course) -> Event:
    step, shaking = course.steps_of(event.open_s, event.start_s, event.end_s)
    return replace(event, step_mps2=step, shaking_mps2=shaking)


def _event(shift: Shift, drive: SynthDrive) -> Event:
    motion, at = drive.motion, int(shift.start_s / STEP_S)
    down = at
    while down > 0 and motion.clutch[down - 1] > 0.02:
        down -= 1
    end_s = shift.end_s or shift.start_s + 0.5
    between = shift.end_s is not None and NEUTRAL not in (shift.from_gear, shift.to_gear)
    between = between and shift.from_gear != shift.to_gear
    kind = "other"
    if between and shift.outcome not in ("missed", "out_and_back"):
        pulling = np.mean(motion.force_n[max(down - 40, 0) : max(down - 10, 1)]) > 0
        braked = np.max(motion.brake[max(down - 60, 0) : down + 1]) > 0.02
        kind = "brakes" if braked else "drive" if pulling else "engine"
    return Event(open_s=down * STEP_S, start_s=shift.start_s, end_s=end_s, kind=kind, gap=shift.gap)


def _other_events(drive: OtherDrive | RoadDrive, signals: Signals) -> tuple[Event, ...]:
    felt, pull = drive.rows[:, 0], drive.rows[:, 4]
    course = lay_course(np.arange(len(drive.rows)) * ROW_S, pull, felt, signals.accel_vehicle["body"])
    events = (
        Event(open_s=s.start_s - 0.12, start_s=s.start_s, end_s=s.end_s, kind=s.kind, gap=gap)
        for s, gap in zip(drive.shifts, drive.gaps, strict=True)
    )
    return tuple(_with_steps(event, course) for event in events)


def road_cases(
    style: str, count: int, *, first_seed: int, still_every: int = 8, minutes: float = 5.0
) -> Iterator[PhoneCase]:
    """Drives of one who follows the road, a word of ``STYLES``; every ``still_every``-th without a single shift."""
    for seed in range(first_seed, first_seed + count):
        drive = make_road_drive(style, seed, minutes=minutes, shifting=bool((seed + 1) % still_every))
        signals = read_cradle(drive)
        yield PhoneCase(
            name=f"{style} {seed}", signals=signals, car=UNKNOWN_CAR, events=_other_events(drive, signals),
            minutes=drive.minutes,
        )  # fmt: skip
