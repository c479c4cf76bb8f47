"""Free return against guided move: two models of how a lever gets from one place to another."""

from dataclasses import dataclass

import numpy as np
from scipy.optimize import least_squares

# How far a hand's peak speed may lie off the middle of its move: u + skew · u (1 − u) in place of u.
MOST_SKEW = 0.6


@dataclass(frozen=True, eq=False, kw_only=True)
class FreeReturn:
    """A second-order system let go at ``start_s`` from ``from_mm``, coming to rest at ``to_mm``.

    frequency_hz : undamped natural frequency; damping : damping ratio; rms_mm : residual of the fit
    """

    start_s: float
    from_mm: float
    to_mm: float
    frequency_hz: float
    damping: float
    rms_mm: float


@dataclass(frozen=True, eq=False, kw_only=True)
class GuidedMove:
    """A minimum-jerk move (Flash and Hogan, J. Neurosci. 5, 1985) and the residual of its fit."""

    start_s: float
    duration_s: float
    rms_mm: float


def step_decay(t: np.ndarray, frequency_hz: float, damping: float) -> np.ndarray:
    """What is left of a unit displacement let go at t = 0, of a second-order system; 1 before, (n,).

    x'' + 2 ζ ω x' + ω² x = 0, x(0) = 1, x'(0) = 0.
    """
    omega = 2 * np.pi * frequency_hz
    since = np.maximum(t, 0.0)
    if damping < 0.999:
        root = np.sqrt(1 - damping**2)
        swing = omega * root * since
        return np.exp(-damping * omega * since) * (np.cos(swing) + damping / root * np.sin(swing))
    root = np.sqrt(max(damping**2 - 1, 1e-6))
    slow, fast = omega * (damping - root), omega * (damping + root)
    return (fast * np.exp(-slow * since) - slow * np.exp(-fast * since)) / (fast - slow)


def minimum_jerk(t: np.ndarray) -> np.ndarray:
    """10 u³ − 15 u⁴ + 6 u⁵ with u held to 0…1, (n,)."""
    u = np.clip(t, 0.0, 1.0)
    return u**3 * (10 - 15 * u + 6 * u**2)


def fit_free_return(time_s: np.ndarray, values_mm: np.ndarray) -> FreeReturn | None:
    """Fit a free return to a stretch that begins before the let-go and ends at rest; None where it fails."""
    first, last = _ends(values_mm)
    if abs(first - last) < 1e-9:
        return None
    half_s = _time_at_share(time_s, values_mm, first, last, 0.5)

    def model(p: np.ndarray) -> np.ndarray:
        return last + p[3] + (first + p[2] - last - p[3]) * step_decay(time_s - p[0], np.exp(p[1]), p[4])

    reach = 0.25 * abs(first - last)
    low = [time_s[0], np.log(0.3), -reach, -reach, 0.02]
    high = [time_s[-1], np.log(20.0), reach, reach, 4.0]
    best = None
    for frequency in (1.5, 4.0, 8.0):
        for damping in (0.3, 1.0):
            start_s = np.clip(half_s - 0.19 / frequency, time_s[0] + 1e-6, time_s[-1] - 1e-6)
            start = [start_s, np.log(frequency), 0.0, 0.0, damping]
            fit = least_squares(lambda p: model(p) - values_mm, start, bounds=(low, high), max_nfev=60)
            if best is None or fit.cost < best.cost:
                best = fit
    assert best is not None
    p = best.x
    return FreeReturn(
        start_s=float(p[0]), from_mm=float(first + p[2]), to_mm=float(last + p[3]), frequency_hz=float(np.exp(p[1])),
        damping=float(p[4]), rms_mm=float(np.sqrt(2 * best.cost / values_mm.size)),
    )  # fmt: skip


