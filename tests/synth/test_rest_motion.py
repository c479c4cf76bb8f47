"""The lever that is let go, against the second-order step."""

import numpy as np
import pytest

from shiftlog.synth.path import PATH_RATE_HZ
from shiftlog.synth.rest_motion import Spring, run_home

STEP_TABLE = (
    (0.1, 72.925, 3.1574),
    (0.2, 52.662, 3.2064),
    (0.3, 37.233, 3.2933),
    (0.4, 25.383, 3.4278),
    (0.5, 16.303, 3.6276),
    (0.7, 4.599, 4.3991),
)
"""ζ, overshoot [%], ωn · time of the peak: the second-order step, closed form Mp = exp(−πζ/√(1−ζ²)), tp = π/ωd,
recomputed to the figures of the published table."""


@pytest.mark.parametrize(("damping", "overshoot", "peak"), STEP_TABLE)
def test_release_without_friction_is_the_second_order_step(damping, overshoot, peak):
    """Tolerances: 0.7 % of the step in overshoot and two grid steps in time, the error of the Euler step at 3 Hz."""
    spring = Spring(frequency_hz=3.0, damping=damping, friction_mm=0.0)
    course = run_home(spring, -25.0) / 25.0
    top = int(np.argmax(course))
    assert 100 * (course[top] - 1) == pytest.approx(overshoot, abs=0.7)
    assert top / PATH_RATE_HZ * 2 * np.pi * 3.0 == pytest.approx(peak, abs=2 * 2 * np.pi * 3.0 / PATH_RATE_HZ)


def test_friction_holds_a_lever_inside_its_band_and_stops_one_outside_within_it():
    held = run_home(Spring(friction_mm=30.0), 25.0)
    assert held.tolist() == [0.0]
    spring = Spring(centre_mm=1.0, damping=0.3, friction_mm=4.0)
    rest = 25.0 + run_home(spring, 25.0)[-1]
    assert abs(rest - spring.centre_mm) <= 4.0


def test_coulomb_friction_takes_two_bands_from_each_half_swing():
    """With no viscous damping each half swing loses 2 d (closed form); d = 2 mm from 25 mm: 21 mm on the far side."""
    course = 25.0 + run_home(Spring(frequency_hz=3.0, damping=0.0, friction_mm=2.0), 25.0)
    assert course.min() == pytest.approx(-21.0, abs=0.15)


def test_end_wall_stops_the_swing():
    course = 25.0 + run_home(Spring(damping=0.05, friction_mm=0.5), 25.0, walls_mm=(-10.0, 27.0))
    assert course.min() == -10.0
