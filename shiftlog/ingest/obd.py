"""OBD-II answers (SAE J1979 / ISO 15031-5, service 01) to figures, for logs that hold the raw bytes.

The speed of an answer is whole km/h, and a poll brings one signal a few times a second at best: good for the gear
driven in, never for the length of a shift. Plain Python on bytes, without arrays, so that it can be fuzzed.
"""

from collections.abc import Callable
from dataclasses import dataclass

ANSWER = 0x41
"""Service 01 answered: 40 hex added to the service."""


@dataclass(frozen=True, kw_only=True)
class ObdReading:
    """One figure of an answer; ``name`` and ``unit`` as logs name them."""

    pid: int
    name: str
    value: float
    unit: str


@dataclass(frozen=True, kw_only=True)
class _Pid:
    name: str
    size: int
    unit: str
    decode: Callable[[bytes], float]


def _percent(data: bytes) -> float:
    return data[0] * 100 / 255


def _celsius(data: bytes) -> float:
    return float(data[0] - 40)


PIDS = {
    0x04: _Pid(name="engine_load", size=1, unit="%", decode=_percent),
    0x05: _Pid(name="coolant_temp", size=1, unit="degC", decode=_celsius),
    0x0C: _Pid(name="engine_speed", size=2, unit="rpm", decode=lambda data: (256 * data[0] + data[1]) / 4),
    0x0D: _Pid(name="vehicle_speed", size=1, unit="km/h", decode=lambda data: float(data[0])),
    0x0F: _Pid(name="intake_temp", size=1, unit="degC", decode=_celsius),
    0x11: _Pid(name="throttle", size=1, unit="%", decode=_percent),
    0x46: _Pid(name="ambient", size=1, unit="degC", decode=_celsius),
    0x5C: _Pid(name="oil_temp", size=1, unit="degC", decode=_celsius),
}
"""46 and 5C from memory: both are A − 40 °C, as 05 and 0F are."""

_SIZES = {
    **dict.fromkeys(range(0x01, 0x60), 1),
    **dict.fromkeys((*range(0x00, 0x60, 0x20), 0x01, 0x41, *range(0x24, 0x2C), *range(0x34, 0x3C), 0x4F, 0x50), 4),
    **dict.fromkeys(
        (0x02, 0x0C, 0x10, *range(0x14, 0x1C), 0x1F, 0x21, 0x22, 0x23, 0x31, 0x32, *range(0x3C, 0x40), 0x42, 0x43, 0x44,
         0x4D, 0x4E, 0x53, 0x54, *range(0x55, 0x5A), 0x5D, 0x5E), 2,
    ),
}  # fmt: skip
"""Bytes of data of each PID (from memory), to step over those that are no figure here in an answer of several."""


def decode_payload(data: bytes) -> tuple[ObdReading, ...]:
    """All figures of an answer such as 41 0C 1A F8 0D 32; none where it answers another service, or is cut short.

    An answer is read up to the first PID whose length is not known; zeros or 55, AA, CC hex at its end are padding.
    """
    if len(data) < 3 or data[0] != ANSWER:
        return ()
    found: list[ObdReading] = []
    at = 1
    while at < len(data) and (size := _SIZES.get(data[at])) is not None and at + size < len(data):
        number, value = data[at], data[at + 1 : at + 1 + size]
        again = any(reading.pid == number for reading in found)
        if again or (found and number in (0x00, 0x55)):
            break
        pid = PIDS.get(number)
        if pid is not None:
            found.append(ObdReading(pid=number, name=pid.name, value=pid.decode(value), unit=pid.unit))
        at += 1 + size
    return tuple(found)
