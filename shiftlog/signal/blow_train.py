"""Blows that come ever more slowly, few enough to be told one by one: their rate from how loudness swings."""

import numpy as np
from scipy.ndimage import gaussian_filter1d

from shiftlog.signal.falling_tone import FALLS, LEAST_SHARE_LEFT, FallingTone, stretch, weigh

SMOOTH_S, GRID_HZ = 0.0015, 800.0
"""A blow rings for a few ms; what is finer in its loudness is the ringing itself."""
HARMONICS = 3
SWELLS = 2
"""Powers of time by which blows may grow and fade meanwhile."""
STEP_SHARE = 0.012
KEEPS_S = 0.004
"""Values of loudness nearer to one another than this are not independent."""


def fit_blow_train(loudness: np.ndarray, rate_hz: float, *, low_hz: float, high_hz: float) -> FallingTone | None:
    """The rate of blows that best explains how loudness swings, or None where it is too short.

    loudness : (n,) evenly sampled; low_hz, high_hz : the rate at its beginning [Hz]. Each rate and fall is fitted with
    its own double and triple by least squares, so that a handful of blows is enough.
    """
    smooth = gaussian_filter1d(loudness, SMOOTH_S * rate_hz)
    time_s = np.arange(0.0, (loudness.size - 1) / rate_hz, 1 / GRID_HZ)
    lasts_s = time_s[-1] if time_s.size else 0.0
    high_hz = min(high_hz, GRID_HZ / 4)
    if lasts_s < 2 / low_hz or high_hz <= low_hz:
        return None
    values = np.interp(time_s, np.arange(loudness.size) / rate_hz, smooth)
    tried_hz = np.geomspace(low_hz, high_hz, int(np.log(high_hz / low_hz) / STEP_SHARE) + 2)
    shares = np.linspace(0.0, 1 - LEAST_SHARE_LEFT, FALLS)
    scores = np.stack([_score(values, stretch(time_s, share), tried_hz) for share in shares])
    return weigh(scores, tried_hz, shares / lasts_s)


def _score(values: np.ndarray, stretched: np.ndarray, tried_hz: np.ndarray) -> np.ndarray:
    """Log likelihood over no blows, less what so many free numbers gain by chance (Schwarz, 1978)."""
    lasts_s = values.size / GRID_HZ
    trend = np.vander(np.linspace(0, 1, values.size), SWELLS + 1)
    basis = np.linalg.qr(trend)[0]
    left = values - basis @ (basis.T @ values)
    turns = 2 * np.pi * tried_hz[:, None] * stretched
    waves = np.stack([f(k * turns) for k in range(1, HARMONICS + 1) for f in (np.cos, np.sin)], axis=2)
    waves = waves - basis @ (basis.T @ waves)
    gram = np.einsum("fti,ftj->fij", waves, waves) + 1e-9 * values.size * np.eye(2 * HARMONICS)
    meets = np.einsum("fti,t->fi", waves, left)
    gained = np.einsum("fi,fi->f", meets, np.linalg.solve(gram, meets[..., None])[..., 0]) / (left @ left)
    free = lasts_s / KEEPS_S
    return -0.5 * free * np.log(np.maximum(1 - gained, 1e-3)) - HARMONICS * np.log(max(free, 2.0))
