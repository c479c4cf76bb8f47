"""Tones that turn with a shaft: their amplitude over time, at orders of its speed."""

import numpy as np
from scipy import signal

TURNS = 24
"""Turns in a window: tells two orders apart that differ by twice its inverse (Hann)."""


def track_order(
    time_s: np.ndarray, values: np.ndarray, turns_hz: np.ndarray, order: float, *, width_hz: float
) -> np.ndarray:
    """Amplitude of one order at each instant, (n,) in the unit of ``values``.

    time_s (n,) even [s]; values (n,); turns_hz (n,) : the shaft's speed [1/s]. The order is shifted to nothing by its
    own phase, which the integral of the speed gives, and what lies within ``width_hz`` of it is kept (Butterworth of
    order 2, forward and back). Beyond the ends of the log nothing is known: the first and last 1/width_hz count less.
    """
    rate_hz = 1 / float(np.median(np.diff(time_s)))
    phase = 2 * np.pi * order * _integrate(time_s, turns_hz)
    still = values * np.exp(-1j * phase)
    sos = signal.butter(2, width_hz, fs=rate_hz, output="sos")
    slow = signal.sosfiltfilt(sos, still.real) + 1j * signal.sosfiltfilt(sos, still.imag)
    return 2 * np.abs(slow)


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
