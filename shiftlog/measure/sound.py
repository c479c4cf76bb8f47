"""What the recorder at the gearbox heard over the drive, as loudness in bands."""

from dataclasses import dataclass

import numpy as np
from scipy.ndimage import maximum_filter1d

from shiftlog.model.trace import Trace
from shiftlog.signal.filter import band_pass
from shiftlog.signal.loudness import HOP_S, short_time_power
from shiftlog.signal.onward_filter import band_pass_onward
from shiftlog.signal.resample import resample_smoothly

HIGH_SHARE = 0.4
"""Of the rate: up to here a recorder is trusted."""
THUD_HZ = (20.0, 100.0)
"""Wheels and body answer a blow from the road here; clashing teeth hardly do."""
PARTS = 3
"""A casing answers clashing teeth in some of so many bands, and a road shakes most in the lowest; narrower ones would
themselves ring for longer than a clash may last."""
ORDER, PART_ORDER = 4, 2
SHORTEST_S = 1.0
RINGS_S = 0.03
"""A band-pass from 150 Hz on rings for some of its slowest periods: by 50 dB less after this."""


@dataclass(frozen=True, eq=False, kw_only=True)
class Sound:
    """Loudness on an even grid of ``HOP_S`` within each of ``spans``.

    time_s, power, thud : (m,) mean square from ``low_hz`` to ``top_hz``, and in the band of blows from the road
    [m²/s⁴]; parts : (m, p) the same in bands side by side between ``low_hz`` and ``top_hz``
    clipped : (m,) bool; parts and thud are filtered onward only: no blow is heard before it falls
    """

    time_s: np.ndarray
    power: np.ndarray
    thud: np.ndarray
    parts: np.ndarray
    clipped: np.ndarray
    spans: tuple[tuple[float, float], ...]
    low_hz: float
    top_hz: float

    def between(self, first_s: float, last_s: float) -> slice:
        """The windows whose centres lie there."""
        return slice(*np.searchsorted(self.time_s, (first_s, last_s)))

    def holds(self, first_s: float, last_s: float) -> bool:
        """Whether data go all the way."""
        return any(a <= first_s and last_s <= b for a, b in self.spans)


def hear(accel: Trace, *, low_hz: float) -> Sound:
    """The whole recording as loudness; accel : (n, 3) [m/s²]."""
    top_hz = HIGH_SHARE * accel.rate_hz
    pieces = [_hear(accel, span, (low_hz, top_hz)) for span in accel.spans if span[1] - span[0] >= SHORTEST_S]
    nothing = (np.zeros(0), np.zeros(0), np.zeros(0), np.zeros((0, PARTS)), np.zeros(0))
    time, power, thud, parts, clipped = (np.concatenate(column) for column in zip(*(pieces or [nothing]), strict=True))
    return Sound(
        time_s=time, power=power, thud=thud, parts=parts, clipped=clipped > 0, low_hz=low_hz, top_hz=top_hz,
        spans=tuple((float(p[0][0]), float(p[0][-1])) for p in pieces),
    )  # fmt: skip


def cut_even(accel: Trace, first_s: float, last_s: float) -> tuple[np.ndarray, np.ndarray]:
    """Acceleration on an even grid of its own rate: times (k,), values (k, 3)."""
    near = slice(*np.searchsorted(accel.time_s, (first_s - 0.01, last_s + 0.01)))
    return resample_smoothly(
        accel.time_s[near], accel.values[near], rate_hz=accel.rate_hz, start_s=first_s, end_s=last_s
    )


def _hear(accel: Trace, span: tuple[float, float], band_hz: tuple[float, float]) -> tuple[np.ndarray, ...]:
    time, even = cut_even(accel, *span)
    edges = np.geomspace(*band_hz, PARTS + 1)
    bands = [THUD_HZ, *zip(edges[:-1], edges[1:], strict=True)]
    power = short_time_power(band_pass(even, accel.rate_hz, *band_hz, order=ORDER), accel.rate_hz)
    thud, *parts = (
        short_time_power(band_pass_onward(even, accel.rate_hz, *band, order=PART_ORDER), accel.rate_hz)
        for band in bands
    )
    centres = time[0] + np.arange(power.size) * HOP_S
    return centres, power, thud, np.stack(parts, axis=1), _clipped(accel, centres)


def _clipped(accel: Trace, centres: np.ndarray) -> np.ndarray:
    """Windows near a sample at a limit of the sensor: what is cut off rings on in the band-pass."""
    hit = np.zeros(centres.size)
    if accel.clipped is not None and centres.size:
        at = np.round((accel.time_s[accel.clipped] - centres[0]) / HOP_S).astype(int)
        hit[at[(at >= 0) & (at < hit.size)]] = 1
    return maximum_filter1d(hit, 2 * round(RINGS_S / HOP_S) + 1) if hit.any() else hit
