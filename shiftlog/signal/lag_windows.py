"""Two signals laid beside each other window by window: how far each window lies off the line."""

from dataclasses import dataclass, replace

import numpy as np
from scipy import fft
from scipy.ndimage import uniform_filter1d

from shiftlog.signal.even_band import EvenBand

_HELD_SHARE = 0.6
"""A window counts where both signals hold data over this share of it."""

_LEAST_COHERENCE = 1e-3
"""Even where nothing is coherent something must be weighed."""

_FINER = 4
"""Lags are read on a grid so much finer than the samples; a parabola does the rest."""


@dataclass(frozen=True, eq=False, kw_only=True)
class WindowSpectra:
    """Spectra of common windows; the second signal's are already shifted by the line.

    at_s : (w,) middle of each window in the first signal's time, from its first sample [s]
    first : (w, f, ka), second : (w, f, kb) complex; rate_hz : of the samples; size : of the transforms
    """

    at_s: np.ndarray
    first: np.ndarray
    second: np.ndarray
    rate_hz: float
    size: int


def cut_windows(
    first: EvenBand, second: EvenBand, *, lag_s: float, drift: float, length_s: float, reach_s: float
) -> WindowSpectra:
    """Windows of ``length_s`` of the first signal, and what the line v = u (1 + drift) + lag_s lays beside them,
    wider by ``reach_s`` on either side."""
    rate = first.rate_hz
    length, reach = int(length_s * rate), int(reach_s * rate)
    starts = np.arange(0, first.values.shape[0] - length + 1, length)
    middles = (starts + length / 2) / rate
    exact = (middles * (1 + drift) + lag_s) * rate - length / 2
    begins = np.round(exact).astype(int)
    rows_a, rows_b = starts[:, None] + np.arange(length), begins[:, None] + np.arange(-reach, length + reach)
    held_b, inside = _rows(second.valid[:, None], rows_b[:, reach : reach + length])
    held = np.minimum(first.valid[rows_a].mean(axis=1), (held_b[..., 0] * inside).mean(axis=1)) >= _HELD_SHARE
    size = fft.next_fast_len(length + 2 * reach, real=True)
    part_b, inside_b = _rows(second.values, rows_b[held])
    spectra_a = fft.rfft(first.values[rows_a[held]], size, axis=1)
    spectra_b = fft.rfft(part_b * inside_b[..., None], size, axis=1)
    ahead = reach - (begins - exact)[held]
    turn = np.exp(2j * np.pi * fft.rfftfreq(size) * ahead[:, None])
    return WindowSpectra(
        at_s=middles[held], first=spectra_a, second=spectra_b * turn[..., None], rate_hz=rate, size=size
    )


def _rows(values: np.ndarray, rows: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    inside = (rows >= 0) & (rows < values.shape[0])
    return values[np.clip(rows, 0, values.shape[0] - 1)], inside


def choose_windows(windows: WindowSpectra, which: slice | np.ndarray) -> WindowSpectra:
    """Some of the windows."""
    return replace(windows, at_s=windows.at_s[which], first=windows.first[which], second=windows.second[which])


def pair_axes(cross: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Directions of either signal that belong together, (ka, p) and (kb, p), strongest first, by the SVD."""
    left, _, right = np.linalg.svd(cross, full_matrices=False)
    return left, right.T


def pair_spectra(
    windows: WindowSpectra, left: np.ndarray | None, right: np.ndarray | None, *, together: bool
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """(w, f, p) cross-spectra of the directions that belong together, and the power of either; without directions
    channel belongs to channel. ``together`` adds the pairs up: p is 1."""
    a = windows.first if left is None else windows.first @ left
    b = windows.second if right is None else windows.second @ right
    all_three = a.conj() * b, np.abs(a) ** 2, np.abs(b) ** 2
    if not together:
        return all_three
    cross, power_a, power_b = (part.sum(axis=2, keepdims=True) for part in all_three)
    return cross, power_a, power_b


def turn_back(cross: np.ndarray, windows: WindowSpectra, off_s: np.ndarray) -> np.ndarray:
    """Cross-spectra (w, f, …) with each window moved by (w,) lags [s], so that those lags become zero."""
    frequency = fft.rfftfreq(windows.size, 1 / windows.rate_hz)
    turn = np.exp(2j * np.pi * frequency * off_s[:, None])
    return cross * turn.reshape(turn.shape + (1,) * (cross.ndim - 2))


def likelihood_weights(cross: np.ndarray, power_a: np.ndarray, power_b: np.ndarray) -> np.ndarray:
    """(f, p) weights of the maximum-likelihood delay: |γ|² / (1 − |γ|²) / |S| (Knapp and Carter, IEEE Trans. ASSP 24,
    1976), from windows (w, f, p) that are aligned; |γ|² less what chance alone would give."""
    width = max(cross.shape[1] // 40, 3)
    mean = uniform_filter1d(cross.mean(axis=0), width, axis=0)
    both = uniform_filter1d(power_a.mean(axis=0), width, axis=0) * uniform_filter1d(power_b.mean(axis=0), width, axis=0)
    chance = 1 / (cross.shape[0] * width)
    share = np.abs(mean) ** 2 / np.maximum(both, np.finfo(float).tiny)
    share = np.clip((share - chance) / (1 - min(chance, 0.5)), _LEAST_COHERENCE, 0.98)
    return share / (1 - share) / np.maximum(np.sqrt(both), np.finfo(float).tiny)


def window_correlations(
    windows: WindowSpectra, cross: np.ndarray, weights: np.ndarray, *, reach_s: float
) -> tuple[np.ndarray, np.ndarray]:
    """(m,) lags off the line [s] and (w, m) weighted correlations of each window there."""
    size = windows.size * _FINER
    whole = fft.irfft(np.sum(cross * weights, axis=2), size, axis=1)
    half = int(reach_s * windows.rate_hz * _FINER)
    lags = np.arange(-half, half + 1)
    return lags / (windows.rate_hz * _FINER), whole[:, lags]
