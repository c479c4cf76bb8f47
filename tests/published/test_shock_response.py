"""Shock response spectrum of a half sine: closed form, and figures that two public packages agree on."""

import numpy as np
import pytest

from shiftlog.signal.shock_response import ramp_invariant, shock_response

RATE_HZ, LASTS_S = 20000.0, 0.011
HALF_SINE = np.sin(np.pi * np.arange(0, LASTS_S, 1 / RATE_HZ) / LASTS_S)
FT = np.array([0.25, 0.5, 0.8097, 1.0, 1.5, 2.0, 3.0, 5.0])


def test_without_damping_it_is_the_closed_form():
    """π/2 at f T = 0.5, √3 at 1, 1.768458 at 0.80993 (exact); sampling at 20 kHz costs less than 0.05 %."""
    exact = [0.94281, np.pi / 2, 1.76846, np.sqrt(3), 1.5, 1.26808, 1.16991, 1.0998]
    found = shock_response(HALF_SINE, RATE_HZ, FT / LASTS_S, quality=np.inf)
    np.testing.assert_allclose(found, exact, rtol=5e-4)


@pytest.mark.parametrize(
    ("quality", "printed"),
    [
        (10.0, [0.87807, 1.46260, 1.65138, 1.62376, 1.42119, 1.21233, 1.10157, 1.04297]),
        (25.0, [0.91473, 1.52397, 1.71834, 1.68573, 1.46624, 1.24388, 1.13775, 1.07075]),
    ],
)
def test_with_damping_it_is_what_two_packages_agree_on(quality, printed):
    """pyyeti 1.4.7 and endaq 1.5.3, 1 g over 11 ms at 20 kHz, absolute acceleration, maximax; recomputed."""
    np.testing.assert_allclose(shock_response(HALF_SINE, RATE_HZ, FT / LASTS_S, quality=quality), printed, rtol=5e-5)


@pytest.mark.parametrize(
    ("frequency_hz", "rate_hz", "numerator", "denominator"),
    [
        (100, 1000, [0.093289921, 0.244533223, 0.032391289], [1, -1.568886935, 0.939101367]),
        (10, 400, [0.011888177, 0.016239819, -0.003697060], [1, -1.959983827, 0.984414763]),
        (100, 6664, [0.006173499, 0.005878667, -0.003210741], [1, -1.981774336, 0.990615760]),
    ],
)
def test_the_coefficients_of_the_ramp_invariant_recursion(frequency_hz, rate_hz, numerator, denominator):
    """Identical in pyyeti's ``srs.absacce`` (recomputed); the formula itself is Smallwood's of 1981, from memory."""
    b, a = ramp_invariant(rate_hz, frequency_hz, 0.05)
    np.testing.assert_allclose(b, numerator, atol=5e-9)
    np.testing.assert_allclose(a, denominator, atol=5e-9)
