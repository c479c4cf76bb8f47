"""Forward from stops: a car sets off forwards from standing still, and brakes before it."""

import numpy as np

from shiftlog.align.axis_fit import AxisFit, doubts
from shiftlog.align.felt import GRID_S, Felt, slope
from shiftlog.signal.axis_turn import fit_turn
from shiftlog.signal.crossing import find_runs

STILL_S = 1.5
LAUNCH_S = 2.5
LEAST_MOVES = 5
LEAST_MOVE_MPS2 = 0.4
LEAST_AGREE = 0.75
"""Share of the moves that must lie to one side; a car seldom backs away from a stop."""

LEAST_SIDE, LEAST_ALIKE = 3, 0.8
"""Moves on either side that go against those of the other, and the share of them that must: backing out of a yard makes
two."""

PUT_BACK = (
    "up is known and forward is not: the car set off to one side at first and to the other later, so either the sensor "
    "was put back the other way round or the car was backed about; fix it firmly and log GPS speed beside it, or "
    "declare the mounting"
)

HOW = "gravity and stops"
CEILING = 0.9
"""Without speed or bends nothing contradicts a car that was backed about all day."""

_SEED = 20269


def fit_stops(felt: Felt, span: np.ndarray) -> AxisFit | None:
    """The turn by gravity and by moves away from and towards standing still; None where there are too few."""
    moves = _moves(felt, span)
    if len(moves) < LEAST_MOVES:
        return None
    up = felt.force[span].mean(axis=0)
    up = up / np.linalg.norm(up)
    flat = moves - np.outer(moves @ up, up)
    centre = _middle(flat)
    ways = flat / np.linalg.norm(flat, axis=1, keepdims=True)
    if _put_back(ways @ centre > 0):
        return AxisFit(turn=None, why=PUT_BACK)
    if np.mean(ways @ centre > 0) < LEAST_AGREE:
        return None
    rng = np.random.default_rng(_SEED)
    draws = np.array([_middle(flat[rng.integers(0, len(flat), len(flat))]) for _ in range(100)])
    covariance = np.zeros((3, 3, 3, 3))
    covariance[0, :, 0, :] = np.cov(draws.T)
    axes = np.stack([centre, np.full(3, np.nan), up])
    # Turning out of a side road pulls sideways at the same time: more than the scatter of few moves shows.
    turn = fit_turn(axes, covariance, np.deg2rad(doubts(1.5, 1.5) + [[0, 0, 0], [0, 0, 0], [1.0, 0.5, 0]]))
    return AxisFit(turn=turn, freedom=max(len(moves) / 2 - 2, 1.5))


def _put_back(forwards: np.ndarray) -> bool:
    """Whether the moves (k,) bool went one way up to some instant and the other way from then on."""
    places = range(LEAST_SIDE, forwards.size - LEAST_SIDE + 1)
    shares = [(forwards[:k].mean(), forwards[k:].mean()) for k in places]
    return any(max(s) >= LEAST_ALIKE and min(s) <= 1 - LEAST_ALIKE for s in shares)


def is_still(felt: Felt) -> np.ndarray:
    """Where the car stood (m,): the sensor shakes no more than an engine at idle makes it, for a while."""
    shake = np.sqrt(np.convolve(felt.shake**2, np.ones(5) / 5, mode="same"))
    low, usual = np.percentile(shake[felt.held], (2, 60))
    if usual < 2.5 * low + 0.02:
        return np.zeros(shake.size, dtype=bool)
    calm = (shake < low + 0.25 * (usual - low)) & (np.linalg.norm(slope(felt.force), axis=1) < 0.4)
    still = np.zeros(shake.size, dtype=bool)
    for first, last in find_runs(calm & felt.held):
        if (last - first) * GRID_S >= STILL_S:
            still[first:last] = True
    return still


def _moves(felt: Felt, span: np.ndarray) -> np.ndarray:
    """Force above that at rest while setting off, and below it while braking to a halt, (k, 3) [m/s²]."""
    reach, moves = int(LAUNCH_S / GRID_S), []
    for first, last in find_runs(is_still(felt) & span):
        rest = felt.force[first:last].mean(axis=0)
        for part, sign in ((slice(last, last + reach), 1.0), (slice(first - reach, first), -1.0)):
            if part.start >= 0 and part.stop <= span.size and np.all(span[part]):
                moves.append(sign * (felt.force[part].mean(axis=0) - rest))
    return np.array([m for m in moves if np.linalg.norm(m) > LEAST_MOVE_MPS2]).reshape(-1, 3)


def _middle(flat: np.ndarray) -> np.ndarray:
    """The way that most moves take; those that take another count little."""
    ways = flat / np.linalg.norm(flat, axis=1, keepdims=True)
    centre = ways.mean(axis=0)
    for _ in range(5):
        weight = np.clip(ways @ (centre / max(np.linalg.norm(centre), 1e-9)), 0, 1) ** 4
        centre = weight @ flat / max(weight.sum(), 1e-9)
    return centre
