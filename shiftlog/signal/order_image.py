"""Pictures of an engine's orders over time: as vibration shows them, and as engine speed says they should lie."""

import numpy as np
from scipy import fft
from scipy.ndimage import uniform_filter1d

BIN_HZ = 5.0
TOP_HZ = 300.0
FRAME_S, HOP_S = 0.25, 0.1
"""A quarter of a second tells 4 Hz apart; an engine that revs freely moves by about as much meanwhile."""

_ORDERS = np.arange(0.5, 6.5, 0.5)
"""Firing orders of three to twelve cylinders, the crank's own, and half orders of uneven firing."""

_WIDTH_HZ = 5.0
_AROUND_BINS = 15
_BATCH = 4096


def draw_vibration(time_s: np.ndarray, accel: np.ndarray, *, rate_hz: float) -> tuple[np.ndarray, np.ndarray]:
    """(m,) middles of frames [s] and (m, f) how far each bin of ``BIN_HZ`` stands above its neighbours [log power].

    time_s (n,), accel (n, k); bins above 0.4 times the rate are zero.
    """
    length = int(round(FRAME_S * rate_hz))
    grid_s = np.arange(time_s[0], time_s[-1], 1 / rate_hz)
    starts = np.arange(0, grid_s.size - length, HOP_S * rate_hz).astype(int)
    bins = np.arange(BIN_HZ, TOP_HZ, BIN_HZ)
    heard = bins < 0.4 * rate_hz
    picture = np.zeros((starts.size, bins.size))
    columns = [np.interp(grid_s, time_s, column - column.mean()) for column in accel.T]
    for begin in range(0, starts.size, _BATCH):
        rows = starts[begin : begin + _BATCH, None] + np.arange(length)
        power = sum(np.abs(fft.rfft(column[rows] * np.hanning(length), axis=1)) ** 2 for column in columns)
        level = np.log(power + 1e-12)
        at = np.clip(np.round(bins[heard] * length / rate_hz).astype(int), 0, level.shape[1] - 1)
        picture[begin : begin + _BATCH, heard] = level[:, at]
    picture[:, heard] -= uniform_filter1d(picture[:, heard], _AROUND_BINS, axis=1, mode="nearest")
    return grid_s[starts] + length / (2 * rate_hz), picture


def draw_orders(time_s: np.ndarray, engine_rpm: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """(m,) instants [s] and (m, f) picture in the same bins of where the orders lie, from engine speed (n,) [rpm]."""
    at_s = np.arange(time_s[0], time_s[-1], HOP_S)
    turns_hz = np.interp(at_s, time_s, engine_rpm) / 60
    bins = np.arange(BIN_HZ, TOP_HZ, BIN_HZ)
    picture = np.zeros((at_s.size, bins.size))
    for order in _ORDERS:
        picture += np.exp(-0.5 * ((bins - order * turns_hz[:, None]) / _WIDTH_HZ) ** 2)
    return at_s, picture
