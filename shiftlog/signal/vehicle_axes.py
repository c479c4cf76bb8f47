"""Where forward, left and up lie in a sensor's axes, from what it felt and how the car moved."""

from dataclasses import dataclass, replace

import numpy as np

from shiftlog.signal.rotate import nearest_rotation

_DRAWS = 200
_SEED = 20267
_ROUNDS = 4


@dataclass(frozen=True, eq=False, kw_only=True)
class Sums:
    """Normal equations of force = [along, across, 1] · axes, block by block.

    design (b, 3, 3); force (b, 3, 3) : regressor by sensor axis; square (b,) : of the force; rows (b,) : samples in
    each block; weight (b,) : how far each block is believed
    """

    design: np.ndarray
    force: np.ndarray
    square: np.ndarray
    rows: np.ndarray
    weight: np.ndarray


def sum_blocks(force: np.ndarray, along: np.ndarray, across: np.ndarray, block: np.ndarray) -> Sums:
    """Normal equations of each block; force (n, 3) [m/s²], along, across (n,) [m/s²], block (n,) int from 0.

    A block in which something else pulled (a bend without a gyro, a slope) is believed less: weights go with the
    inverse of what the axes leave unexplained in it.
    """
    design = np.column_stack([along, across, np.ones(along.size)])
    count = int(block.max()) + 1
    both = np.zeros((count, 3, 3)), np.zeros((count, 3, 3))
    for total, right in zip(both, (design, force), strict=True):
        for i in range(3):
            for k in range(3):
                total[:, i, k] = np.bincount(block, weights=design[:, i] * right[:, k], minlength=count)
    rows = np.bincount(block, minlength=count).astype(float)
    square = np.bincount(block, weights=np.square(force).sum(axis=1), minlength=count)
    held = rows > 0
    even = np.ones(int(held.sum()))
    sums = Sums(design=both[0][held], force=both[1][held], square=square[held], rows=rows[held], weight=even)
    used = bool(np.any(across))
    for _ in range(_ROUNDS):
        sums = replace(sums, weight=_belief(sums, solve_axes(sums, across=used)))
    return sums


def _belief(sums: Sums, axes: np.ndarray) -> np.ndarray:
    """Inverse mean square of what the axes leave in each block, none above ten times the median's."""
    explained = 2 * np.einsum("bik,ik->b", sums.force, axes) - np.einsum("bij,ik,jk->b", sums.design, axes, axes)
    left = np.maximum(sums.square - explained, 1e-9) / sums.rows
    return 1 / np.maximum(left, np.median(left) / 10)


def solve_axes(sums: Sums, weight: np.ndarray | None = None, *, across: bool = True) -> np.ndarray:
    """(3, 3): rows are the force felt for 1 m/s² forward, for 1 m/s² to the left, and at rest, in sensor axes.

    weight (b,) : how often each block is drawn. Without ``across`` the second row is zero.
    """
    weight = sums.weight if weight is None else sums.weight * weight
    design, force = np.tensordot(weight, sums.design, 1), np.tensordot(weight, sums.force, 1)
    used = [0, 1, 2] if across else [0, 2]
    axes = np.zeros((3, 3))
    axes[used] = np.linalg.lstsq(design[np.ix_(used, used)], force[used], rcond=None)[0]
    return axes


def draw_axes(sums: Sums, *, across: bool = True) -> np.ndarray:
    """``solve_axes`` for bootstrap draws of blocks, (draws, 3, 3)."""
    rng = np.random.default_rng(_SEED)
    count = sums.rows.size
    draws = rng.multinomial(count, np.full(count, 1 / count), size=_DRAWS)
    return np.array([solve_axes(sums, draw.astype(float), across=across) for draw in draws])


def to_rotation(axes: np.ndarray, sigma_rad: np.ndarray) -> np.ndarray:
    """The rotation (sensor → vehicle) that carries the three axes onto forward, left and up best (Wahba's problem).

    axes (3, 3) rows as ``solve_axes``; sigma_rad (3,) standard uncertainty of each direction, infinite for unknown
    """
    length = np.linalg.norm(axes, axis=1, keepdims=True)
    unit = np.divide(axes, length, out=np.zeros_like(axes), where=length > 0)
    return nearest_rotation(unit / np.square(sigma_rad)[:, None])


def spread_rad(draws: np.ndarray, centre: np.ndarray) -> float:
    """Standard uncertainty of a direction from its draws (d, 3) about ``centre`` (3,), one axis [rad]; robust."""
    unit = draws / np.maximum(np.linalg.norm(draws, axis=1, keepdims=True), 1e-12)
    angle = np.arccos(np.clip(unit @ (centre / np.linalg.norm(centre)), -1, 1))
    # Two axes across the direction: the median angle is 1.1774 standard deviations (Rayleigh distribution).
    return float(np.median(angle) / 1.1774)


def angle_between(one: np.ndarray, other: np.ndarray) -> float:
    """Angle between two directions [rad]."""
    cosine = np.dot(one, other) / (np.linalg.norm(one) * np.linalg.norm(other))
    return float(np.arccos(np.clip(cosine, -1, 1)))
