"""The rate of blows that come ever more slowly: what it is where they begin, and which other rates explain them."""

from dataclasses import dataclass

import numpy as np
from scipy.ndimage import median_filter

FALLS = 33
"""Falls tried, from none to one that comes to rest within the stretch."""
HARMONICS, TOP_HZ = 16, 1000.0
"""As many as fit below the top, so that a rate and its double are judged by the same stretch of the spectrum."""
EXPECTED = 12.0
"""How far a harmonic that is there stands above its surroundings [power]; only its order of magnitude counts."""
MOST = 30.0
"""What one harmonic may count at the most, so that no single line of the engine decides."""
AROUND_HZ = 60.0
FINEST_HZ = 0.5
LEAST_SHARE_LEFT = 0.05
GRID_SHARE, FALL_SHARE = 0.02, 0.02
"""The grid moves the first rate by about the first share; a fall to rest that is not quite even by so much more."""
INDEPENDENT = 0.5
"""Loudness and sound tell partly the same, and so do neighbouring bins: their evidence counts half."""
ONE_SHARE = 0.12
"""Rates nearer to one another than this share are one and the same."""
LEAST_WEIGHT = 1e-4


@dataclass(frozen=True, eq=False, kw_only=True)
class FallingTone:
    """from_hz : where it begins [Hz], with its standard uncertainty u_hz; fall_hzps : how fast it falls [Hz/s]

    strength : log of how much better it explains the stretch than no tone does; weight : its share of all that may be
    """

    from_hz: float
    u_hz: float
    fall_hzps: float
    strength: float
    weight: float


def find_falling_tones(values: np.ndarray, rate_hz: float, *, low_hz: float, high_hz: float) -> tuple[FallingTone, ...]:
    """Rates of blows that may explain a stretch, the likeliest first; none where it is too short for the lowest.

    values : (n, k) evenly sampled, one column a direction; low_hz, high_hz : where the rate may begin [Hz]

    Time is stretched so that a rate that falls evenly becomes steady; then its harmonics stand in one spectrum, and
    each is weighed against the spectrum around it. A harmonic that is missing counts against a rate, so that neither
    the half nor the double of it wins. The loudness swings at the rate even where no blow rings like the one before;
    where they ring alike the sound itself holds the harmonics too: the two are judged together.
    """
    lasts_s = values.shape[0] / rate_hz
    if lasts_s < 2 / low_hz or high_hz <= low_hz:
        return ()
    tried_hz = np.arange(low_hz, high_hz, FINEST_HZ)
    time_s = np.arange(values.shape[0]) / rate_hz
    loudness = np.sum(values**2, axis=1, keepdims=True) ** 0.25
    shares = np.linspace(0.0, 1 - LEAST_SHARE_LEFT, FALLS)
    scores = np.stack([
        sum(_score(of, rate_hz, stretch(time_s, share), tried_hz) for of in (loudness - loudness.mean(), values))
        for share in shares
    ])  # fmt: skip
    return _peaks(scores, tried_hz, shares / lasts_s)


def stretch(time_s: np.ndarray, share: float) -> np.ndarray:
    """Time in which a tone that loses this share of its frequency by the end, evenly, is steady, (n,) [s]."""
    return time_s - share * time_s**2 / (2 * time_s[-1])


def _peaks(scores: np.ndarray, tried_hz: np.ndarray, rates_of_fall: np.ndarray) -> tuple[FallingTone, ...]:
    """What stands out of (k, f) log likelihoods over k relative falls [1/s] and f first rates."""
    weight = np.exp(INDEPENDENT * (scores - scores.max())).sum(axis=0)
    weight /= weight.sum()
    found, left = [], weight.copy()
    while left.max() > LEAST_WEIGHT:
        best_hz = tried_hz[int(np.argmax(left))]
        near = (np.abs(tried_hz / best_hz - 1) < ONE_SHARE) & (left > 0)
        mean_hz = float(np.average(tried_hz[near], weights=left[near]))
        spread_hz = float(np.sqrt(np.average((tried_hz[near] - mean_hz) ** 2, weights=left[near])))
        fall, at = np.unravel_index(int(np.argmax(np.where(near, scores, -np.inf))), scores.shape)
        model_hz = (GRID_SHARE + FALL_SHARE * rates_of_fall[fall] / rates_of_fall[-1]) * mean_hz
        found.append(FallingTone(
            from_hz=mean_hz, u_hz=float(np.hypot(spread_hz, model_hz)), weight=float(left[near].sum()),
            fall_hzps=mean_hz * float(rates_of_fall[fall]), strength=float(scores[fall, at]),
        ))  # fmt: skip
        left[near] = 0.0
    return tuple(sorted(found, key=lambda tone: -tone.weight))


def _score(values: np.ndarray, rate_hz: float, stretched: np.ndarray, tried_hz: np.ndarray) -> np.ndarray:
    """Log likelihood over no tone of each frequency where it begins, for one course."""
    time_s = np.arange(values.shape[0]) / rate_hz
    even = np.arange(0.0, stretched[-1], 1 / rate_hz)
    at = np.interp(even, stretched, time_s)
    columns = np.stack([np.interp(at, time_s, column) for column in values.T], axis=1)
    size = int(2 ** np.ceil(np.log2(max(4 * even.size, rate_hz / FINEST_HZ))))
    power = np.sum(np.abs(np.fft.rfft(columns * np.hanning(even.size)[:, None], size, axis=0)) ** 2, axis=1)
    step_hz = rate_hz / size
    floor = median_filter(power, max(int(2 * AROUND_HZ / step_hz), 3), mode="nearest") / np.log(2)
    above = np.minimum(power / np.maximum(floor, 1e-30), MOST)
    total = np.zeros(tried_hz.size)
    for harmonic in range(1, HARMONICS + 1):
        at_bin = np.round(harmonic * tried_hz / step_hz).astype(int)
        heard = harmonic * tried_hz < min(0.4 * rate_hz, TOP_HZ)
        level = above[np.minimum(at_bin, above.size - 1)]
        total += np.where(heard, level * EXPECTED / (1 + EXPECTED) - np.log(1 + EXPECTED), 0.0)
    return total
