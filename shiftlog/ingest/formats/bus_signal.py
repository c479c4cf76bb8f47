"""Where a signal lies in the frames of a bus, and its values out of many frames at once."""

from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True, kw_only=True)
class BusSignal:
    """One signal of one frame: value = raw · scale + offset.

    name : as declared; identifier, extended : of its frame; interface : the bus it is taken from, None for any
    start : lowest bit where ``little``, highest bit where not, bits counted as in a DBC: 8 · byte + bit
    floating : the bits are an IEEE 754 number; low, high : values beyond are none, None where any may be
    strict : the range was written for this car and holds, however many values lie beyond it
    selector : signal that says which frames hold this one, and the values of it that do; None where all do
    """

    name: str
    identifier: int
    start: int
    length: int
    extended: bool = False
    interface: str | None = None
    little: bool = True
    signed: bool = False
    floating: bool = False
    scale: float = 1.0
    offset: float = 0.0
    unit: str | None = None
    low: float | None = None
    high: float | None = None
    strict: bool = False
    selector: tuple["BusSignal", tuple[int, ...]] | None = None

    @property
    def header(self) -> str:
        """Name and unit as a column's header."""
        return f"{self.name} [{self.unit}]" if self.unit else self.name

    @property
    def bits(self) -> tuple[int, ...]:
        """Places of its bits in the frame, the lowest bit of the number first."""
        if self.little:
            return tuple(range(self.start, self.start + self.length))
        places = [self.start]
        while len(places) < self.length:
            # Downwards within a byte, then on to the top of the next.
            places.append(places[-1] - 1 if places[-1] % 8 else places[-1] + 15)
        return tuple(reversed(places))

    @property
    def bytes_needed(self) -> int:
        """How long a frame must be to hold all of it."""
        return max(self.bits) // 8 + 1


@dataclass(frozen=True, eq=False, kw_only=True)
class SignalValues:
    """values : (n,) NaN where a frame has none; short, outside : frames too short for it, and values out of range.

    beyond : values that stand though they lie beyond a range that cannot be right
    """

    values: np.ndarray
    short: int
    outside: int
    beyond: int = 0


_RANGE_HOLDS = 0.5
"""Where more values than this lie outside the range of a DBC, the range is wrong and the values stand: many are made by
scripts that know none. What somebody wrote into a TOML for this car holds."""


def decode_signal(signal: BusSignal, data: np.ndarray, lengths: np.ndarray) -> SignalValues:
    """Values of a signal in frames: data (n, b) uint8, of which the first lengths (n,) bytes of each are there."""
    raw, whole = _raw(signal, data, lengths)
    values = _number(signal, raw) * signal.scale + signal.offset
    values[~whole] = np.nan
    chosen = _chosen(signal, data, lengths)
    values[~chosen] = np.nan
    outside = _outside(signal, values)
    many = int(np.count_nonzero(outside))
    holds = signal.strict or many <= _RANGE_HOLDS * np.count_nonzero(np.isfinite(values))
    if holds:
        values[outside] = np.nan
    return SignalValues(
        values=values,
        short=int(np.count_nonzero(chosen & ~whole)),
        outside=many if holds else 0,
        beyond=0 if holds else many,
    )


def _raw(signal: BusSignal, data: np.ndarray, lengths: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """The number as it stands in the bits, (n,) uint64, and whether the frame is long enough, (n,) bool."""
    places = signal.bits
    raw = np.zeros(len(data), dtype=np.uint64)
    whole = lengths >= signal.bytes_needed
    if signal.bytes_needed <= data.shape[1]:
        for power, place in enumerate(places):
            bit = (data[:, place // 8] >> np.uint8(place % 8)) & np.uint8(1)
            raw |= bit.astype(np.uint64) << np.uint64(power)
    return raw, whole


def _number(signal: BusSignal, raw: np.ndarray) -> np.ndarray:
    if signal.floating:
        kind = {16: (np.uint16, np.float16), 32: (np.uint32, np.float32), 64: (np.uint64, np.float64)}
        whole, number = kind[signal.length]
        values = raw.astype(whole).view(number).astype(float)
        return np.where(np.isfinite(values), values, np.nan)
    if signal.signed:
        spare = np.uint64(64 - signal.length)
        return ((raw << spare).view(np.int64) >> np.int64(spare)).astype(float)
    return raw.astype(float)


def _chosen(signal: BusSignal, data: np.ndarray, lengths: np.ndarray) -> np.ndarray:
    if signal.selector is None:
        return np.ones(len(data), dtype=bool)
    selector, wanted = signal.selector
    raw, whole = _raw(selector, data, lengths)
    return whole & np.isin(raw, np.array(wanted, dtype=np.uint64)) & _chosen(selector, data, lengths)


def _outside(signal: BusSignal, values: np.ndarray) -> np.ndarray:
    low = -np.inf if signal.low is None else signal.low
    high = np.inf if signal.high is None else signal.high
    # The bounds are written with fewer digits than raw · scale has.
    slack = abs(signal.scale) / 2
    return (values < low - slack) | (values > high + slack)
