"""Damping of a free swing from its peaks: the logarithmic decrement."""

from dataclasses import dataclass

import numpy as np

CLEAR = 4.0
"""A peak must stand this many standard deviations out of the noise: the logarithm bends below."""

LEAST_PEAKS = 3
"""Two peaks always lie on an exponential; a third can disagree."""


@dataclass(frozen=True, eq=False, kw_only=True)
class Decrement:
    """Damping from peaks.

    decrement : natural logarithm of the ratio of peaks one period apart; damping : damping ratio
    uncertainty : standard uncertainty of the damping ratio; periods : between the first and the last peak used
    """

    decrement: float
    damping: float
    uncertainty: float
    periods: float


def log_decrement(first: float, last: float, *, periods: float) -> float:
    """δ = ln(x₀ / xₙ) / n. The peaks lie ``periods`` apart: from the first to the hundredth peak there are 99."""
    return float(np.log(first / last) / periods)


def damping_of(decrement: float) -> float:
    """ζ = δ / √(4π² + δ²), exact for a second-order system."""
    return float(decrement / np.hypot(2 * np.pi, decrement))


def fit_decrement(
    time_s: np.ndarray, swing: np.ndarray, *, guide: np.ndarray, frequency_hz: float, noise: float
) -> Decrement | None:
    """Logarithmic decrement of a swing about zero, or None where fewer than three peaks stand out of the noise.

    time_s, swing : (n,), the trend taken off; guide : (n,) the same swing as fitted, without noise, which says where
    the peaks are and how many count (peaks picked by their own height would be the lucky ones), or the swing itself
    frequency_hz : of the damped swing, to tell its peaks from ripple
    noise : standard deviation of what rides on a peak, same unit as ``swing``
    Crests and troughs count alike, each half a period on.
    """
    places = find_swing_peaks(time_s, guide, frequency_hz=frequency_hz)
    expected = np.array([_height(guide, i, _off(guide, i)) for i in places])
    low = np.flatnonzero(np.abs(expected) < CLEAR * noise)
    places = places[: low[0]] if low.size else places
    if len(places) < LEAST_PEAKS:
        return None
    first, last = (_height(swing, i, _off(guide, i)) * np.sign(guide[i]) for i in (places[0], places[-1]))
    if min(first, last) <= 0:
        return None
    periods = (len(places) - 1) / 2
    decrement = log_decrement(first, last, periods=periods)
    u_decrement = np.hypot(noise / first, noise / last) / periods
    slope = 4 * np.pi**2 / np.hypot(2 * np.pi, decrement) ** 3
    return Decrement(
        decrement=decrement, damping=damping_of(decrement), uncertainty=float(slope * u_decrement), periods=periods
    )


def find_swing_peaks(time_s: np.ndarray, swing: np.ndarray, *, frequency_hz: float) -> list[int]:
    """Places of crests and troughs in turn, half a period apart.

    The sequence ends where the next extreme does not come within a third of a half period of its place.
    """
    half_s = 0.5 / frequency_hz
    turns = np.flatnonzero(np.diff(np.sign(np.diff(swing))) != 0) + 1
    turns = turns[swing[turns] * (swing[turns - 1] + swing[turns + 1] - 2 * swing[turns]) < 0]
    early = turns[time_s[turns] <= time_s[0] + 2 * half_s]
    if not early.size:
        return []
    chosen = [int(early[np.argmax(np.abs(swing[early]))])]
    while True:
        ahead = turns[np.abs(time_s[turns] - time_s[chosen[-1]] - half_s) < half_s / 3]
        ahead = ahead[swing[ahead] * swing[chosen[-1]] < 0]
        if not ahead.size:
            return chosen
        chosen.append(int(ahead[np.argmax(np.abs(swing[ahead]))]))


def _off(swing: np.ndarray, at: int) -> float:
    """How far the top of the parabola through three samples lies from the middle one, in samples."""
    left, middle, right = swing[at - 1 : at + 2]
    bend = left - 2 * middle + right
    return float((left - right) / (2 * bend)) if bend else 0.0


def _height(swing: np.ndarray, at: int, off: float) -> float:
    """The parabola through three samples, ``off`` samples from the middle one."""
    left, middle, right = swing[at - 1 : at + 2]
    return float(middle + off * (right - left) / 2 + off**2 * (left - 2 * middle + right) / 2)
