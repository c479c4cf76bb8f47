"""A step of torque and the damped sine that follows it, fitted together, in noise whose colour is known.

    a(t) = offset + slope · t + course(t) + A · exp(−ζ ω₀ t) · sin(ω_d t + φ) + noise,   t from the start of the swing

The torque goes on after the step: the clutch slips on its way to its level, and the driver opens the throttle. Nobody
knows that course, but it reaches the car through the same shafts that swing. So it enters as a random one whose slope
wanders (``bend``: change of slope within a second), seen through the second-order system that swings (a latent force:
Álvarez, Luengo and Lawrence, AISTATS 2009; from memory). Frequency, damping and bend are those of the greatest
restricted likelihood (Patterson and Thompson, Biometrika 58, 1971; from memory), offset, slope and the two phases of
the swing being solved for. The road's shaking counts with the covariance it was measured to have, so that coloured
noise is not taken for white. Uncertainties come from the spread of that likelihood.
"""

from dataclasses import dataclass

import numpy as np
from scipy.linalg import solve_triangular
from scipy.optimize import minimize

from shiftlog.signal.coloured_noise import covariance_of_ramps, responses_to_ramps
from shiftlog.signal.swing_search import MOST_DAMPING, swing_columns, trend_columns

FIRST_BEND = 5.0
BENDS = (0.3, 100.0)
"""From a foot that does not move to one that stamps on the pedal [m/s³ within a second]."""
LEAST_DAMPING = 1e-3
DRAWS, TAILS, WIDER, LEAST_DRAWS = 80, 4, 1.5, 8.0
"""Draws of the likelihood, degrees of freedom and width of what they are drawn from, and how many must carry weight."""
CURVED_OVER = np.array([0.01, 0.01, 0.3])
"""Steps of log frequency, damping and log bend in which the curvature is taken: about their spread in a good fit."""


@dataclass(frozen=True, eq=False, kw_only=True)
class DampedSine:
    """A fitted swing.

    frequency_hz : undamped natural frequency; damping : damping ratio; amplitude : envelope at its start, unit of the
    values; covariance : (3, 3) of frequency, damping and amplitude, scaled by χ² per degree of freedom where above one
    swing, trend : (n,) the fitted parts; the torque's own course belongs to the trend
    """

    frequency_hz: float
    damping: float
    amplitude: float
    covariance: np.ndarray
    swing: np.ndarray
    trend: np.ndarray


@dataclass(frozen=True, eq=False, kw_only=True)
class _Solved:
    """One triple of frequency, damping and bend: ``cost`` is the negative log likelihood."""

    cost: float
    linear: np.ndarray
    inverse: np.ndarray
    white_left: np.ndarray
    factor: np.ndarray


def fit_damped_sine(
    values: np.ndarray,
    noise: np.ndarray,
    pairs: np.ndarray,
    *,
    rate_hz: float,
    low_hz: float,
    high_hz: float,
    since_s: float = 0.0,
) -> DampedSine:
    """Fit values (n,), evenly sampled, the first of them ``since_s`` after the start of the free swing.

    noise : (n, n) covariance of what rides on them; pairs : (k, 2) frequency [Hz] and damping to begin at
    low_hz, high_hz : the frequency stays between
    """
    t = since_s + np.arange(values.size) / rate_hz
    low = np.array([np.log(low_hz), LEAST_DAMPING, np.log(BENDS[0])])
    high = np.array([np.log(high_hz), MOST_DAMPING, np.log(BENDS[1])])

    def cost(p: np.ndarray) -> float:
        inside = np.clip(p, low, high)
        return _solve(values, noise, t, inside).cost + 100 * float(np.sum((p - inside) ** 2))

    starts = [np.array([np.log(f), max(d, 0.01), np.log(FIRST_BEND)]) for f, d in pairs]
    found = [_descend(cost, start) for start in starts]
    best = np.clip(min(found, key=cost), low, high)
    return _describe(values, noise, t, best, low, high)


def _descend(cost: object, start: np.ndarray) -> np.ndarray:
    corners = start + np.vstack([np.zeros(3), np.diag([0.05, 0.04, 1.0])])
    options = {"initial_simplex": corners, "xatol": 1e-3, "fatol": 1e-3, "maxfev": 150}
    return minimize(cost, start, method="Nelder-Mead", options=options).x


def _solve(values: np.ndarray, noise: np.ndarray, t: np.ndarray, p: np.ndarray) -> _Solved:
    frequency, damping, bend = float(np.exp(p[0])), float(p[1]), float(np.exp(p[2]))
    course = _course(t, frequency, damping, bend)
    factor = np.linalg.cholesky(noise + course)
    basis = np.column_stack([trend_columns(t), swing_columns(t, frequency, damping)])
    white = solve_triangular(factor, np.column_stack([basis, values]), lower=True, check_finite=False)
    normal = white[:, :-1].T @ white[:, :-1]
    inverse = np.linalg.inv(normal)
    linear = inverse @ (white[:, :-1].T @ white[:, -1])
    left = white[:, -1] - white[:, :-1] @ linear
    # The columns of the swing change with frequency and damping: taken relative to their own size, else the likelihood
    # would favour what is short.
    spread = np.linalg.slogdet(normal)[1] - np.linalg.slogdet(basis.T @ basis)[1]
    cost = float(np.sum(np.log(np.diag(factor))) + 0.5 * spread + 0.5 * left @ left)
    return _Solved(cost=cost, linear=linear, inverse=inverse, white_left=left, factor=factor)


