"""A whole drive with known truth.

    drive = make_drive(car="hatch5", seed=1, health="worn", road="rough", sensors=Sensors(), minutes=4)
    drive.car          the model ``Car`` (its profile)
    drive.signals()    ``Signals`` on drive time, as placing the recordings would give them
    drive.truth        ``Truth``: shifts, rests and their readings, by the definitions, from the noise-free path
    drive.recordings   what each recorder wrote (``SynthRecording``)
    drive.write(p)     a drive folder: drive.toml, car.toml, CSV logs

``car`` is a key of ``cars.CARS`` or a ``SynthCar``; ``health`` a word of ``health.draw_health`` or a ``Health``.
The same arguments give the same drive, byte for byte. Drive time is the model's own time.
"""

from dataclasses import dataclass

import numpy as np

from shiftlog.model.car import Car
from shiftlog.model.drive import Signals
from shiftlog.model.trace import Trace
from shiftlog.synth.cars import CARS, SynthCar
from shiftlog.synth.driver import Driver
from shiftlog.synth.health import Health, draw_health
from shiftlog.synth.lever import LeverPath, draw_path
from shiftlog.synth.programme import Mix, drive_about
from shiftlog.synth.recorder import Sensors, SynthRecording, record_bus, record_lever
from shiftlog.synth.truth import Truth, read_truth
from shiftlog.synth.vehicle import Motion


@dataclass(frozen=True, eq=False, kw_only=True)
class SynthDrive:
    """A synthesised drive; see the module's own words."""

    car: Car
    synth_car: SynthCar
    health: Health
    truth: Truth
    recordings: tuple[SynthRecording, ...]
    lever: LeverPath
    motion: Motion

    def signals(self) -> Signals:
        """The drive's signals on drive time."""
        by_name = {r.name: r for r in self.recordings}
        bus, lever = by_name.get("bus"), by_name["lever"]
        grows = (lever.grows.get("select"), lever.grows.get("engage"))
        from_bus = {
            name: _trace(bus, name)
            for name in ("engine_speed", "vehicle_speed", "clutch", "throttle")
            if bus is not None and name in bus.columns
        }
        return Signals(lever=_trace(lever, "select", "engage"), lever_grows=grows, **from_bus)


def make_drive(
    *,
    car: str | SynthCar,
    seed: int,
    health: str | Health = "healthy",
    road: str = "smooth",
    sensors: Sensors | None = None,
    minutes: float = 4.0,
    hurry: float = 1.0,
    mix: Mix | None = None,
) -> SynthDrive:
    """Drive a car about at random, and record it."""
    rng = np.random.default_rng(seed)
    synth_car = CARS[car] if isinstance(car, str) else car
    state = draw_health(health, synth_car, rng) if isinstance(health, str) else health
    sensors = sensors or Sensors()
    driver = Driver(synth_car=synth_car, health=state, rng=rng, hurry=hurry)
    drive_about(driver, until_s=minutes * 60, mix=mix or Mix())
    motion = driver.vehicle.motion()
    lever = draw_path(
        driver.hand, motion, cylinders=synth_car.cylinders, idle_rpm=synth_car.idle_rpm, seed=seed
    )
    truth = read_truth(driver, lever, motion)
    recordings = [record_lever(lever, sensors, rng)]
    if sensors.bus_rate_hz:
        recordings.append(record_bus(motion, sensors, rng))
    return SynthDrive(
        car=synth_car.car,
        synth_car=synth_car,
        health=state,
        truth=truth,
        recordings=tuple(recordings),
        lever=lever,
        motion=motion,
    )


def _trace(recording: SynthRecording, *names: str) -> Trace:
    values = np.stack([recording.columns[n] for n in names], axis=1)
    time_s = recording.time_s.copy()
    return Trace(
        time_s=time_s,
        values=values[:, 0].copy() if len(names) == 1 else values,
        spans=((float(time_s[0]), float(time_s[-1])),),
        rate_hz=float((time_s.size - 1) / (time_s[-1] - time_s[0])),
        recording=recording.name,
        place=recording.place,
    )
