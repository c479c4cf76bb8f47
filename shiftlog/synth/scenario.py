"""A whole drive with known truth.

    drive = make_drive(car="hatch5", seed=1, health="worn", road="rough", sensors=Sensors(), minutes=4)
    drive.car          the model ``Car`` (its profile)
    drive.signals()    ``Signals`` on drive time, as placing the recordings would give them
    drive.as_drive()   a ``Drive`` around them
    drive.truth        ``Truth``: shifts, rests and their readings, by the definitions, from the noise-free path
    drive.undisturbed  what the car did where the recorders sit, without their errors
    drive.recordings   what each recorder wrote (``SynthRecording``)
    drive.write(p)     a drive folder: drive.toml, car.toml, CSV logs

``car`` is a key of ``cars.CARS`` or a ``SynthCar``; ``health`` a word of ``health.draw_health`` or a ``Health``.
The same arguments give the same drive, byte for byte. Drive time is the model's own time.
"""

from dataclasses import dataclass
from pathlib import Path

import numpy as np

from shiftlog.model.car import Car
from shiftlog.model.drive import Drive, DriveHead, MarkedTest, Signals
from shiftlog.model.recording import ACCEL, Calibration
from shiftlog.model.trace import Trace
from shiftlog.synth.cars import CARS, SynthCar
from shiftlog.synth.drive_folder import write_car, write_drive_file, write_recording
from shiftlog.synth.driver import Driver
from shiftlog.synth.fitted import record_all
from shiftlog.synth.health import Health, draw_health
from shiftlog.synth.lever import LeverPath, draw_path
from shiftlog.synth.manner import Mix
from shiftlog.synth.programme import Act, drive_about
from shiftlog.synth.recorder import Sensors, SynthRecording
from shiftlog.synth.truth import Truth, read_truth
from shiftlog.synth.vehicle import Motion
from shiftlog.synth.vibration import draw_events
from shiftlog.synth.with_figures import Undisturbed, with_figures


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
    undisturbed: Undisturbed
    tests: tuple[MarkedTest, ...] = ()

    def signals(self) -> Signals:
        """The drive's signals on drive time, from the recordings whose clock is known."""
        placed = {r.name: r for r in self.recordings if r.clock == "logger" or r.clock_declared}
        lever = next((r for r in placed.values() if "select" in r.columns), None)
        accelerometers = [r for r in placed.values() if "accel_x" in r.columns]
        grows = (lever.grows.get("select"), lever.grows.get("engage")) if lever else (None, None)
        return Signals(
            lever=_trace(lever, "select", "engage") if lever else None,
            lever_grows=grows,
            accel={r.place: _trace(r, *ACCEL) for r in accelerometers},
            accel_vehicle={r.place: _turned(r) for r in accelerometers if r.mounting is not None},
            yaw_rate=_yaw(placed.get("phone")),
            calibration={r.name: r.calibration or Calibration() for r in accelerometers},
            **_single_channels(placed),
        )

    def as_drive(self, *, name: str = "synthesised") -> Drive:
        """A ``Drive`` ready to be measured, without a detour over files (``placed`` is empty)."""
        first = self.recordings[0]
        return Drive(
            head=DriveHead(id=name),
            car=self.car,
            placed=(),
            clock_recording=first.name,
            clock_zero_s=float(first.recorder_time_s[0]),
            signals=self.signals(),
            tests=self.tests,
        )

    def write(self, folder: Path, *, profile: str | None = None, **head: object) -> Path:
        """A drive folder. ``profile`` names a car.toml that exists already; else one is written. ``head`` goes
        into drive.toml (stage, driver, started, …). Returns the folder."""
        folder.mkdir(parents=True, exist_ok=True)
        if profile is None:
            profile = "car.toml"
            write_car(self.car, folder / profile)
        for recording in self.recordings:
            write_recording(recording, folder)
        whole = {"id": folder.name, **head}
        write_drive_file(self.recordings, folder, profile=profile, head=whole, tests=self.tests)
        return folder


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
    first: tuple[Act, ...] = (),
) -> SynthDrive:
    """Drive a car about at random, and record it; ``first``: what is done before, standing (``standing_tests``)."""
    rng = np.random.default_rng(seed)
    synth_car = CARS[car] if isinstance(car, str) else car
    state = draw_health(health, synth_car, rng) if isinstance(health, str) else health
    sensors = sensors or Sensors()
    driver = Driver(synth_car=synth_car, health=state, rng=rng, hurry=hurry)
    drive_about(driver, until_s=minutes * 60, mix=mix or Mix(), first=first)
    motion = driver.vehicle.motion()
    lever = draw_path(driver.hand, motion, cylinders=synth_car.cylinders, idle_rpm=synth_car.idle_rpm, seed=seed)
    truth = read_truth(driver, lever, motion)
    events = draw_events(truth, lever, motion, synth_car, state, driver.synchro, road=road, rng=rng)
    recordings, undisturbed = record_all(lever, motion, events, synth_car, state, sensors, road=road, rng=rng)
    return SynthDrive(
        car=synth_car.car,
        synth_car=synth_car,
        health=state,
        truth=with_figures(truth, events, motion, undisturbed, synth_car, driver.synchro),
        recordings=recordings,
        lever=lever,
        motion=motion,
        undisturbed=undisturbed,
        tests=tuple(driver.marks),
    )


SINGLE = ("engine_speed", "vehicle_speed", "clutch", "throttle")


def _single_channels(placed: dict[str, SynthRecording]) -> dict[str, Trace]:
    """Each channel of one column from the first recording that holds it; the bus comes before the phone."""
    found: dict[str, Trace] = {}
    for recording in placed.values():
        for name in SINGLE:
            if name in recording.columns and name not in found:
                found[name] = _trace(recording, name)
    return found


def _trace(recording: SynthRecording, *names: str) -> Trace:
    values = np.stack([recording.columns[n] for n in names], axis=1)
    valued = ~np.isnan(values).any(axis=1)
    clipped = recording.clipped[valued] if names == ACCEL and recording.clipped is not None else None
    kept = values[valued, 0] if len(names) == 1 else values[valued]
    return _as_trace(recording, recording.time_s[valued], kept, clipped=clipped)


def _turned(recording: SynthRecording) -> Trace:
    sensor = np.stack([recording.columns[n] for n in ACCEL], axis=1)
    return _as_trace(recording, recording.time_s.copy(), sensor @ recording.mounting.T, clipped=recording.clipped)


def _yaw(phone: SynthRecording | None) -> Trace | None:
    if phone is None or phone.mounting is None or "gyro_z" not in phone.columns:
        return None
    gyro = np.stack([phone.columns[f"gyro_{axis}"] for axis in "xyz"], axis=1)
    return _as_trace(phone, phone.time_s.copy(), (gyro @ phone.mounting.T)[:, 2])


def _as_trace(
    recording: SynthRecording, time_s: np.ndarray, values: np.ndarray, *, clipped: np.ndarray | None = None
) -> Trace:
    return Trace(
        time_s=time_s,
        values=values,
        spans=((float(time_s[0]), float(time_s[-1])),),
        rate_hz=float((time_s.size - 1) / (time_s[-1] - time_s[0])),
        recording=recording.name,
        place=recording.place,
        clipped=clipped,
    )