def _course(t: np.ndarray, frequency: float, damping: float, bend: float) -> np.ndarray:
    """Covariance (n, n) of the torque's wandering course as the car feels it."""
    rate_hz = 1 / (t[1] - t[0])
    ramps = responses_to_ramps(t.size, rate_hz=rate_hz, frequency_hz=frequency, damping=damping)
    return bend**2 / rate_hz * covariance_of_ramps(ramps)


def _describe(
    values: np.ndarray, noise: np.ndarray, t: np.ndarray, p: np.ndarray, low: np.ndarray, high: np.ndarray
) -> DampedSine:
    solved = _solve(values, noise, t, p)
    frequency, damping = float(np.exp(p[0])), float(p[1])
    misfit = float(solved.white_left @ solved.white_left / (t.size - 6))
    swing = swing_columns(t, frequency, damping) @ solved.linear[2:]
    course = _course(t, frequency, damping, float(np.exp(p[2])))
    likely = course @ solve_triangular(solved.factor, solved.white_left, lower=True, trans="T")
    return DampedSine(
        frequency_hz=frequency, damping=damping, amplitude=float(np.hypot(*solved.linear[2:])),
        covariance=_covariance(values, noise, t, p, low, high) * max(misfit, 1.0), swing=swing,
        trend=trend_columns(t) @ solved.linear[:2] + likely,
    )  # fmt: skip


def _covariance(
    values: np.ndarray, noise: np.ndarray, t: np.ndarray, p: np.ndarray, low: np.ndarray, high: np.ndarray
) -> np.ndarray:
    """(3, 3) of frequency, damping and amplitude: the likelihood's curvature, and the phases' spread at one shape."""
    steps = CURVED_OVER
    at = np.clip(p, low + steps, high - steps)
    curved = _hessian(lambda q: _solve(values, noise, t, q).cost, at, steps)
    size, turn = np.linalg.eigh(curved)
    # Where the likelihood is flat or bends the wrong way nothing is known beyond the bounds.
    rough = turn @ np.diag(1 / np.maximum(size, 0.5)) @ turn.T
    whole = _spread(lambda q: _solve(values, noise, t, q).cost, p, rough, low, high)
    solved = _solve(values, noise, t, p)

    def amplitude(q: np.ndarray) -> float:
        return float(np.hypot(*_solve(values, noise, t, q).linear[2:]))

    moves = np.diag(steps)
    slopes = [(amplitude(at + move) - amplitude(at - move)) / (2 * move.max()) for move in moves]
    jacobian = np.array([[np.exp(p[0]), 0.0, 0.0], [0.0, 1.0, 0.0], slopes])
    covariance = jacobian @ whole @ jacobian.T
    along = solved.linear[2:] / max(np.hypot(*solved.linear[2:]), 1e-12)
    covariance[2, 2] += float(along @ solved.inverse[2:, 2:] @ along)
    return covariance


def _spread(cost: object, best: np.ndarray, rough: np.ndarray, low: np.ndarray, high: np.ndarray) -> np.ndarray:
    """Covariance about the best by importance sampling: a likelihood that is skew or has two tops is no parabola.

    rough : (3, 3) by curvature; drawn from t distributions of that shape, half as wide again, so that far tops are met
    """
    rng = np.random.default_rng(best.size)
    unit = rng.normal(size=(DRAWS, best.size)) / np.sqrt(rng.chisquare(TAILS, (DRAWS, 1)) / TAILS)
    off = WIDER * unit @ np.linalg.cholesky(rough).T
    inside = np.all((best + off > low) & (best + off < high), axis=1)
    if np.count_nonzero(inside) < LEAST_DRAWS:
        return rough
    off, unit = off[inside], unit[inside]
    drawn = -(TAILS + best.size) / 2 * np.log1p(np.sum(unit**2, axis=1) / TAILS)
    weights = np.array([-cost(best + o) for o in off]) - drawn
    weights = np.exp(weights - weights.max())
    weights /= weights.sum()
    if 1 / np.sum(weights**2) < LEAST_DRAWS:
        return rough
    return (weights[:, None] * off).T @ off


def _hessian(cost: object, at: np.ndarray, steps: np.ndarray) -> np.ndarray:
    count = at.size
    moves = np.diag(steps)
    middle = cost(at)
    curved = np.zeros((count, count))
    for i in range(count):
        curved[i, i] = (cost(at + moves[i]) - 2 * middle + cost(at - moves[i])) / steps[i] ** 2
        for j in range(i):
            corners = [cost(at + a * moves[i] + b * moves[j]) * a * b for a in (1, -1) for b in (1, -1)]
            curved[i, j] = curved[j, i] = sum(corners) / (4 * steps[i] * steps[j])
    return curved
