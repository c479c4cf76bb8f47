"""Least squares in which some parameters are linear: they are solved for, and the rest is searched.

Golub and Pereyra, SIAM J. Numer. Anal. 10 (1973), 413–432 (from memory).
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from scipy.optimize import least_squares


@dataclass(frozen=True, eq=False, kw_only=True)
class Projected:
    """shape (p,) and linear (q,) parameters; cost : half the sum of squares."""

    shape: np.ndarray
    linear: np.ndarray
    cost: float


def fit_projected(
    columns: Callable[[np.ndarray], np.ndarray],
    values: np.ndarray,
    start: np.ndarray,
    *,
    bounds: tuple[np.ndarray, np.ndarray] = (-np.inf, np.inf),
    scale: np.ndarray | str = "jac",
    precise: bool = True,
) -> Projected:
    """Fit values (n,) by columns(shape) (n, q) times coefficients, from one start (p,) of the shape.

    bounds : (low, high) of the shape; scale : typical size of its steps
    precise : to the last figures; else to a millionth, in a fraction of the time
    """
    last = 1e-14 if precise else 1e-6

    def solve(shape: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        basis = columns(shape)
        size = np.maximum(np.linalg.norm(basis, axis=0), 1e-300)
        linear = np.linalg.lstsq(basis / size, values, rcond=None)[0] / size
        return linear, values - basis @ linear

    fit = least_squares(
        lambda shape: solve(shape)[1], start, jac="3-point" if precise else "2-point", bounds=bounds,
        x_scale=scale, xtol=last, ftol=last, gtol=last, max_nfev=400,
    )  # fmt: skip
    return Projected(shape=fit.x, linear=solve(fit.x)[0], cost=float(fit.cost))
