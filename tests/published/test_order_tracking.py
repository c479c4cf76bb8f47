"""Order tracking against a plain general-purpose way: sample by angle, then a Fourier transform of each stretch.

No published numbers: the run-down is made here, its orders have known amplitudes, and the reference is written out
below from the resampling and FFT of general-purpose libraries alone.
"""

import numpy as np
import pytest
from scipy import signal
from scipy.signal import resample_poly

from shiftlog.measure.clash import tooth_hz
from shiftlog.signal.order_track import draw_order_spectrum

RATE_HZ = 5000.0
ORDERS = {1.0: 0.8, 17.0: 1.5, 19.0: 0.6}


def _run_down() -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Ten seconds from 3,600 to 1,200 rpm; the 17th order grows by half on the way."""
    time_s = np.arange(0, 10, 1 / RATE_HZ)
    turns_hz = 60 - 4 * time_s
    angle = 60 * time_s - 2 * time_s**2
    swell = {17.0: 1 + 0.05 * time_s}
    values = sum(a * swell.get(o, 1.0) * np.sin(2 * np.pi * o * angle + o) for o, a in ORDERS.items())
    return time_s, values + 0.1 * np.random.default_rng(5).normal(size=time_s.size), turns_hz


def _plain(time_s, values, turns_hz, order: float, turns: int = 16) -> tuple[np.ndarray, np.ndarray]:
    """Middles [s] and amplitudes by stretches of so many turns, 64 samples a turn."""
    angle = np.concatenate([[0.0], np.cumsum((turns_hz[1:] + turns_hz[:-1]) / 2 / RATE_HZ)])
    even = np.arange(0, angle[-1] - turns, 1 / 64)
    at_s = np.interp(even, angle, time_s)
    finer = resample_poly(values, 8, 1)
    sampled = np.interp(at_s, np.arange(finer.size) / (8 * RATE_HZ), finer)
    size = 64 * turns
    pieces = sampled[: even.size // size * size].reshape(-1, size)
    found = 2 * np.abs(np.fft.rfft(pieces, axis=1)[:, round(order * turns)]) / size
    return at_s[: even.size // size * size].reshape(-1, size).mean(axis=1), found


def _peak(order: float) -> float:
    orders, height = draw_order_spectrum(*_run_down(), top_order=25.0)
    return float(height[np.abs(orders - order) < 0.2].max())


@pytest.mark.parametrize("order", list(ORDERS))
def test_the_amplitude_is_that_of_the_plain_way(order: float) -> None:
    """Root of the mean power over stretches of equally many turns; 3 %, what noise and the ends do."""
    _, plain = _plain(*_run_down(), order)
    assert _peak(order) == pytest.approx(np.sqrt(np.mean(plain**2)), rel=0.03)


def test_orders_and_amplitudes_are_those_that_were_made() -> None:
    """Closed form; 2 % for what the swell and the noise do."""
    time_s, values, turns_hz = _run_down()
    orders, height = draw_order_spectrum(time_s, values, turns_hz, top_order=25.0)
    for order, amplitude in ORDERS.items():
        near = np.abs(orders - order) < 0.2
        mean = amplitude * (1.25 if order == 17.0 else 1.0)
        assert orders[near][np.argmax(height[near])] == pytest.approx(order, abs=0.05)
        assert height[near].max() == pytest.approx(mean, rel=0.06)


def test_an_order_is_the_teeth_of_the_mesh() -> None:
    """1,500 rpm and 24 teeth are 600 Hz (axiscalc.com, gear mesh frequency calculator; exact), the 24th order."""
    time_s = np.arange(0, 4, 1 / RATE_HZ)
    values = np.sin(2 * np.pi * tooth_hz(24, 1500.0) * time_s)
    orders, height = draw_order_spectrum(time_s, values, np.full(time_s.size, 25.0), top_order=30.0)
    assert orders[np.argmax(height)] == pytest.approx(24.0, abs=0.03)


@pytest.mark.parametrize("order", [17.0, 19.0])
def test_the_amplitude_is_that_of_a_short_time_spectrum(order: float) -> None:
    """scipy.signal.ShortTimeFFT along the order's own frequency, Hann window of 0.4 s.

    8 %: within a window the order falls by some 30 Hz, which spreads its line over six bins, added as power.
    """
    time_s, values, turns_hz = _run_down()
    window = signal.windows.hann(round(0.4 * RATE_HZ))
    short = signal.ShortTimeFFT(window, 200, RATE_HZ, scale_to="psd", fft_mode="onesided2X")
    power, at_s = short.spectrogram(values), short.t(values.size)
    inner = (at_s > 1.0) & (at_s < 9.0)
    centre = order * np.interp(at_s, time_s, turns_hz)
    # Half way to the neighbouring order.
    near = np.abs(short.f[:, None] - centre) < np.interp(at_s, time_s, turns_hz)
    heard = np.sqrt(2 * np.sum(power * near, axis=0) * short.delta_f)
    turns = np.interp(at_s[inner], time_s, turns_hz)
    assert _peak(order) == pytest.approx(np.sqrt(np.average(heard[inner] ** 2, weights=turns)), rel=0.08)
