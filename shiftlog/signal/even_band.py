"""One band of a gappy, unevenly sampled signal on an even grid: whitened, and of even loudness."""

from dataclasses import dataclass

import numpy as np
from scipy import fft
from scipy.ndimage import uniform_filter1d

_QUIET_SHARE = 0.3
"""Stretches quieter than this share of the usual loudness are not lifted to it: there is mostly noise in them."""


@dataclass(frozen=True, eq=False, kw_only=True)
class EvenBand:
    """A band of a signal, ready to be correlated.

    start_s : time of the first sample in the signal's own time [s]; rate_hz : of the grid
    values : (n, k), zero where nothing was recorded, mean square of a row near 1 elsewhere
    valid : (n,) bool, whether something was recorded
    """

    start_s: float
    rate_hz: float
    values: np.ndarray
    valid: np.ndarray

    @property
    def duration_s(self) -> float:
        """Length of the grid [s]."""
        return self.values.shape[0] / self.rate_hz


def take_band(
    time_s: np.ndarray,
    values: np.ndarray,
    spans: tuple[tuple[float, float], ...],
    *,
    low_hz: float,
    high_hz: float,
    rate_hz: float,
    level_s: float,
    slope: bool = False,
) -> EvenBand:
    """The band low_hz … high_hz of (n, k) values at increasing times, on a grid of ``rate_hz``.

    spans : stretches that hold data; what lies between is set to zero. ``slope`` takes the time derivative. The sum
    of the channels' spectra is made flat within the band, and the loudness over ``level_s`` even, both alike in all
    channels, so that a rotation of three axes before is the same rotation after.
    """
    fold = _fold(time_s, rate_hz)
    own_hz = rate_hz * fold
    count = int((time_s[-1] - time_s[0]) * own_hz) + 1
    grid_s = time_s[0] + np.arange(count) / own_hz
    size = fft.next_fast_len(-(-(count + int(own_hz / low_hz)) // fold), real=True) * fold
    columns = [np.interp(grid_s, time_s, column - column.mean()) for column in values.T]
    kept = size // fold // 2 + 1
    spectra = np.stack([fft.rfft(column, size)[:kept] for column in columns], axis=1)
    spectra = _flat(spectra, size / own_hz, low_hz=low_hz, high_hz=high_hz) * (1j if slope else 1.0)
    even = fft.irfft(spectra, size // fold, axis=0)[: -(-count // fold)]
    valid = _inside(grid_s[::fold], spans)
    return EvenBand(
        start_s=float(time_s[0]), rate_hz=rate_hz, values=_level(even, valid, level_s * rate_hz), valid=valid
    )


def thin_out(time_s: np.ndarray, values: np.ndarray, *, rate_hz: float) -> tuple[np.ndarray, np.ndarray]:
    """(m,) times at ``rate_hz`` and (m, k) values with everything above 0.45 times that rate taken away first."""
    fold = _fold(time_s, rate_hz)
    grid_s = time_s[0] + np.arange(int((time_s[-1] - time_s[0]) * rate_hz * fold) + 1) / (rate_hz * fold)
    size = fft.next_fast_len(-(-grid_s.size // fold), real=True) * fold
    kept = size // fold // 2 + 1
    keep = 1 - _ramp(np.arange(kept) / kept, 0.8, 0.95)
    count = -(-grid_s.size // fold)
    thin = []
    for column in values.T:
        # From the middle, so that the ends of the log are no steps of gravity's size.
        spectrum = fft.rfft((np.interp(grid_s, time_s, column) - column.mean()).astype(np.float32), size)[:kept]
        thin.append(fft.irfft(spectrum * keep, size // fold)[:count] / fold + column.mean())
    return grid_s[::fold], np.stack(thin, axis=1)


def _fold(time_s: np.ndarray, rate_hz: float) -> int:
    """How many times ``rate_hz`` the signal's own usual rate is, rounded up."""
    return max(int(np.ceil(1 / np.median(np.diff(time_s)) / rate_hz - 1e-6)), 1)


def _flat(spectra: np.ndarray, length_s: float, *, low_hz: float, high_hz: float) -> np.ndarray:
    frequency = np.arange(spectra.shape[0]) / length_s
    power = np.sum(np.abs(spectra) ** 2, axis=1)
    width = max(int(0.5 * low_hz * length_s), 8)
    smooth = uniform_filter1d(power, width, mode="nearest")
    window = _ramp(frequency, 0.7 * low_hz, 1.3 * low_hz) * (1 - _ramp(frequency, 0.85 * high_hz, 1.15 * high_hz))
    floor = 1e-9 * float(np.max(smooth)) + np.finfo(float).tiny
    return spectra * (window / np.sqrt(smooth + floor))[:, None]


def _ramp(x: np.ndarray, low: float, high: float) -> np.ndarray:
    """0 below, 1 above, half a cosine between."""
    return 0.5 - 0.5 * np.cos(np.pi * np.clip((x - low) / (high - low), 0, 1))


def _inside(grid_s: np.ndarray, spans: tuple[tuple[float, float], ...]) -> np.ndarray:
    starts = np.array([a for a, _ in spans])
    ends = np.array([b for _, b in spans])
    at = np.searchsorted(starts, grid_s, side="right") - 1
    return (at >= 0) & (grid_s <= ends[np.maximum(at, 0)])


def _level(values: np.ndarray, valid: np.ndarray, width: float) -> np.ndarray:
    power = np.where(valid, np.sum(values**2, axis=1), 0.0)
    size = max(int(width), 3)
    share = uniform_filter1d(valid.astype(float), size, mode="constant")
    local = uniform_filter1d(power, size, mode="constant") / np.maximum(share, 1 / size)
    usual = float(np.median(local[valid])) if valid.any() else 0.0
    if usual <= 0:
        return np.zeros_like(values)
    even = values / np.sqrt(np.maximum(local, 0) + _QUIET_SHARE**2 * usual)[:, None]
    even[~valid] = 0.0
    return even
