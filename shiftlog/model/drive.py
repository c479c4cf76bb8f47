"""A drive: recordings on one clock, axes turned to the vehicle, and the car."""

from collections.abc import Mapping
from dataclasses import dataclass, field, fields

import numpy as np

from shiftlog.model.car import Car
from shiftlog.model.recording import Calibration, Recording
from shiftlog.model.trace import Trace


@dataclass(frozen=True, eq=False, kw_only=True)
class ClockMatch:
    """How a recording's clock lies to drive time: recorder time = drive time · (1 + drift_ppm · 1e-6) + offset_s.

    how : ``reference`` | ``same clock`` | ``declared`` | ``matched`` | ``not placed``
    confidence : 0 to 1, or None where it is not placed; why : the reason where it is not placed
    mend : what to do where it is not placed, as an order; declaring ``clock_offset_s`` would do as well
    evidence : what told, in words, where the signals were matched
    uncertainty_s : standard uncertainty of a reading, delays inside the recorders included, where it was matched [s]
    """

    offset_s: float | None
    drift_ppm: float | None
    how: str
    confidence: float | None
    slipped_at_s: float | None = None
    why: str | None = None
    evidence: str | None = None
    uncertainty_s: float | None = None
    mend: str | None = None


@dataclass(frozen=True, eq=False, kw_only=True)
class Mounting:
    """How a sensor's axes lie in the vehicle (ISO 8855).

    rotation : (3, 3), vehicle = rotation · sensor, or None where it is not known; how : ``declared`` | ``unknown`` …
    confidence : probability that the forward axis is right within 3°; uncertainty_deg : its standard uncertainty
    slipped_at_s : when the sensor slipped in its holder [drive time, s], or None
    later : (from_s, rotation) of each stretch after a slip; ``rotation`` holds before the first of them
    gyro_fits : whether its gyro can be turned by it; False where that contradicts the accelerometer
    held_s : (from_s, to_s) outside which the sensor lay otherwise, nobody knows how; None for an end without such
    why : the reason where it is not known, or what is doubtful about it
    """

    rotation: np.ndarray | None
    how: str
    confidence: float | None = None
    uncertainty_deg: float | None = None
    slipped_at_s: float | None = None
    later: tuple[tuple[float, np.ndarray], ...] = ()
    gyro_fits: bool = True
    held_s: tuple[float | None, float | None] = (None, None)
    why: str | None = None

    def holds(self, time_s: np.ndarray) -> np.ndarray:
        """At which of these times (n,) it is known how the sensor lay, bool."""
        low, high = self.held_s
        return (time_s > (-np.inf if low is None else low)) & (time_s < (np.inf if high is None else high))


@dataclass(frozen=True, eq=False, kw_only=True)
class Latency:
    """How late a channel comes against another: ``channel`` as logged at t is that of t − lag_s.

    against : the channel or kind of signal it was compared with; uncertainty_s : standard uncertainty [s]
    """

    channel: str
    against: str
    lag_s: float
    uncertainty_s: float | None = None


@dataclass(frozen=True, eq=False, kw_only=True)
class Placed:
    """A recording with its clock match; its ``recording.time_s`` is drive time unless it is not placed."""

    recording: Recording
    clock: ClockMatch
    mounting: Mounting
    latencies: tuple[Latency, ...] = ()

    @property
    def on_drive_time(self) -> bool:
        """Whether its times are drive time."""
        return self.clock.offset_s is not None


@dataclass(frozen=True, eq=False, kw_only=True)
class LeftOut:
    """A recording that could not be used, with the one line that says why.

    restarted : whether its time starts anew on the way, which may be allowed
    """

    name: str
    file: str
    why: str
    restarted: bool = False


@dataclass(frozen=True, eq=False, kw_only=True)
class MarkedTest:
    """A marked span of the drive: what was being done, in drive time.

    waits_s : what the person counted before each try of a spin-down, in order, where they were typed
    gearbox_temp_c : of the gearbox during the span, as typed from a thermometer, or None
    """

    kind: str
    start_s: float
    end_s: float
    configuration: str | None = None
    waits_s: tuple[float, ...] = ()
    gearbox_temp_c: float | None = None


