"""A lever that creeps: it starts at once, runs at one speed and stands at once."""

import numpy as np
from scipy.optimize import least_squares


def fit_steady_run(time_s: np.ndarray, values_mm: np.ndarray) -> float | None:
    """What a run at one speed leaves unexplained of a stretch that begins and ends at rest, r.m.s. [mm].

    time_s, values_mm : (n,); None where both ends lie at one place
    """
    edge = max(values_mm.size // 20, 1)
    first, last = float(np.median(values_mm[:edge])), float(np.median(values_mm[-edge:]))
    if abs(first - last) < 1e-9:
        return None
    progress = (values_mm - first) / (last - first)
    early, late = (float(time_s[np.flatnonzero(progress >= share)[0]]) for share in (0.2, 0.8))
    lasts = max((late - early) / 0.6, 2 * float(time_s[1] - time_s[0]))

    def residuals(p: np.ndarray) -> np.ndarray:
        return p[2] + (p[3] - p[2]) * np.clip((time_s - p[0]) / np.exp(p[1]), 0.0, 1.0) - values_mm

    fit = least_squares(residuals, [(early + late - lasts) / 2, np.log(lasts), first, last], max_nfev=60)
    return float(np.sqrt(2 * fit.cost / values_mm.size))
