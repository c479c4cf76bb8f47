"""A swing that dry friction brakes: second order about a middle that shifts at each turning point, until it sticks."""

import numpy as np
from scipy.optimize import least_squares

from shiftlog.signal.free_motion import FreeReturn, step_decay

MOST_HALVES = 30
BETTER = 0.9
"""A fit with one parameter more has to leave this share of the residual or less."""


def braked_return(
    t: np.ndarray, from_mm: float, centre_mm: float, *, frequency_hz: float, damping: float, band_mm: float
) -> np.ndarray:
    """Place at each t of a lever let go at t = 0 at ``from_mm``, (n,) mm.

    x'' + 2 ζ ω x' + ω² (x − centre) = −ω² band sign(x'): half swings about centre ± band, joined at their turning
    points, the last of them where spring force is less than friction (Den Hartog, Trans. ASME 53, 1931; from memory).
    """
    x, begin = from_mm, 0.0
    way = np.full(t.shape, from_mm)
    root = np.sqrt(max(1 - damping**2, 1e-9))
    half_s = 1 / (2 * frequency_hz * root) if damping < 0.999 else np.inf
    for _ in range(MOST_HALVES):
        if abs(x - centre_mm) <= band_mm:
            break
        middle = centre_mm + band_mm * np.sign(x - centre_mm)
        later = t >= begin
        way[later] = middle + (x - middle) * step_decay(t[later] - begin, frequency_hz, damping)
        if not np.isfinite(half_s) or begin + half_s > t[-1]:
            break
        x, begin = middle - (x - middle) * float(np.exp(-np.pi * damping / root)), begin + half_s
        way[t >= begin] = x
    return way


def fit_braked_return(time_s: np.ndarray, values_mm: np.ndarray, guess: FreeReturn) -> FreeReturn:
    """The return refined with a band of dry friction, from a fit without; that fit itself where this is no better."""
    way = abs(guess.from_mm - guess.to_mm)
    best, best_rms = guess, BETTER * guess.rms_mm

    def model(p: np.ndarray) -> np.ndarray:
        return braked_return(
            time_s - p[0], p[2], p[3], frequency_hz=float(np.exp(p[1])), damping=float(p[4]), band_mm=float(p[5])
        )

    low = [time_s[0] - 0.1, np.log(0.3), -np.inf, -np.inf, 0.0, 0.0]
    high = [time_s[-1], np.log(20.0), np.inf, np.inf, 4.0, way]
    for share in (0.02, 0.1):
        band = share * way
        start = [guess.start_s, np.log(guess.frequency_hz), guess.from_mm, guess.to_mm, guess.damping * 0.8, band]
        fit = least_squares(
            lambda p: model(p) - values_mm, np.clip(start, np.add(low, 1e-9), np.subtract(high, 1e-9)),
            bounds=(low, high), x_scale=[0.01, 0.1, 1.0, 0.3, 0.1, 0.3], diff_step=1e-4, max_nfev=40,
        )  # fmt: skip
        rms = float(np.sqrt(2 * fit.cost / values_mm.size))
        if rms < best_rms:
            p, best_rms = fit.x, rms
            best = FreeReturn(
                start_s=float(p[0]), from_mm=float(p[2]), to_mm=float(model(p)[-1]), frequency_hz=float(np.exp(p[1])),
                damping=float(p[4]), rms_mm=rms,
            )  # fmt: skip
    return best
