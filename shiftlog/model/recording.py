"""What one recorder wrote: channels on one time axis, the spans that hold data, and what was mended."""

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

ACCEL = ("accel_x", "accel_y", "accel_z")
GYRO = ("gyro_x", "gyro_y", "gyro_z")
LEVER = ("select", "engage")
"""Channels that come together, one for each axis of one sensor."""

TOGETHER = {
    "select": "engage",
    "engage": "select",
    "engine_speed": "vehicle_speed",
    "vehicle_speed": "engine_speed",
}
"""Channels of which one cannot stand at one value while the other changes."""

PLACES = ("lever", "tower", "gearbox", "body", "engine", "pedal")
BODY_PLACES = ("body", "tower", "gearbox", "engine")
"""Where a motion sensor goes along with the car and not with the lever, the stiffest first."""


@dataclass(frozen=True, eq=False, kw_only=True)
class Channel:
    """One column of a recording.

    name : as in the drive format (``select``, ``accel_x``, ``engine_speed`` …)
    unit : unit of the values in memory (s, m/s^2, rad/s, m/s, rpm, degC, deg, N, 1; lever: as logged)
    kind : ``continuous`` (may be interpolated) or ``state`` (holds until it changes)
    resolution : smallest step seen between different values, in ``unit``, or None
    limits : (low, high) at which the sensor clips, in ``unit``, or None where no clipping shows
    grows : lever axes only: ``right`` | ``left`` | ``forward`` | ``rearward`` as declared, or None
    """

    name: str
    unit: str
    kind: str = "continuous"
    resolution: float | None = None
    limits: tuple[float, float] | None = None
    grows: str | None = None


@dataclass(frozen=True, kw_only=True)
class Calibration:
    """Standard uncertainties of an accelerometer as it was fitted (k = 1, JCGM 100:2008).

    gain : as a share of the reading; bias_mps2 : of each axis at rest [m/s²]
    stated : False where nobody stated them. Then they are those of the parts phones and cheap loggers are made of:
    zero within ± 50 to 80 mg and scale within ± 3 % by their data sheets, taken as rectangular.
    """

    gain: float = 0.017
    bias_mps2: float = 0.4
    stated: bool = False


@dataclass(frozen=True, eq=False, kw_only=True)
class Quality:
    """What the log itself is worth.

    rate_hz : true mean rate between gaps; jitter_s : standard deviation of the steps between gaps
    gaps : (start_s, end_s) of each hole, in the recording's own time at ingest, drive time once placed
    dropped : samples missing inside gaps, by the rate; mended : what was put right, and how often
    clipped : samples at a limit of their sensor, clipped_by : the same by channel, those with any
    stuck : channels that never change; frozen_s : channels that stood at one value while the other of the two
        (``TOGETHER``) changed, or axes of a motion sensor that did though they tremble, and how long [s]; they hold
        no value there
    renewed_s : usual wait between new values, of the channels that are new more seldom than the rows [s]
    noise_mps2 : noise floor of the accelerometer (r.m.s. over its quietest second, one axis), or None
    bandwidth_hz : highest frequency that can be trusted, or None where there is no accelerometer
    """

    rate_hz: float
    jitter_s: float
    samples: int
    duration_s: float
    gaps: tuple[tuple[float, float], ...] = ()
    dropped: int = 0
    mended: Mapping[str, int] = field(default_factory=dict)
    clipped: int = 0
    noise_mps2: float | None = None
    bandwidth_hz: float | None = None
    stuck: tuple[str, ...] = ()
    clipped_by: Mapping[str, int] = field(default_factory=dict)
    renewed_s: Mapping[str, float] = field(default_factory=dict)
    frozen_s: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True, eq=False, kw_only=True)
class Recording:
    """Channels that one recorder wrote on one time axis.

    time_s : (n,) float, strictly increasing [s]; the recorder's own time, or drive time once placed
    values : (n, c) float, one column for each of ``channels``; NaN where the log has no value
    spans : (start_s, end_s) of the stretches in which data exist, between gaps
    clock : name of the clock; recordings that name one clock share it
    clock_offset_s : as declared: recorder time = drive time + this, or None
    mounting : (3, 3) as declared: vehicle = mounting · sensor, or None
    calibration : of the accelerometer
    ignored : columns of the file that are no channel, by their header
    history : what was done to the data, in order, one sentence each
    """

    name: str
    place: str
    file: str
    sha256: str
    size_bytes: int
    clock: str
    channels: tuple[Channel, ...]
    time_s: np.ndarray
    values: np.ndarray
    spans: tuple[tuple[float, float], ...]
    quality: Quality
    clock_offset_s: float | None = None
    mounting: np.ndarray | None = None
    calibration: Calibration = Calibration()
    ignored: tuple[str, ...] = ()
    history: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        if self.values.shape != (self.time_s.size, len(self.channels)):
            raise ValueError(f"recording {self.name}: values {self.values.shape} do not fit its channels")
        if self.time_s.size and not np.all(np.diff(self.time_s) > 0):
            raise ValueError(f"recording {self.name}: time does not increase")
        for array in (self.time_s, self.values):
            array.setflags(write=False)

    def channel(self, name: str) -> Channel | None:
        """The channel of that name, or None."""
        return next((c for c in self.channels if c.name == name), None)

    def column(self, name: str) -> np.ndarray:
        """Values of one channel, (n,), NaN where missing. KeyError where there is no such channel."""
        for index, channel in enumerate(self.channels):
            if channel.name == name:
                return self.values[:, index]
        raise KeyError(name)

    def has(self, *names: str) -> bool:
        """Whether all these channels are there."""
        return all(self.channel(name) is not None for name in names)
