"""A straight line through the lags of many windows, and whether there is one."""

from dataclasses import dataclass

import numpy as np

_STRAY_LEAST = 0.02
"""Share of windows that may say anything at all, however well the rest agree."""

_SHARPEST_S = 0.0005
_ROUNDS = 30


@dataclass(frozen=True, eq=False, kw_only=True)
class LagLine:
    """lag(t) = lag_s + drift · (t − middle_s).

    u_lag_s, u_drift : standard uncertainties at the middle, where they are independent
    """

    middle_s: float
    lag_s: float
    drift: float
    u_lag_s: float
    u_drift: float


@dataclass(frozen=True, eq=False, kw_only=True)
class Agreement:
    """How windows agree on a line.

    off_s : (w,) each window's lag less the line's; agree : (w,) probability that it is no stray
    scatter_s : standard deviation of those that agree
    gain : how much likelier (natural logarithm) the lags are with this line than strewn evenly over the reach
    """

    off_s: np.ndarray
    agree: np.ndarray
    scatter_s: float
    gain: float


def stack_line(
    at_s: np.ndarray, lags_s: np.ndarray, correlations: np.ndarray, *, most_drift: float, within_s: float
) -> tuple[float, float]:
    """(lag at the mean instant [s], within ± ``within_s``, and drift) where the sum of all windows is highest.

    at_s (w,), lags_s (m,) even, correlations (w, m)
    """
    step = lags_s[1] - lags_s[0]
    since = at_s - at_s.mean()
    per = step / max(float(np.max(np.abs(since))), step)
    drifts = per * np.arange(-np.ceil(most_drift / per), np.ceil(most_drift / per) + 1)
    padded = np.pad(correlations, ((0, 0), (lags_s.size, lags_s.size)))
    rows = np.arange(at_s.size)[:, None]
    tried = np.flatnonzero(np.abs(lags_s) <= within_s)
    columns = tried + lags_s.size
    sums = np.empty((drifts.size, tried.size))
    for i, drift in enumerate(drifts):
        moved = np.clip(np.round(drift * since / step).astype(int), -lags_s.size, lags_s.size)
        sums[i] = padded[rows, columns + moved[:, None]].sum(axis=0)
    i, k = np.unravel_index(int(np.argmax(sums)), sums.shape)
    return float(lags_s[tried[k]]), float(drifts[i])


def refine_line(
    at_s: np.ndarray,
    lags_s: np.ndarray,
    correlations: np.ndarray,
    *,
    lag_s: float,
    drift: float,
    usual_drift: float = 0.0,
    drift_spread: float,
) -> LagLine:
    """The top of the stack to a fraction of a step, with its uncertainty from how the windows pull at it.

    One of Newton's steps from ``stack_line``'s answer; covariance H⁻¹ (Σ g gᵀ) H⁻¹ from each window's slope g and the
    sum H of their curvatures (Huber's sandwich, 5th Berkeley Symposium, 1967; from memory). ``usual_drift`` ±
    ``drift_spread`` is how clocks drift apart as a rule (standard deviation); it holds the slope where windows do not.
    """
    step = float(lags_s[1] - lags_s[0])
    slope, curve = _derivatives(at_s, lags_s, correlations, lag_s=lag_s, drift=drift)
    since = at_s - at_s.mean()
    reach = max(float(np.max(np.abs(since))), step)
    design = np.stack([np.ones_like(since), since / reach], axis=1)
    inverse = _inverse_top(design.T @ (design * curve[:, None]))
    line = np.array([lag_s, drift * reach]) + np.clip(inverse @ (design.T @ slope), -2 * step, 2 * step)
    pulls = design * slope[:, None]
    spare = at_s.size / max(at_s.size - 2, 1)
    scale = np.diag([1.0, 1 / reach])
    covariance = scale @ (spare * inverse @ (pulls.T @ pulls) @ inverse + np.eye(2) * _SHARPEST_S**2) @ scale
    held = np.linalg.inv(np.linalg.inv(covariance) + np.diag([0.0, drift_spread**-2]))
    line = held @ (np.linalg.solve(covariance, scale @ line) + [0.0, usual_drift * drift_spread**-2])
    centre = -held[0, 1] / held[1, 1]
    return LagLine(
        middle_s=float(at_s.mean() + centre),
        lag_s=float(line[0] + line[1] * centre),
        drift=float(line[1]),
        u_lag_s=float(np.sqrt(held[0, 0] - held[0, 1] ** 2 / held[1, 1])),
        u_drift=float(np.sqrt(held[1, 1])),
    )


def _inverse_top(bend: np.ndarray) -> np.ndarray:
    """Inverse of the downward curvature (2, 2) of a sum; where it is hardly curved, or upward, as good as flat."""
    values, vectors = np.linalg.eigh(-bend)
    least = max(1e-3 * float(np.max(np.abs(values))), np.finfo(float).tiny)
    return vectors @ np.diag(1 / np.maximum(values, least)) @ vectors.T


