"""A return that dry friction brakes: against closed forms, against a step-by-step solution, and fitted back."""

import numpy as np
import pytest

from shiftlog.signal.braked_return import braked_return, fit_braked_return
from shiftlog.signal.free_motion import fit_free_return, step_decay
from tests.guided.made_lever import PATH_HZ, Spring


def test_without_friction_it_is_the_second_order_step():
    """Overshoot exp(−πζ/√(1−ζ²)) of tables of the second-order step: 37.2326 % at ζ = 0.3, 16.3034 % at 0.5."""
    t = np.arange(0, 3, 1e-4)
    for damping, overshoot in ((0.3, 37.2326), (0.5, 16.3034)):
        way = braked_return(t, 1.0, 0.0, frequency_hz=2.0, damping=damping, band_mm=0.0)
        assert way == pytest.approx(step_decay(t, 2.0, damping), abs=1e-9)
        assert -100 * way.min() == pytest.approx(overshoot, abs=2e-4)


def test_without_damping_each_half_swing_loses_two_bands():
    """Coulomb friction alone: turning points fall by 2 d a half swing, and the last stays within the band."""
    t = np.arange(0, 4, 1e-3)
    way = braked_return(t, 10.0, 0.0, frequency_hz=2.0, damping=0.0, band_mm=1.5)
    turns = [way[int(k * 250)] for k in range(5)]
    assert turns == pytest.approx([10.0, -7.0, 4.0, -1.0, -1.0], abs=1e-6)


@pytest.mark.parametrize(("damping", "band"), [(0.15, 1.0), (0.4, 2.0), (1.2, 1.0)])
def test_it_is_what_stepping_through_time_gives(damping, band):
    spring = Spring(centre_mm=1.0, frequency_hz=4.0, damping=damping, friction_mm=band)
    stepped = spring.run(25.0, -100, 100)
    t = np.arange(stepped.size) / PATH_HZ
    way = braked_return(t, 25.0, 1.0, frequency_hz=4.0, damping=damping, band_mm=band)
    assert way == pytest.approx(stepped, abs=0.25)


@pytest.mark.parametrize("damping", [0.1, 0.3, 0.6])
@pytest.mark.parametrize("frequency", [2.0, 5.0, 8.0])
def test_frequency_and_damping_come_back_through_friction(frequency, damping):
    """Asked: 5 % and 0.05. Without the band, friction passes for damping."""
    rng = np.random.default_rng(4)
    t = np.arange(0, 1.6, 1 / 200)
    way = braked_return(t - 0.05, 24.0, 0.5, frequency_hz=frequency, damping=damping, band_mm=1.2)
    values = np.where(t < 0.05, 24.0, way) + rng.normal(0, 0.08, t.size)
    found = fit_braked_return(t, values, fit_free_return(t, values))
    assert found.frequency_hz == pytest.approx(frequency, rel=0.05)
    assert found.damping == pytest.approx(damping, abs=0.05)
