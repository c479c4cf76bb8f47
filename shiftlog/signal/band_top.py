"""Up to where a spectrum holds anything but the rounding of its numbers."""

import numpy as np

_WINDOW = 512
_MOST_WINDOWS = 400
_LEAST_WINDOWS = 4
_BANDS = 32
_ABOVE_ROUNDING = 2.0
"""Density over that of rounding from which a band holds something: half of it is then signal."""

_CLEAR_FALL = 100.0
"""The spectrum must stand 20 dB over the rounding somewhere, else its fall cannot be seen at all."""

_DEEP = 1e-6
"""60 dB under the mean density: no road falls so far and no analogue sensor is so quiet; a digital filter cut it."""


def find_band_top(values: np.ndarray, *, rate_hz: float, resolution: float | None) -> float | None:
    """Frequency above which a signal holds nothing but rounding [Hz]; None where it holds something up to the end.

    values : (n,) evenly sampled, NaN where missing; resolution : the smallest step between values, same unit, or None
    None as well where there is too little to tell. Rounding to a step q has the density q²/(6 · rate).
    """
    density = _mean_density(values, rate_hz)
    if density is None:
        return None
    bands = np.array([np.mean(part) for part in np.array_split(density[1:], _BANDS)])
    rounding = (resolution or 0.0) ** 2 / (6 * rate_hz)
    if bands.max() <= _CLEAR_FALL * rounding:
        return None
    holds = (bands > _ABOVE_ROUNDING * rounding) & (bands > _DEEP * bands.mean())
    last = int(np.flatnonzero(holds)[-1])
    return None if last == _BANDS - 1 else (last + 1) / _BANDS * rate_hz / 2


def _mean_density(values: np.ndarray, rate_hz: float) -> np.ndarray | None:
    """One-sided mean power density over whole windows spread over the signal, (_WINDOW/2 + 1,) [unit²/Hz]."""
    starts = np.arange(0, values.size - _WINDOW + 1, _WINDOW)
    starts = starts[:: max(1, starts.size // _MOST_WINDOWS)]
    windows = values[starts[:, None] + np.arange(_WINDOW)] if starts.size else np.empty((0, _WINDOW))
    windows = windows[np.all(np.isfinite(windows), axis=1)]
    if len(windows) < _LEAST_WINDOWS:
        return None
    # Blackman's side lobes lie 58 dB down and fall on: gravity and bends do not leak over a deep fall.
    taper = np.blackman(_WINDOW)
    windows = windows - windows.mean(axis=1, keepdims=True)
    power = np.mean(np.abs(np.fft.rfft(windows * taper, axis=1)) ** 2, axis=0)
    return 2 * power / (rate_hz * np.sum(taper**2))
