"""Variable projection against certified values of NIST StRD nonlinear regression sets.

Certified to 11 figures; 1e-6 relative on parameters, 1e-4 on their standard deviations. The observations are from
memory; a wrong one would not give the certified values to that many figures.
"""

import numpy as np
import pytest

from shiftlog.signal.variable_projection import fit_projected

MISRA1A = (
    (77.6, 114.9, 141.1, 190.8, 239.9, 289.0, 332.8, 378.4, 434.8, 477.3, 536.8, 593.1, 689.1, 760.0),
    (10.07, 14.73, 17.94, 23.93, 29.61, 35.18, 40.02, 44.82, 50.76, 55.05, 61.01, 66.40, 75.47, 81.78),
)
BOXBOD = ((1, 2, 3, 5, 7, 10), (109, 149, 149, 191, 213, 224))


def rises(x):
    return lambda shape: (1 - np.exp(-shape[0] * x))[:, None]


@pytest.mark.parametrize(
    ("data", "start", "certified", "deviations"),
    [
        (MISRA1A, 5e-4, (238.94212918, 5.5015643181e-4), (2.7070075241, 7.2668688436e-6)),
        (BOXBOD, 0.75, (213.80940889, 0.54723748542), (12.354515176, 0.10455993237)),
    ],
    ids=["Misra1a", "BoxBOD"],
)
def test_certified_values(data, start, certified, deviations):
    x, y = (np.array(values, dtype=float) for values in data)
    fit = fit_projected(rises(x), y, np.array([start]))
    assert (fit.linear[0], fit.shape[0]) == pytest.approx(certified, rel=1e-6)
    shape_sd, linear_sd = np.sqrt(np.diag(fit.covariance))
    assert (linear_sd, shape_sd) == pytest.approx(deviations, rel=1e-4)
