"""Engine orders as vibration shows them and as engine speed says: the two pictures are alike where they belong."""

import numpy as np

from shiftlog.signal.order_image import BIN_HZ, draw_orders, draw_vibration

RATE_HZ = 800.0
TIME = np.arange(0, 60, 1 / RATE_HZ)
TURNS_HZ = 30 + 15 * np.sin(2 * np.pi * TIME / 17)


def test_a_firing_order_stands_above_its_neighbours_where_engine_speed_says() -> None:
    angle = 2 * np.pi * np.cumsum(TURNS_HZ) / RATE_HZ
    accel = np.outer(np.sin(2 * angle), [1.0, 0.5, 0.2]) + np.random.default_rng(0).normal(0, 0.3, (TIME.size, 3))
    at_s, heard = draw_vibration(TIME, accel, rate_hz=RATE_HZ)
    loudest = BIN_HZ * (1 + np.argmax(heard, axis=1))
    true = 2 * np.interp(at_s, TIME, TURNS_HZ)
    # A bin either way, and half of what the order moves within a frame.
    assert np.median(np.abs(loudest - true)) < BIN_HZ
    assert np.mean(np.abs(loudest - true) < 2 * BIN_HZ) > 0.95


def test_engine_speed_draws_its_orders_in_the_same_bins() -> None:
    at_s, drawn = draw_orders(TIME[::80], 60 * TURNS_HZ[::80])
    bins = np.arange(1, drawn.shape[1] + 1) * BIN_HZ
    turns = np.interp(at_s, TIME, TURNS_HZ)
    on = np.array([np.interp(2 * n, bins, row) for n, row in zip(turns, drawn, strict=True)])
    between = np.array([np.interp(2.25 * n, bins, row) for n, row in zip(turns, drawn, strict=True)])
    # Below 20 turns a second half orders lie closer together than frames of a quarter of a second tell apart.
    assert np.all((on > between)[turns > 20])


def test_what_a_slow_recorder_cannot_hear_is_zero() -> None:
    _, heard = draw_vibration(TIME[::4], np.random.default_rng(0).normal(0, 1, (TIME.size // 4, 3)), rate_hz=200.0)
    assert not heard[:, int(80 / BIN_HZ) :].any()
