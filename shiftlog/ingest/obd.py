"""OBD-II answers (SAE J1979 / ISO 15031-5, service 01) to figures, for logs that hold the raw bytes.

The speed of an answer is whole km/h, and a poll brings one signal a few times a second at best: good for the gear
driven in, never for the length of a shift.
"""

from collections.abc import Callable
from dataclasses import dataclass

from shiftlog.errors import LogError

_ANSWER = 0x41
"""Service 01 answered: 40 hex added to the service."""


@dataclass(frozen=True, kw_only=True)
class ObdReading:
    """One figure of an answer; ``unit`` as logs name it."""

    pid: int
    value: float
    unit: str


@dataclass(frozen=True, kw_only=True)
class _Pid:
    size: int
    unit: str
    decode: Callable[[bytes], float]


def _percent(data: bytes) -> float:
    return data[0] * 100 / 255


def _celsius(data: bytes) -> float:
    return float(data[0] - 40)


_PIDS = {
    0x04: _Pid(size=1, unit="%", decode=_percent),
    0x05: _Pid(size=1, unit="degC", decode=_celsius),
    0x0C: _Pid(size=2, unit="rpm", decode=lambda data: (256 * data[0] + data[1]) / 4),
    0x0D: _Pid(size=1, unit="km/h", decode=lambda data: float(data[0])),
    0x0F: _Pid(size=1, unit="degC", decode=_celsius),
    0x11: _Pid(size=1, unit="%", decode=_percent),
}


def decode_answer(text: str) -> ObdReading:
    """Decodes an answer in hex, such as ``41 0C 1A F8``: load, coolant, engine and vehicle speed, intake air, throttle.

    LogError where it is no hex, no answer of service 01, a figure that is not known here, or too short.
    """
    try:
        data = bytes.fromhex(text)
    except ValueError:
        raise LogError(f'OBD answer "{text}": is no hex; write it as 41 0C 1A F8.') from None
    if len(data) < 3 or data[0] != _ANSWER:
        raise LogError(f'OBD answer "{text}": is no answer of service 01; it begins with 41.')
    pid = _PIDS.get(data[1])
    if pid is None:
        known = " ".join(f"{number:02X}" for number in _PIDS)
        raise LogError(f'OBD answer "{text}": {data[1]:02X} is not known; known are {known}.')
    if len(data) < 2 + pid.size:
        raise LogError(f'OBD answer "{text}": is cut short; {data[1]:02X} has {pid.size} bytes.')
    return ObdReading(pid=data[1], value=pid.decode(data[2:]), unit=pid.unit)
