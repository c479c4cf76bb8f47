"""Variable projection against certified values of NIST StRD nonlinear regression sets (itl.nist.gov/div898/strd/nls).

Certified to 11 figures; 1e-6 relative. The observations were held against public copies of the data files, not the
originals; a wrong one would not give the certified values to that many figures. The search of a swing is made of this
fit; its last fit, for whose noise of known colour there is no certified set, is held against this one in
``tests/signal/test_damped_sine.py``.
"""

import numpy as np
import pytest

from shiftlog.signal.variable_projection import fit_projected

MISRA1A = (
    (77.6, 114.9, 141.1, 190.8, 239.9, 289.0, 332.8, 378.4, 434.8, 477.3, 536.8, 593.1, 689.1, 760.0),
    (10.07, 14.73, 17.94, 23.93, 29.61, 35.18, 40.02, 44.82, 50.76, 55.05, 61.01, 66.40, 75.47, 81.78),
)
BOXBOD = ((1, 2, 3, 5, 7, 10), (109, 149, 149, 191, 213, 224))
MGH17 = (
    range(0, 330, 10),
    (0.844, 0.908, 0.932, 0.936, 0.925, 0.908, 0.881, 0.850, 0.818, 0.784, 0.751, 0.718, 0.685, 0.658, 0.628, 0.603,
     0.580, 0.558, 0.538, 0.522, 0.506, 0.490, 0.478, 0.467, 0.457, 0.448, 0.438, 0.431, 0.424, 0.420, 0.414, 0.411,
     0.406),
)  # fmt: skip
ECKERLE4 = (
    (*range(400, 440, 5), *np.arange(436.5, 464, 1.5), *range(465, 505, 5)),
    (0.0001575, 0.0001699, 0.0002350, 0.0003102, 0.0004917, 0.0008710, 0.0017418, 0.0046400, 0.0065895, 0.0097302,
     0.0149002, 0.0237310, 0.0401683, 0.0712559, 0.1264458, 0.2073413, 0.2902366, 0.3445623, 0.3698049, 0.3668534,
     0.3106727, 0.2078154, 0.1164354, 0.0616764, 0.0337200, 0.0194023, 0.0117831, 0.0074357, 0.0022732, 0.0008800,
     0.0004579, 0.0002345, 0.0001586, 0.0001143, 0.0000710),
)  # fmt: skip


def rises(x):
    return lambda shape: (1 - np.exp(-shape[0] * x))[:, None]


def two_decays(x):
    return lambda shape: np.column_stack([np.ones(x.size), np.exp(-shape[0] * x), np.exp(-shape[1] * x)])


def one_peak(x):
    return lambda shape: (np.exp(-0.5 * ((x - shape[1]) / shape[0]) ** 2) / shape[0])[:, None]


@pytest.mark.parametrize(
    ("model", "data", "start", "linear", "shape"),
    [
        (rises, MISRA1A, (5e-4,), (238.94212918,), (5.5015643181e-4,)),
        (rises, BOXBOD, (0.75,), (213.80940889,), (0.54723748542,)),
        (
            two_decays, MGH17, (0.01, 0.02), (0.37541005211, 1.9358469127, -1.4646871366),
            (0.012867534640, 0.022122699662),
        ),
        (one_peak, ECKERLE4, (5.0, 450.0), (1.5543827178,), (4.0888321754, 451.54121844)),
    ],
    ids=["Misra1a", "BoxBOD", "MGH17", "Eckerle4"],
)  # fmt: skip
def test_certified_values(model, data, start, linear, shape):
    x, y = (np.array(list(values), dtype=float) for values in data)
    fit = fit_projected(model(x), y, np.array(start))
    assert (*fit.shape, *fit.linear) == pytest.approx((*shape, *linear), rel=1e-6)
