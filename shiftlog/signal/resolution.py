"""The smallest step between the values of a channel."""

import numpy as np

_ENOUGH = 200_000


def find_resolution(values: np.ndarray) -> float | None:
    """Smallest step between different values (n,), finite, in their unit; None where all are one.

    The first 200,000 values tell; steps under 1e-9 of the largest value are rounding of the arithmetic.
    """
    levels = np.unique(values[:_ENOUGH])
    steps = np.diff(levels)
    steps = steps[steps > 1e-9 * np.abs(levels).max()] if levels.size > 1 else steps
    return float(steps.min()) if steps.size else None