def _derivatives(
    at_s: np.ndarray, lags_s: np.ndarray, correlations: np.ndarray, *, lag_s: float, drift: float
) -> tuple[np.ndarray, np.ndarray]:
    """Slope and curvature of each window's correlation on the line, (w,) and (w,)."""
    step = lags_s[1] - lags_s[0]
    at = (lag_s + drift * (at_s - at_s.mean()) - lags_s[0]) / step
    index = np.clip(np.round(at).astype(int), 1, lags_s.size - 2)
    rows = np.arange(at_s.size)
    low, mid, high = (correlations[rows, index + k] for k in (-1, 0, 1))
    curve = (low - 2 * mid + high) / step**2
    return (high - low) / (2 * step) + curve * (at - index) * step, curve


def peak_lags(
    at_s: np.ndarray, lags_s: np.ndarray, correlations: np.ndarray, *, lag_s: float, drift: float, within_s: float
) -> np.ndarray:
    """How far each window's best lag within ``within_s`` of the line lies off it, (w,) [s], by a parabola; NaN
    where the best is no peak but an end of that reach."""
    line = lag_s + drift * (at_s - at_s.mean())
    off = lags_s[None, :] - line[:, None]
    best = np.argmax(np.where(np.abs(off) <= within_s, correlations, -np.inf), axis=1)
    inner = np.clip(best, 1, lags_s.size - 2)
    rows = np.arange(at_s.size)
    low, mid, high = (correlations[rows, inner + k] for k in (-1, 0, 1))
    peaked = (mid >= low) & (mid >= high) & (low + high < 2 * mid)
    curve = np.where(peaked, low - 2 * mid + high, -1.0)
    at = off[rows, inner] + 0.5 * (low - high) / curve * (lags_s[1] - lags_s[0])
    return np.where(peaked, at, np.nan)


def lobe_evidence(
    at_s: np.ndarray, lags_s: np.ndarray, correlations: np.ndarray, *, lag_s: float, drift: float, within_s: float
) -> float:
    """How much likelier (natural logarithm) the line is than its best parallel beside the main lobe, from the windows'
    paired differences: n/2 · ln(1 + t²/(n − 1)), the likelihood ratio behind Student's t. A steady tone gives a comb
    of parallels that are all alike."""
    step = lags_s[1] - lags_s[0]
    line = np.round((lag_s + drift * (at_s - at_s.mean()) - lags_s[0]) / step).astype(int)
    half = int(within_s / step)
    columns = line[:, None] + np.arange(-half, half + 1)
    beside = correlations[np.arange(at_s.size)[:, None], np.clip(columns, 0, lags_s.size - 1)]
    total = beside.sum(axis=0)
    rising = np.flatnonzero(np.diff(total[half:]) > 0)
    falling = np.flatnonzero(np.diff(total[: half + 1]) < 0)
    outside = np.full(total.size, -np.inf)
    if rising.size:
        outside[half + rising[0] :] = total[half + rising[0] :]
    if falling.size:
        outside[: falling[-1] + 1] = total[: falling[-1] + 1]
    if not np.isfinite(outside).any():
        return np.inf
    apart = beside[:, half] - beside[:, int(np.argmax(outside))]
    t = float(apart.mean() / (apart.std(ddof=1) / np.sqrt(apart.size) + np.finfo(float).tiny))
    return 0.5 * apart.size * float(np.log1p(max(t, 0.0) ** 2 / (apart.size - 1)))


def judge_line(off_s: np.ndarray, *, within_s: float, scatter_s: float) -> Agreement:
    """Lags off a line (w,), NaN for none, as normal scatter plus strays spread evenly over ± ``within_s``, by
    expectation and maximisation; the scatter is no larger than ``scatter_s``."""
    # What shows no peak is a stray.
    off_s = np.nan_to_num(off_s, nan=1e3 * within_s)
    spread, strays, agree = scatter_s / 2, 0.3, np.ones(off_s.size)
    for _ in range(_ROUNDS):
        normal = (1 - strays) * _normal(off_s, spread)
        agree = normal / (normal + strays / (2 * within_s))
        strays = float(np.clip(1 - agree.mean(), _STRAY_LEAST, 0.98))
        variance = float(np.sum(agree * off_s**2) / max(agree.sum(), 1e-9))
        spread = float(np.clip(np.sqrt(variance), _SHARPEST_S, scatter_s))
    likelihood = (1 - strays) * _normal(off_s, spread) * 2 * within_s + strays
    return Agreement(off_s=off_s, agree=agree, scatter_s=spread, gain=float(np.sum(np.log(likelihood))))


def _normal(x: np.ndarray, spread: float) -> np.ndarray:
    return np.exp(-0.5 * (x / spread) ** 2) / (spread * np.sqrt(2 * np.pi))
