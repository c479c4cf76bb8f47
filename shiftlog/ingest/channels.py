"""The channels of the drive format: what each measures, its unit inside, and how it may be interpolated."""

from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class ChannelKind:
    """What is fixed about a channel, whatever log it comes from.

    quantities : what its unit must measure; inside : unit in memory, or None where it stays as logged
    kind : ``continuous`` or ``state``; bare : the unit meant where a header names none, or None where it must
    """

    quantities: tuple[str, ...]
    inside: str | None
    kind: str = "continuous"
    bare: str | None = None


_ACCEL = ChannelKind(quantities=("acceleration",), inside="m/s^2")
_GYRO = ChannelKind(quantities=("angular rate",), inside="rad/s")
_LEVER = ChannelKind(quantities=("lever",), inside=None)
_TEMPERATURE = ChannelKind(quantities=("temperature",), inside="degC")
_ANGLE = ChannelKind(quantities=("angle",), inside="deg", bare="deg")

CHANNELS: dict[str, ChannelKind] = {
    "time": ChannelKind(quantities=("time",), inside="s"),
    "accel_x": _ACCEL,
    "accel_y": _ACCEL,
    "accel_z": _ACCEL,
    "gyro_x": _GYRO,
    "gyro_y": _GYRO,
    "gyro_z": _GYRO,
    "select": _LEVER,
    "engage": _LEVER,
    "engine_speed": ChannelKind(quantities=("engine speed",), inside="rpm"),
    "vehicle_speed": ChannelKind(quantities=("speed",), inside="m/s"),
    "clutch": ChannelKind(quantities=("share",), inside="1", kind="state", bare="1"),
    "throttle": ChannelKind(quantities=("share",), inside="1"),
    "brake": ChannelKind(quantities=("share",), inside="1"),
    "lever_force": ChannelKind(quantities=("force",), inside="N"),
    "gearbox_temp": _TEMPERATURE,
    "oil_temp": _TEMPERATURE,
    "ambient": _TEMPERATURE,
    "latitude": _ANGLE,
    "longitude": _ANGLE,
    "marker": ChannelKind(quantities=("share", "lever"), inside=None, kind="state", bare="1"),
}

LEVER_AXES = {"select": ("right", "left"), "engage": ("forward", "rearward")}
"""Lever axes and the two ways in which each may be declared to grow."""
