"""The true knock against closed forms."""

import numpy as np
import pytest

from shiftlog.synth.blow import Blow, Mode, draw_blow, heard_by, true_knock


def _single(frequency_hz: float, size: float, decay_s: float) -> Blow:
    mode = Mode(frequency_hz=frequency_hz, decay_s=decay_s, size=np.array([0.0, size, 0.0]))
    return Blow(at_s=1.0, modes=(mode,), second_s=0.02, second_share=0.0)


def test_energy_of_a_ringing_mode_within_the_band_is_its_own():
    """∫ (A e^(−t/τ) sin ωt)² dt ≈ A²/2 · (τ/2 − 5/8 · 1.5 ms) for ωτ ≫ 1: a raised-cosine onset keeps 3/8 of the energy
    of its 1.5 ms. 2 %: the decay within the onset, and the band's edges."""
    blow = _single(300.0, 10.0, 0.03)
    _, energy = true_knock(blow, 1.0, rate_hz=1600.0)
    assert energy == pytest.approx(10.0**2 / 2 * (0.03 / 2 - 5 / 8 * 0.0015), rel=0.02)


def test_peak_of_a_slow_decay_is_near_its_size_and_grows_in_proportion():
    peak, _ = true_knock(_single(200.0, 10.0, 0.1), 1.0, rate_hz=1600.0)
    twice, _ = true_knock(_single(200.0, 20.0, 0.1), 1.0, rate_hz=1600.0)
    assert 9.3 < peak < 10.0
    assert twice == pytest.approx(2 * peak)


def test_tone_above_the_recorders_band_is_not_part_of_its_knock():
    """A recorder of 400 Hz is asked up to 160 Hz: a mode at 450 Hz lies 1.5 octaves above, N = 4 both ways."""
    low, _ = true_knock(_single(450.0, 10.0, 0.05), 1.0, rate_hz=400.0)
    assert low < 0.5


def test_what_the_recorder_hears_is_the_blow_where_it_is_in_band():
    blow = draw_blow(2.0, 10.0, np.random.default_rng(3))
    time_s = np.arange(0, 4, 1 / 3200.0)
    where, added = heard_by(blow, time_s, rate_hz=3200.0)
    true = blow.at(time_s[where])
    assert np.abs(added - true).max() < 0.03 * np.abs(true).max()
