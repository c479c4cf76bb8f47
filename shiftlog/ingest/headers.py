"""Which channel a column of a real log holds, from its header and the unit that goes with it.

Recorders name their columns as they like: ``ax_g``, ``Engine RPM [RPM]``, ``"X (m/s^2)"``, ``gps_speed_ms``. A name may
fit several channels; the unit decides (``X`` in m/s^2 is an acceleration, in rad/s a rate), else the one that asks.
"""

import re
from dataclasses import dataclass

from shiftlog.ingest.channels import CHANNELS
from shiftlog.ingest.header_names import plain_channel, split_header
from shiftlog.ingest.units import find_unit, plain_unit

_ACC = r"(?:a|acc|accel|acceleration|accelerometer)"
_GYR = r"(?:w|gyr|gyro|gyroscope|omega|rot|rotation|rotation rate|angular (?:rate|velocity|speed))"
_TEMP = r"temp(?:erature)?"
_AXIS_NAMES = {"x": "roll ?rate", "y": "pitch ?rate", "z": "yaw ?rate"}

_PATTERNS: list[tuple[str, str]] = [
    ("time", r"(?:elapsed |gps |unix |epoch )?time(?: ?stamp)?|t|elapsed|epoch|utc|utc time|date ?time|uptime"),
    ("time", r"seconds|millis(?:econds)?|micros(?:econds)?|nanos(?:econds)?"),
    ("engine_speed", r"(?:engine |motor |crank )?(?:rpm|revs)|(?:engine|motor|crank) ?speed|rpm engine"),
    ("vehicle_speed", r"(?:vehicle|car|gps|ground|obd|can|road) ?(?:speed|velocity)(?: sensor| over ground)?"),
    ("vehicle_speed", r"speed(?: over ground| gps| obd)?|velocity|vss"),
    ("clutch", r"clutch(?: (?:pedal|switch|position|pos|state))*"),
    ("throttle", r"(?:absolute )?throttle(?: (?:position|pos|pedal|valve))*|tps"),
    ("brake", r"brake(?: (?:pedal|switch|position|pos|pressure|state))*"),
    ("select", r"(?:lever |shifter )?select(?: (?:axis|pos|position))*"),
    ("engage", r"(?:lever |shifter )?engage(?: (?:axis|pos|position))*"),
    ("lever_force", r"(?:lever|knob|shift|shifter) force"),
    ("gearbox_temp", rf"(?:gearbox|gear box|transmission)(?: oil| fluid)? {_TEMP}"),
    ("oil_temp", rf"(?:engine )?oil {_TEMP}"),
    ("ambient", rf"(?:ambient|outside)(?: air)?(?: {_TEMP})?"),
    ("latitude", r"(?:gps )?lat(?:itude)?"),
    ("longitude", r"(?:gps )?(?:lon|lng|long|longitude)"),
    ("marker", r"mark(?:er)?|event marker|button"),
]
for _axis, _rate in _AXIS_NAMES.items():
    _PATTERNS += [
        (f"accel_{_axis}", rf"{_ACC} ?{_axis}|{_axis} {_ACC}|{_axis}|g {_axis}|g{_axis}"),
        (f"gyro_{_axis}", rf"{_GYR} ?{_axis}|{_axis} {_GYR}|{_rate}|{_axis}|g {_axis}|g{_axis}"),
    ]
_COMPILED = [(channel, re.compile(pattern)) for channel, pattern in _PATTERNS]

_IMPLIED_UNITS = {"millis": "ms", "micros": "us", "nanos": "ns", "seconds": "s", "rpm": "rpm", "revs": "rpm"}


@dataclass(frozen=True, kw_only=True)
class HeaderGuess:
    """What a header may mean.

    channels : those that name and unit leave open; unit : as the header says it, or None where it says nothing
    misfit : the header names a channel, in a unit that this channel cannot take or that is not known
    """

    header: str
    channels: tuple[str, ...]
    unit: str | None
    misfit: bool = False


def recognise_header(header: str) -> HeaderGuess:
    """The channels that a header may stand for; none where it is no channel of the format."""
    parts = split_header(header)
    own = plain_channel(parts.name)
    words = _words(parts.name)
    named = [own] if own else _named(words)
    if named:
        return _with_unit(header, named, parts.unit or _implied(words))
    if parts.unit is None and len(words) > 1:
        stem, end = _named(words[:-1]), words[-1]
        # Of a speed, _ms can only be metres a second.
        end = "m/s" if end == "ms" and stem == ["vehicle_speed"] else end
        if stem and plain_unit(end):
            return _with_unit(header, stem, end)
    return HeaderGuess(header=header, channels=(), unit=None)


def _with_unit(header: str, named: list[str], unit: str | None) -> HeaderGuess:
    if unit is None:
        return HeaderGuess(header=header, channels=tuple(named), unit=None)
    fitting = tuple(c for c in named if find_unit(unit, CHANNELS[c].quantities))
    return HeaderGuess(header=header, channels=fitting or tuple(named), unit=unit, misfit=not fitting)


def _words(name: str) -> list[str]:
    split = re.sub(r"([a-z])([A-Z])", r"\1 \2", name)
    return re.sub(r"[^a-z0-9/%^]+", " ", split.lower()).split()


def _named(words: list[str]) -> list[str]:
    text = " ".join(words)
    return list(dict.fromkeys(channel for channel, pattern in _COMPILED if pattern.fullmatch(text)))


def _implied(words: list[str]) -> str | None:
    for word in words:
        for start, unit in _IMPLIED_UNITS.items():
            if word.startswith(start):
                return unit
    return None
