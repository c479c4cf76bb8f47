"""Levels at which a signal was held: the best piecewise constant course, then what is too short or too near to count.

Optimal partition with a penalty for each piece (Jackson et al., IEEE Signal Processing Letters 12, 2005).
"""

from dataclasses import dataclass

import numpy as np

from shiftlog.signal.robust import MAD_TO_SIGMA, midmean

BLOCK_S, MOST_BLOCKS = 0.04, 3000
"""Means over this are taken as one value: white enough, and a move of a hand takes several; longer where there would be
too many."""
PENALTY = 10.0
"""Of one more piece, in squares of the noise, beside 2 ln n."""


@dataclass(frozen=True, eq=False, kw_only=True)
class HeldLevels:
    """Stretches in which a signal was held, in order of time.

    spans : (k, 2) int index ranges; levels : (k,) means of their middle half; noise : of a mean over ``block`` samples
    """

    spans: np.ndarray
    levels: np.ndarray
    noise: float
    block: int

    def u_of(self, samples: float) -> float:
        """Standard uncertainty of a level held for so many samples."""
        return self.noise / float(np.sqrt(max(samples / self.block, 1.0)))


def find_held_levels(
    values: np.ndarray, rate_hz: float, *, shortest_s: float, least: float, sigmas: float, noise: float
) -> HeldLevels:
    """The levels of an evenly sampled signal, (n,); neighbours lie apart by ``least`` and ``sigmas`` of their noise.

    shortest_s : what is held for less is a move; noise : least standard deviation of the mean over a block
    """
    block = max(round(BLOCK_S * rate_hz), 1, -(-values.size // MOST_BLOCKS))
    means = values[: values.size // block * block].reshape(-1, block).mean(axis=1)
    if means.size < 2:
        return HeldLevels(spans=np.zeros((0, 2), int), levels=np.zeros(0), noise=noise, block=block)
    noise = max(noise, MAD_TO_SIGMA * float(np.median(np.abs(np.diff(means)))) / np.sqrt(2))
    edges = block * _partition(means / max(noise, 1e-12))
    long = shortest_s * rate_hz
    pieces = [(int(a), int(b)) for a, b in zip(edges[:-1], edges[1:], strict=True) if b - a >= long]
    pieces = _joined(pieces, values, least=least, of_noise=sigmas * noise * np.sqrt(block))
    return HeldLevels(
        spans=np.array(pieces, int).reshape(-1, 2), levels=np.array([midmean(values[a:b]) for a, b in pieces]),
        noise=noise, block=block,
    )  # fmt: skip


def _partition(values: np.ndarray) -> np.ndarray:
    """Edges of the pieces of least cost, noise 1: (k + 1,) int."""
    n = values.size
    sums, squares = (np.concatenate([[0.0], np.cumsum(v)]) for v in (values, values**2))
    piece = PENALTY + 2 * np.log(n)
    best, back = np.zeros(n + 1), np.zeros(n + 1, int)
    best[0] = -piece
    for k in range(1, n + 1):
        count = np.arange(k, 0, -1)
        costs = best[:k] + squares[k] - squares[:k] - (sums[k] - sums[:k]) ** 2 / count + piece
        back[k] = int(np.argmin(costs))
        best[k] = costs[back[k]]
    edges = [n]
    while edges[-1] > 0:
        edges.append(int(back[edges[-1]]))
    return np.array(edges[::-1])


def _joined(
    pieces: list[tuple[int, int]], values: np.ndarray, *, least: float, of_noise: float
) -> list[tuple[int, int]]:
    """Neighbours that are one level, the nearest first."""
    while len(pieces) > 1:
        levels = np.array([midmean(values[a:b]) for a, b in pieces])
        lengths = np.array([b - a for a, b in pieces], float)
        needed = np.maximum(least, of_noise * np.sqrt(1 / lengths[:-1] + 1 / lengths[1:]))
        beyond = np.abs(np.diff(levels)) / needed
        k = int(np.argmin(beyond))
        if beyond[k] >= 1:
            break
        pieces = [*pieces[:k], (pieces[k][0], pieces[k + 1][1]), *pieces[k + 2 :]]
    return pieces
