"""Four signals of one make's bus, as in the open traces (SOURCE.txt of can-traces), in TOML and as a DBC."""

from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class BusSignal:
    """Where a signal lies in its frame, and what a count of it is worth."""

    frame: int
    start: int
    length: int
    unit: str
    scale: float = 1.0
    signed: bool = False
    greatest: float = 0.0


SIGNALS = {
    "engine_speed": BusSignal(frame=0x140, start=16, length=14, unit="rpm", greatest=16383),
    "throttle": BusSignal(frame=0x140, start=0, length=8, unit="%", scale=0.392157, greatest=100.1),
    "vehicle_speed": BusSignal(frame=0x0D1, start=0, length=16, unit="km/h", scale=0.05625, greatest=3700),
    "accel_x": BusSignal(frame=0x0D0, start=56, length=8, unit="m/s^2", scale=-0.1, signed=True, greatest=13),
}
_FRAMES = {0x140: "Engine", 0x0D1: "Wheels", 0x0D0: "Motion"}


def signals_toml(*names: str) -> str:
    """These signals as [[signal]] entries."""
    return "\n".join(_entry(name, SIGNALS[name]) for name in names)


def _entry(name: str, signal: BusSignal) -> str:
    lines = ["[[signal]]", f'name = "{name}"', f"id = 0x{signal.frame:03X}"]
    lines += [f"start = {signal.start}", f"length = {signal.length}"]
    lines += ["signed = true"] if signal.signed else []
    lines += [f"scale = {signal.scale}"] if signal.scale != 1 else []
    return "\n".join([*lines, f'unit = "{signal.unit}"', ""])


def signals_dbc(*names: str) -> str:
    """These signals as a DBC."""
    lines = ['VERSION ""', "NS_ :", "BS_:", "BU_: ECU"]
    for frame, title in _FRAMES.items():
        held = [name for name in names if SIGNALS[name].frame == frame]
        lines += [f"BO_ {frame} {title}: 8 ECU"] if held else []
        lines += [_line(name, SIGNALS[name]) for name in held]
    return "\n".join([*lines, ""])


def _line(name: str, signal: BusSignal) -> str:
    low = -signal.greatest if signal.signed else 0
    where = f"{signal.start}|{signal.length}@1{'-' if signal.signed else '+'}"
    return f' SG_ {name} : {where} ({signal.scale:g},0) [{low:g}|{signal.greatest:g}] "{signal.unit}" ECU'
