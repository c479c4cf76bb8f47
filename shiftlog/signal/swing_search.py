"""Looking for a damped sine over a trend in coloured noise: a grid over the whole band, so that no place is missed."""

from dataclasses import dataclass

import numpy as np
from scipy.linalg import solve_triangular

from shiftlog.signal.variable_projection import fit_projected

DAMPINGS = np.array([0.01, 0.03, 0.05, 0.08, 0.12, 0.17, 0.24, 0.33, 0.45])
"""Neighbours differ by less than the width at which a swing of a second or two is blurred."""
MOST_DAMPING = 0.7
"""Beyond this a swing does not come back, and is no swing."""
GRID_STEP = 1.07
KEPT = 3


@dataclass(frozen=True, eq=False, kw_only=True)
class Candidates:
    """Where to look closely. start : index of the window that holds most; evidence : drop in χ² that a swing brings
    there, over the misfit where that is above one; pairs : (k, 2) frequency [Hz] and damping ratio, best first."""

    start: int
    evidence: float
    pairs: np.ndarray


class SwingSearch:
    """Everything that does not depend on the values: the whitened grid of swings over offset and slope.

    covariance : (n, n) of all that is neither trend nor swing; low_hz, high_hz : the band to look in
    """

    def __init__(self, covariance: np.ndarray, *, rate_hz: float, low_hz: float, high_hz: float) -> None:
        count = covariance.shape[0]
        self.t = np.arange(count) / rate_hz
        self.bounds = (np.array([np.log(low_hz), 0.0]), np.array([np.log(high_hz), MOST_DAMPING]))
        self._factor = np.linalg.cholesky(covariance)
        self._trend = np.linalg.qr(self._whiten(trend_columns(self.t)))[0]
        steps = int(np.ceil(np.log(high_hz / low_hz) / np.log(GRID_STEP))) + 1
        self.pairs = np.array([(f, d) for f in np.geomspace(low_hz, high_hz, steps) for d in DAMPINGS])
        swings = np.concatenate([swing_columns(self.t, f, d) for f, d in self.pairs], axis=1)
        flat = self._off_trend(self._whiten(swings)).reshape(count, -1, 2)
        self._grid = np.linalg.qr(flat.transpose(1, 0, 2))[0]

    def evidence(self, windows: np.ndarray) -> np.ndarray:
        """(m, n) windows → (m,) the largest evidence of any swing in each."""
        return self._scores(windows).max(axis=1)

    def find(self, windows: np.ndarray) -> Candidates:
        """The most likely swings of that one of windows (m, n) in which a swing stands out most."""
        scores = self._scores(windows)
        start = int(np.argmax(scores.max(axis=1)))
        white = self._off_trend(self._whiten(windows[start][:, None]))[:, 0]
        fits = [self._polish(white, self.pairs[i]) for i in self._peaks(scores[start])]
        fits.sort(key=lambda fit: fit.cost)
        pairs = np.array([(np.exp(fit.shape[0]), fit.shape[1]) for fit in fits])
        return Candidates(start=start, evidence=float(scores[start].max()), pairs=pairs)

    def _scores(self, windows: np.ndarray) -> np.ndarray:
        white = self._off_trend(self._whiten(windows.T))
        projected = np.matmul(self._grid.transpose(0, 2, 1), white)
        explained = np.sum(projected**2, axis=1).T
        misfit = (np.sum(white**2, axis=0)[:, None] - explained) / (self.t.size - 6)
        return explained / np.maximum(misfit, 1.0)

    def _peaks(self, scores: np.ndarray) -> list[int]:
        """Best place of the grid at each of the frequencies that stand above their neighbours, the best few."""
        table = scores.reshape(-1, DAMPINGS.size)
        ridge = np.concatenate(([-np.inf], table.max(axis=1), [-np.inf]))
        tops = np.flatnonzero((ridge[1:-1] >= ridge[:-2]) & (ridge[1:-1] >= ridge[2:]))
        tops = tops[np.argsort(-ridge[1:-1][tops])][:KEPT]
        return [int(i * DAMPINGS.size + np.argmax(table[i])) for i in tops]

    def _polish(self, white: np.ndarray, pair: np.ndarray) -> object:
        low, high = self.bounds
        begin = np.clip([np.log(pair[0]), pair[1]], low + 1e-6, high - 1e-6)

        def columns(shape: np.ndarray) -> np.ndarray:
            return self._off_trend(self._whiten(swing_columns(self.t, np.exp(shape[0]), shape[1])))

        return fit_projected(columns, white, begin, bounds=self.bounds, scale=np.array([0.05, 0.05]), precise=False)

    def _whiten(self, columns: np.ndarray) -> np.ndarray:
        return solve_triangular(self._factor, columns, lower=True)

    def _off_trend(self, white: np.ndarray) -> np.ndarray:
        return white - self._trend @ (self._trend.T @ white)


def trend_columns(t: np.ndarray) -> np.ndarray:
    """Offset and slope, (n,) → (n, 2)."""
    return np.column_stack([np.ones(t.size), t])


def swing_columns(t: np.ndarray, frequency_hz: float, damping: float) -> np.ndarray:
    """exp(−ζ ω₀ t) · cos ω_d t and · sin ω_d t, (n,) → (n, 2); ω₀ the undamped natural frequency."""
    omega = 2 * np.pi * frequency_hz
    angle = omega * np.sqrt(max(1 - damping**2, 1e-12)) * t
    return np.exp(-damping * omega * t)[:, None] * np.column_stack([np.cos(angle), np.sin(angle)])