def half_swing(t: np.ndarray, duration: float, damping: float) -> np.ndarray:
    """What is left of a unit displacement let go at t = 0 that friction holds at its first standstill, (n,): 1 to 0.

    A second-order swing about a point that dry friction shifts, cut where the speed first falls to zero.
    """
    frequency = 1 / (2 * duration * np.sqrt(1 - damping**2))
    first_stop = -np.exp(-np.pi * damping / np.sqrt(1 - damping**2))
    return (step_decay(np.clip(t, 0, duration), frequency, damping) - first_stop) / (1 - first_stop)


def fit_half_swing(time_s: np.ndarray, values_mm: np.ndarray) -> FreeReturn | None:
    """Fit a return that dry friction ends at its first standstill; ``to_mm`` is where it stands."""
    first, last = _ends(values_mm)
    if abs(first - last) < 1e-9:
        return None
    early = _time_at_share(time_s, values_mm, first, last, 0.1)
    late = _time_at_share(time_s, values_mm, first, last, 0.9)
    duration = float(np.clip((late - early) / 0.59, max(4 * (time_s[1] - time_s[0]), 0.021), 2.9))

    def residuals(p: np.ndarray) -> np.ndarray:
        return p[3] + (p[2] - p[3]) * half_swing(time_s - p[0], np.exp(p[1]), p[4]) - values_mm

    start = [(early + late) / 2 - duration / 2, np.log(duration), first, last, 0.3]
    bounds = ([-np.inf, np.log(0.02), -np.inf, -np.inf, 0.0], [np.inf, np.log(3.0), np.inf, np.inf, 0.95])
    fit = least_squares(residuals, start, bounds=bounds, max_nfev=80)
    p = fit.x
    return FreeReturn(
        start_s=float(p[0]), from_mm=float(p[2]), to_mm=float(p[3]), damping=float(p[4]),
        frequency_hz=float(1 / (2 * np.exp(p[1]) * np.sqrt(1 - p[4] ** 2))),
        rms_mm=float(np.sqrt(2 * fit.cost / values_mm.size)),
    )  # fmt: skip


def fit_guided_move(time_s: np.ndarray, values_mm: np.ndarray) -> GuidedMove | None:
    """Fit a minimum-jerk move, its peak early or late as hands have it, to the same stretch; None where it fails."""
    first, last = _ends(values_mm)
    if abs(first - last) < 1e-9:
        return None
    early = _time_at_share(time_s, values_mm, first, last, 0.1)
    late = _time_at_share(time_s, values_mm, first, last, 0.9)
    # 10 to 90 % of a minimum-jerk move take 0.5067 of its duration.
    duration = float(np.clip((late - early) / 0.5067, max(4 * (time_s[1] - time_s[0]), 0.021), 4.9))

    def residuals(p: np.ndarray) -> np.ndarray:
        u = np.clip((time_s - p[0]) / np.exp(p[1]), 0.0, 1.0)
        return p[2] + (p[3] - p[2]) * minimum_jerk(u + p[4] * u * (1 - u)) - values_mm

    start = [(early + late) / 2 - duration / 2, np.log(duration), first, last, 0.0]
    bounds = ([-np.inf, np.log(0.02), -np.inf, -np.inf, -MOST_SKEW], [np.inf, np.log(5.0), np.inf, np.inf, MOST_SKEW])
    fit = least_squares(residuals, start, bounds=bounds, max_nfev=80)
    return GuidedMove(
        start_s=float(fit.x[0]), duration_s=float(np.exp(fit.x[1])),
        rms_mm=float(np.sqrt(2 * fit.cost / values_mm.size)),
    )  # fmt: skip


def _ends(values: np.ndarray) -> tuple[float, float]:
    edge = max(values.size // 20, 1)
    return float(np.median(values[:edge])), float(np.median(values[-edge:]))


def _time_at_share(time_s: np.ndarray, values: np.ndarray, first: float, last: float, share: float) -> float:
    progress = (values - first) / (last - first)
    reached = np.flatnonzero(progress >= share)
    return float(time_s[reached[0]]) if reached.size else float(time_s[-1])
