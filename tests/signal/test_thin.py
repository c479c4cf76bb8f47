"""Thinning keeps every extreme, every sample when there are few, and never bridges a gap."""

import numpy as np
import pytest

from shiftlog.signal.thin import thin_extremes, thin_path, thin_spans


@pytest.fixture
def noisy() -> tuple[np.ndarray, np.ndarray]:
    rng = np.random.default_rng(7)
    time_s = np.arange(200_000) / 1600.0
    values = np.sin(time_s) + 0.1 * rng.standard_normal(time_s.size)
    values[123_456] = 40.0
    values[77_777] = -30.0
    return time_s, values


def test_extremes_of_the_window_are_kept(noisy):
    time_s, values = noisy
    for start_s, end_s in ((0.0, 125.0), (40.0, 60.0), (70.0, 80.0)):
        inside = values[(time_s >= start_s) & (time_s <= end_s)]
        _, thin = thin_extremes(time_s, values, start_s=start_s, end_s=end_s, points=500)
        assert thin.size <= 504
        assert thin.max() >= inside.max() and thin.min() <= inside.min()
        assert set(thin) <= set(values)


def test_every_stretch_keeps_its_own_extremes(noisy):
    time_s, values = noisy
    times, thin = thin_extremes(time_s, values, start_s=0.0, end_s=125.0, points=400)
    starts = np.searchsorted(time_s, times[::2])
    for low_high, first, stop in zip(thin.reshape(-1, 2), starts[:-1], starts[1:], strict=False):
        assert low_high.min() == values[first:stop].min()
        assert low_high.max() == values[first:stop].max()


def test_times_increase_and_lie_in_the_window(noisy):
    time_s, values = noisy
    times, _ = thin_extremes(time_s, values, start_s=10.0, end_s=20.0, points=300)
    assert np.all(np.diff(times) > 0)
    assert times[0] >= 10.0 - 2 / 1600 and times[-1] <= 20.0 + 2 / 1600


def test_few_samples_come_back_as_they_are(noisy):
    time_s, values = noisy
    times, thin = thin_extremes(time_s, values, start_s=1.0, end_s=1.1, points=500)
    inside = (time_s >= 1.0 - 1 / 1600 - 1e-9) & (time_s <= 1.1 + 1 / 1600 + 1e-9)
    np.testing.assert_array_equal(times, time_s[inside])
    np.testing.assert_array_equal(thin, values[inside])


def test_a_ramp_stays_a_ramp():
    time_s = np.arange(10_000) / 100.0
    for values in (time_s, -time_s):
        _, thin = thin_extremes(time_s, values, start_s=0.0, end_s=100.0, points=200)
        assert np.all(np.diff(thin) * np.sign(values[-1]) > 0)


def test_a_gap_breaks_the_line():
    time_s = np.concatenate([np.arange(1000) / 100.0, 20 + np.arange(1000) / 100.0])
    values = np.ones(2000)
    spans = ((0.0, 9.99), (20.0, 29.99))
    times, thin = thin_spans(time_s, values, spans=spans, start_s=0.0, end_s=30.0, points=100)
    assert np.count_nonzero(np.isnan(thin)) == 1
    assert not np.any((times > 10.0) & (times < 20.0))


def test_a_window_in_the_gap_or_outside_is_empty():
    time_s, values = np.arange(100) / 10.0, np.ones(100)
    times, thin = thin_spans(time_s, values, spans=((0.0, 9.9),), start_s=50.0, end_s=60.0, points=100)
    assert times.size == thin.size == 0


def test_all_of_a_flat_window_is_one_value():
    time_s = np.arange(5000) / 100.0
    _, thin = thin_extremes(time_s, np.full(5000, 3.0), start_s=0.0, end_s=50.0, points=64)
    assert np.all(thin == 3.0)


def test_a_path_gone_twice_is_drawn_once():
    there = np.stack([np.linspace(0.0, 50.0, 501), np.zeros(501)], axis=1)
    again = np.concatenate([there, there[::-1], there])
    path = thin_path(again, cell=1.0)
    strokes = path[~np.isnan(path[:, 0])]
    assert strokes.shape[0] < 0.5 * again.shape[0]
    assert strokes[:, 0].min() <= 1.0 and strokes[:, 0].max() >= 49.0


def test_a_path_jumps_nowhere():
    angle = np.linspace(0.0, 12 * np.pi, 20_000)
    points = 20.0 * np.stack([np.cos(angle), np.sin(angle)], axis=1)
    path = thin_path(points, cell=0.5)
    steps = np.hypot(*np.diff(path, axis=0).T)
    assert np.nanmax(steps) < 1.5
    np.testing.assert_allclose(np.hypot(*path.T)[~np.isnan(path[:, 0])], 20.0)


def test_a_still_lever_is_a_point():
    assert thin_path(np.zeros((100, 2)), cell=0.5).shape == (1, 2)
