"""Tones that turn with a shaft: their amplitude by orders of its speed."""

import numpy as np
from scipy import signal

TURNS = 24
"""Turns in a window: tells two orders apart that differ by twice its inverse (Hann)."""


def draw_order_spectrum(
    time_s: np.ndarray, values: np.ndarray, turns_hz: np.ndarray, *, top_order: float
) -> tuple[np.ndarray, np.ndarray]:
    """(f,) orders and (f,) root of the mean power in windows of ``TURNS`` turns, amplitude of a sine in its unit.

    values : (n,) or (n, k), whose columns are added as power. Sampled by the shaft's angle (cubic), so that a speed
    that changes smears no order. Empty where the shaft turns less than one window.
    """
    columns = values[:, None] if values.ndim == 1 else values
    angle = _integrate(time_s, turns_hz)
    per_turn = 2 ** int(np.ceil(np.log2(2.5 * top_order)))
    even = np.arange(angle[0], angle[-1], 1 / per_turn)
    size = TURNS * per_turn
    if even.size < size:
        return np.zeros(0), np.zeros(0)
    at_s = np.interp(even, angle, time_s)
    power = 0.0
    for column in columns.T:
        sampled = np.interp(at_s, *_finer(time_s, column))
        _, found = signal.welch(sampled, per_turn, "hann", size, scaling="spectrum")
        power = power + 2 * found
    orders = np.fft.rfftfreq(size, 1 / per_turn)
    kept = orders <= top_order
    return orders[kept], np.sqrt(power[kept])


def _finer(time_s: np.ndarray, column: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Four times as many samples, so that a straight line between them loses nothing that counts."""
    finer = signal.resample_poly(column, 4, 1)
    return time_s[0] + np.arange(finer.size) * float(np.median(np.diff(time_s))) / 4, finer


def _integrate(time_s: np.ndarray, turns_hz: np.ndarray) -> np.ndarray:
    """Turns since the first sample (trapezium)."""
    steps = (turns_hz[1:] + turns_hz[:-1]) / 2 * np.diff(time_s)
    return np.concatenate([[0.0], np.cumsum(steps)])
