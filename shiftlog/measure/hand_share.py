"""The part of a lever's stand that is its hand's: a slow one takes longer over the way that counts as standing."""

import numpy as np

APART = 1.3
"""Hands must differ by so much, quick against slow, before their part can be told."""
LEAST_SHIFTS = 8
ROUNDS, HUBER = 4, 1.5


def without_hand(krpm: np.ndarray, stand_ms: np.ndarray, slowness: np.ndarray) -> tuple[np.ndarray, float]:
    """Stands as the middle hand would have had them [ms], and what that leaves in their slope over krpm (k = 1).

    krpm, stand_ms, slowness (n,) : difference in speed, stand, one over the approach speed [s/mm]. A stand counts
    from the lever's slowing to its going on, over a short way that a hand goes at its own speed: stand = a + b · krpm +
    c · slowness, by least squares in which what lies far off counts less (Huber 1981). Without speeds, or with one
    hand alone, as they were.
    """
    known = np.all(np.isfinite(slowness)) and slowness.size >= LEAST_SHIFTS
    if not known or slowness.max() < APART * slowness.min():
        return stand_ms, 0.0
    off = slowness - np.median(slowness)
    columns = np.column_stack([np.ones(krpm.size), krpm, off])
    weight = np.ones(krpm.size)
    for _ in range(ROUNDS):
        found = np.linalg.lstsq(columns * weight[:, None], stand_ms * weight, rcond=None)[0]
        left = np.abs(stand_ms - columns @ found)
        weight = np.sqrt(np.minimum(1.0, HUBER * 1.4826 * np.median(left) / np.maximum(left, 1e-9)))
    sigma2 = float(np.sum((weight * left) ** 2)) / max(krpm.size - 3, 1)
    covariance = sigma2 * np.linalg.pinv((columns * weight[:, None]).T @ (columns * weight[:, None]))
    turns = float(np.cov(off, krpm)[0, 1] / np.var(krpm, ddof=1))
    return stand_ms - found[2] * off, abs(turns) * float(np.sqrt(covariance[2, 2]))
