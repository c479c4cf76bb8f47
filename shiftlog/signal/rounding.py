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


def find_rounding(values: np.ndarray) -> float:
    """Standard uncertainty of a mean that rounding leaves however many readings it is taken over, (n,) → float.

    Noise of deviation σ before rounding to steps q takes exp(−2π²σ²/q²) of q/√12 away with it (Widrow and Kollár,
    Quantization Noise, 2008, chapter 4; from memory). What noise there is shows in changes of no more than two steps:
    half their mean square is σ² + q²/12, and less where most readings fall on one step.
    """
    changes = np.abs(np.diff(values))
    moved = changes[changes > 0]
    if not moved.size:
        return 0.0
    step = float(moved.min())
    small = changes[changes < 2.5 * step] / step
    dither2 = max(float(np.mean(small**2)) / 2 - 1 / 12, 0.0)
    return step / np.sqrt(12) * float(np.exp(-2 * np.pi**2 * dither2))
