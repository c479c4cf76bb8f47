"""A few lines of TOML that say where the signals of a bus lie, for cars without a DBC."""

from pathlib import Path
from typing import Annotated, Literal

from pydantic import Field

from shiftlog.errors import LogError, ProfileError
from shiftlog.ingest.faults import Section, check_toml, load_toml, unknown_keys
from shiftlog.ingest.formats.bus_signal import BusSignal

Finite = Annotated[float, Field(allow_inf_nan=False)]

GREATEST_STANDARD = 0x7FF
"""Identifiers of 11 bits; what is larger is an extended one of 29."""

_FRAME_BITS = 8 * 64


class SignalEntry(Section):
    """One ``[[signal]]``."""

    name: str
    id: Annotated[int, Field(ge=0, le=0x1FFFFFFF)]
    start: Annotated[int, Field(ge=0, lt=_FRAME_BITS)]
    length: Annotated[int, Field(ge=1, le=64)]
    order: Literal["little", "big"] = "little"
    signed: bool = False
    scale: Finite = 1.0
    offset: Finite = 0.0
    unit: str | None = None
    extended: bool | None = None
    interface: str | None = None
    low: Finite | None = None
    high: Finite | None = None


class SignalsToml(Section):
    """The whole file."""

    format: Literal[1] = 1
    signal: Annotated[list[SignalEntry], Field(min_length=1)]


def read_signals_file(path: Path) -> tuple[BusSignal, ...]:
    """The signals of a file. LogError that lists every fault with its key."""
    try:
        content = check_toml(SignalsToml, load_toml(path), file=path.name)
    except ProfileError as error:
        raise LogError(str(error)) from None
    signals = tuple(_signal(entry) for entry in content.signal)
    faults = [f"{key}: is not known" for key in unknown_keys(content)]
    for number, signal in enumerate(signals, start=1):
        faults += [f"signal[{number}].{why}" for why in _faults(signal, [s.name for s in signals])]
    if faults:
        raise LogError(f"{path.name}: {'; '.join(faults)}.")
    return signals


def _signal(entry: SignalEntry) -> BusSignal:
    return BusSignal(
        name=entry.name, identifier=entry.id, start=entry.start, length=entry.length, interface=entry.interface,
        extended=entry.id > GREATEST_STANDARD if entry.extended is None else entry.extended,
        little=entry.order == "little", signed=entry.signed, scale=entry.scale, offset=entry.offset, unit=entry.unit,
        low=entry.low, high=entry.high, strict=True,
    )  # fmt: skip


def _faults(signal: BusSignal, names: list[str]) -> list[str]:
    faults = []
    if names.count(signal.name) > 1:
        faults.append(f'name: "{signal.name}" is there twice')
    if signal.name.strip().lower() == "time":
        faults.append("name: time is that of the frames; call the signal something else")
    if max(signal.bits) >= _FRAME_BITS:
        faults.append(f"length: {signal.length} bits from {signal.start} on reach beyond any frame")
    if signal.scale == 0:
        faults.append("scale: is 0, so that every value is the same; write what one count is worth")
    if signal.low is not None and signal.high is not None and signal.low >= signal.high:
        faults.append(
            f"low: {signal.low:g} is not below high, {signal.high:g}; low is the least value, high the greatest"
        )
    if not signal.extended and signal.identifier > GREATEST_STANDARD:
        faults.append("id: is larger than 0x7FF, and extended is false")
    return faults