@dataclass(frozen=True, eq=False, kw_only=True)
class DriveHead:
    """What ``drive.toml`` says of the drive as a whole."""

    id: str
    stage: str | None = None
    driver: str | None = None
    started: str | None = None
    gearbox_temp_c: float | None = None
    cold: bool | None = None
    notes: str | None = None


@dataclass(frozen=True, eq=False, kw_only=True)
class DriveLogs:
    """A drive folder as read: every recording still on its own clock and in its sensor's axes.

    tests : marked spans in drive time, as written
    notes : what is worth pointing out in the drive's own files, one line each
    """

    head: DriveHead
    car: Car
    recordings: tuple[Recording, ...]
    left_out: tuple[LeftOut, ...] = ()
    tests: tuple[MarkedTest, ...] = ()
    folder: str | None = None
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, eq=False, kw_only=True)
class Signals:
    """The drive's signals on drive time, each from the best recording that holds it (highest rate).

    lever : (n, 2) select, engage as logged; lever_grows : as declared for (select, engage)
    lever_u : standard uncertainty of a lever reading that its own noise does not show, in its unit, or None
    lever_why : why there is no lever though a sensor rides on it, or None
    lever_slips : a line for each slip of one of the two motion sensors that a lever is known from
    tower : (n, 2) select, engage as logged at the gearbox's end of the cables or rods
    accel : (n, 3) by place, sensor axes; accel_vehicle : (n, 3) by place, vehicle axes, only where the
    mounting is known; yaw_rate : (n,) [rad/s], vehicle z, only where the mounting is known
    accel_forward : (n,) longitudinal acceleration as the car's own bus has it, or None
    accel_why : by place, why an accelerometer that sits there is not among ``accel``
    calibration : of the accelerometers, by recording
    clock_u_s : standard uncertainty of drive time by recording, those whose clock was matched by signals [s]
    """

    lever: Trace | None = None
    lever_grows: tuple[str | None, str | None] = (None, None)
    lever_u: float | None = None
    lever_why: str | None = None
    lever_slips: tuple[str, ...] = ()
    tower: Trace | None = None
    engine_speed: Trace | None = None
    vehicle_speed: Trace | None = None
    clutch: Trace | None = None
    throttle: Trace | None = None
    brake: Trace | None = None
    lever_force: Trace | None = None
    gearbox_temp: Trace | None = None
    accel: Mapping[str, Trace] = field(default_factory=dict)
    accel_vehicle: Mapping[str, Trace] = field(default_factory=dict)
    accel_why: Mapping[str, str] = field(default_factory=dict)
    accel_forward: Trace | None = None
    calibration: Mapping[str, Calibration] = field(default_factory=dict)
    clock_u_s: Mapping[str, float] = field(default_factory=dict)
    yaw_rate: Trace | None = None

    @property
    def within_s(self) -> tuple[float, float] | None:
        """First and last sample of all signals [s], or None where there is none."""
        values = [getattr(self, each.name) for each in fields(self)]
        traces = [v for v in values if isinstance(v, Trace)]
        traces += [v for some in (self.accel, self.accel_vehicle) for v in some.values()]
        ends = [(float(t.time_s[0]), float(t.time_s[-1])) for t in traces if t.time_s.size]
        return (min(a for a, _ in ends), max(b for _, b in ends)) if ends else None


@dataclass(frozen=True, eq=False, kw_only=True)
class Drive:
    """Everything that was recorded of a drive, on one clock.

    clock_recording : name of the recording whose clock is drive time
    clock_zero_s : where drive time's zero lies in that recorder's own time [s]
    placed : all usable recordings, those that could not be placed included (``on_drive_time`` tells)
    signals : what detecting and measuring read
    notes : what is worth pointing out, one line each
    """

    head: DriveHead
    car: Car
    placed: tuple[Placed, ...]
    clock_recording: str
    clock_zero_s: float
    signals: Signals
    left_out: tuple[LeftOut, ...] = ()
    tests: tuple[MarkedTest, ...] = ()
    folder: str | None = None
    notes: tuple[str, ...] = ()
