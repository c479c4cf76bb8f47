"""Least squares of a felt force on what the car did, block by block, with an uncertainty that runs do not fool."""

from dataclasses import dataclass

import numpy as np

_ROUNDS = 5


@dataclass(frozen=True, eq=False, kw_only=True)
class Moments:
    """Normal equations of force (n, 3) = causes (n, k) · coefficients (k, 3), summed over blocks of time.

    design (b, k, k); force (b, k, 3); square (b,) of the force; rows (b,) samples; block (b,) the block's number
    """

    design: np.ndarray
    force: np.ndarray
    square: np.ndarray
    rows: np.ndarray
    block: np.ndarray

    def chosen(self, kept: np.ndarray) -> "Moments":
        """The blocks for which ``kept`` (b,) is true."""
        return Moments(
            design=self.design[kept],
            force=self.force[kept],
            square=self.square[kept],
            rows=self.rows[kept],
            block=self.block[kept],
        )


@dataclass(frozen=True, eq=False, kw_only=True)
class Coefficients:
    """Rows (k, 3): the force that goes with each cause, in sensor axes.

    covariance (k, 3, k, 3) of the rows' components; left : r.m.s. of what stays unexplained, weighted as the fit;
    missed : what the blocks miss beyond the floor, as a sum of logarithms (Cauchy's), to compare fits by
    told (k,) : how many blocks, counted by what they contribute, tell each coefficient
    """

    rows: np.ndarray
    covariance: np.ndarray
    left: float
    missed: float
    told: np.ndarray


def gather_moments(force: np.ndarray, causes: np.ndarray, block: np.ndarray) -> Moments:
    """Moments of force (n, 3) and causes (n, k), by block number (n,) int ≥ 0; blocks without samples are left out."""
    count = int(block.max()) + 1 if block.size else 0
    rows = np.bincount(block, minlength=count).astype(float)
    held = np.flatnonzero(rows)
    square = np.bincount(block, weights=np.square(force).sum(axis=1), minlength=count)
    return Moments(
        design=_products(causes, causes, block, count)[held],
        force=_products(causes, force, block, count)[held],
        square=square[held],
        rows=rows[held],
        block=held,
    )


def _products(left: np.ndarray, right: np.ndarray, block: np.ndarray, count: int) -> np.ndarray:
    total = np.zeros((count, left.shape[1], right.shape[1]))
    for i in range(left.shape[1]):
        for j in range(right.shape[1]):
            total[:, i, j] = np.bincount(block, weights=left[:, i] * right[:, j], minlength=count)
    return total


def fit_coefficients(moments: Moments, *, floor: float, penalty: np.ndarray) -> Coefficients | None:
    """Coefficients with a covariance from the scatter of whole blocks (cluster-robust sandwich: Liang and Zeger 1986).

    floor : what a block may miss, r.m.s., however well it fits (slopes last longer than a block); blocks that miss
    more count for less. penalty (k,) : inverse variance known beforehand of each coefficient, in samples; 0 for none.
    The last cause stands for what is there all the time. None where there are too few blocks, or causes that cannot be
    told apart.
    """
    count, k = moments.force.shape[:2]
    if count < k + 2:
        return None
    weight = np.full(count, 1 / floor**2)
    for _ in range(_ROUNDS):
        total = np.tensordot(weight, moments.design, 1) + np.diag(penalty)
        if not _told_apart(total):
            return None
        rows = np.linalg.solve(total, np.tensordot(weight, moments.force, 1))
        left = _left(moments, rows)
        weight = 1 / (left + floor**2)
    score = weight[:, None, None] * (moments.force - moments.design @ rows)
    meat = np.einsum("bki,blj->kilj", score, score) * count / (count - k)
    bread = np.linalg.inv(np.tensordot(weight * _bend(moments, rows, weight), moments.design, 1) + np.diag(penalty))
    covariance = np.einsum("pk,kilj,ql->piqj", bread, meat, bread)
    spread = np.sqrt(np.average(left, weights=weight * moments.rows))
    share = weight[:, None] * np.einsum("bkk->bk", moments.design)
    told = share.sum(axis=0) ** 2 / np.maximum(np.square(share).sum(axis=0), 1e-300)
    missed = float(np.sum(np.log1p(left / floor**2)))
    return Coefficients(rows=rows, covariance=covariance, left=float(spread), missed=missed, told=told)


def _told_apart(total: np.ndarray) -> bool:
    """Whether every cause was there at all (a car that stands has none), and none is made of the others."""
    size = np.sqrt(np.diag(total))
    return bool((size > 0).all()) and float(np.linalg.cond(total / np.outer(size, size))) < 1e8


def _bend(moments: Moments, rows: np.ndarray, weight: np.ndarray) -> np.ndarray:
    """How much less a block pulls back than its weight says (b,), because the weight falls as the block shifts: the
    slope of Cauchy's influence function, averaged over three axes."""
    score = moments.force[:, -1] - np.einsum("bk,ki->bi", moments.design[:, -1], rows)
    shift = np.square(score).sum(axis=1) / np.maximum(moments.design[:, -1, -1] * moments.rows, 1e-12)
    return 1 - 2 / 3 * np.minimum(shift * weight, 1.0)


def _left(moments: Moments, rows: np.ndarray) -> np.ndarray:
    """Mean square that the coefficients leave in each block, (b,)."""
    told = 2 * np.einsum("bki,ki->b", moments.force, rows)
    told -= np.einsum("bkl,ki,li->b", moments.design, rows, rows)
    return np.maximum(moments.square - told, 0.0) / moments.rows
