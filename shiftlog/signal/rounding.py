"""The step to which a signal is rounded."""

import numpy as np


def find_step(values: np.ndarray) -> float:
    """The step of a signal (n,) most of whose changes are that step or a few of it, same unit; else 0."""
    changes = np.abs(np.diff(values))
    changes = changes[changes > 1e-6]
    if changes.size < 5:
        return 0.0
    step = float(np.quantile(changes, 0.02))
    few = changes[changes < 20 * step]
    whole = np.abs(few / step - np.round(few / step)) < 0.05
    coarse = np.unique(np.round(values / step)).size < 0.5 * values.size
    return step if coarse and np.mean(whole) > 0.95 else 0.0
