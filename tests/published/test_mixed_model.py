"""The headline against statsmodels' mixed model, y ~ side + kind + (1 | drive), by restricted likelihood.

Where every drive has every kind and drives differ at all, the closed form is the mixed model's own answer: estimate and
standard error agree to the optimiser's 1e-4. Where kinds are missing, these are two estimates of the same (that
one takes what is left between drives into account by weight): they agree to a quarter of the standard error, their
errors to a tenth.
"""

import numpy as np
import pytest

from shiftlog.compare.cells import gather_cells
from shiftlog.compare.headline import compare_levels

mixed = pytest.importorskip("statsmodels.regression.mixed_linear_model")
KINDS = ("1-2", "2-3", "3-4", "4-5", "5-4")


def sides(seed: int, *, missing: float = 0.0) -> list:
    rng = np.random.default_rng(seed)
    made = []
    for shift, drives in ((0.0, 4), (-0.6, 5)):
        side = []
        for _ in range(drives):
            day = rng.normal(shift, 1.0)
            values = {k: [day + 0.5 * n + rng.normal(0, 0.6)] for n, k in enumerate(KINDS) if rng.random() >= missing}
            side.append(values or {KINDS[0]: [day]})
        made.append(side)
    return made


def fit_mixed(made):
    rows = [
        (group, f"{group}{number}", KINDS.index(kind), value[0])
        for group, side in enumerate(made) for number, drive in enumerate(side) for kind, value in drive.items()
    ]  # fmt: skip
    after, drive, kind, y = (np.array(column) for column in zip(*rows, strict=True))
    kinds = np.eye(len(KINDS))[kind.astype(int)]
    design = np.column_stack([kinds, after.astype(float)])
    return mixed.MixedLM(y.astype(float), design, groups=drive).fit(reml=True)


@pytest.mark.parametrize("seed", range(5))
def test_balanced(seed):
    made = sides(seed)
    found, reference = compare_levels(gather_cells(made, KINDS, yes_no=False)), fit_mixed(made)
    assert found.difference == pytest.approx(reference.fe_params[-1], rel=1e-6)
    assert found.error == pytest.approx(reference.bse_fe[-1], rel=1e-4)
    assert found.df == 7


@pytest.mark.parametrize("seed", range(10, 16))
def test_unbalanced(seed):
    made = sides(seed, missing=0.3)
    found, reference = compare_levels(gather_cells(made, KINDS, yes_no=False)), fit_mixed(made)
    assert found.difference == pytest.approx(reference.fe_params[-1], abs=0.25 * reference.bse_fe[-1])
    assert found.error == pytest.approx(reference.bse_fe[-1], rel=0.1)
