"""Bands on an even grid: what stays, what goes, and that a rotation before is a rotation after."""

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from shiftlog.signal.even_band import take_band, thin_out

RATE_HZ = 100.0
TIME = np.arange(6000) / RATE_HZ
NOISE = np.random.default_rng(3).normal(0, 1, (TIME.size, 3))
WHOLE = ((0.0, float(TIME[-1])),)
BAND = {"low_hz": 0.5, "high_hz": 10.0, "rate_hz": 25.0, "level_s": 3.0}


def test_gravity_and_what_lies_outside_the_band_are_gone() -> None:
    band = take_band(TIME, NOISE + [0, 0, 500.0], WHOLE, **BAND)
    plain = take_band(TIME, NOISE, WHOLE, **BAND)
    np.testing.assert_allclose(band.values, plain.values, atol=1e-6)
    power = np.abs(np.fft.rfft(band.values[:, 0])) ** 2
    frequency = np.fft.rfftfreq(band.values.shape[0], 1 / 25.0)
    assert power[frequency < 0.2].sum() < 0.01 * power.sum()
    assert power[frequency > 11.8].sum() < 0.01 * power.sum()


def test_a_turned_sensor_gives_the_turned_band() -> None:
    turn = Rotation.from_euler("zyx", [30, 50, -100], degrees=True).as_matrix()
    still, turned = (take_band(TIME, v, WHOLE, **BAND).values for v in (NOISE, NOISE @ turn))
    np.testing.assert_allclose(turned, still @ turn, atol=1e-9)


def test_loud_stretches_are_made_as_loud_as_the_rest() -> None:
    loud = NOISE * np.where((TIME > 20) & (TIME < 40), 30.0, 1.0)[:, None]
    values = take_band(TIME, loud, WHOLE, **BAND).values
    at_s = np.arange(values.shape[0]) / 25.0
    inside, outside = (np.mean(values[m] ** 2) for m in ((at_s > 22) & (at_s < 38), (at_s > 44) & (at_s < 58)))
    # The quiet stretches are not lifted quite as far.
    assert 0.5 < outside / inside < 1.1


def test_gaps_are_zero_and_not_valid() -> None:
    keep = (TIME < 20) | (TIME > 25)
    band = take_band(TIME[keep], NOISE[keep], ((0.0, 19.99), (25.01, 59.99)), **BAND)
    at_s = np.arange(band.valid.size) / 25.0
    gap = (at_s >= 20) & (at_s <= 25)
    assert not band.valid[gap].any() and not band.values[gap].any()
    assert band.valid[~gap].all()


def test_thinning_folds_nothing_down() -> None:
    low, high = np.sin(2 * np.pi * 3 * TIME), np.sin(2 * np.pi * 37 * TIME)
    time, values = thin_out(TIME, (low + high + 9.81)[:, None], rate_hz=20.0)
    inner = slice(40, -40)
    # 37 Hz would come back as 3 Hz at 20 samples a second. Single precision and the ends leave a per cent.
    np.testing.assert_allclose(values[inner, 0], np.sin(2 * np.pi * 3 * time[inner]) + 9.81, atol=0.02)
    assert np.diff(time) == pytest.approx(0.05)
