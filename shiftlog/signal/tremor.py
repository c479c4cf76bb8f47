"""A hand on a lever trembles, nudges and sways: where a lying lever is touched and where it is left alone."""

import numpy as np
from scipy import signal

BAND_HZ = (7.0, 13.0)
"""Physiological tremor is 8 to 12 Hz (common knowledge, no source)."""
BLOCK_S = 0.1
TOUCHED_TIMES = 4.0
"""In-band power under a hand over that of a lever left alone. The two states part at 1.85 times; a stronger hand only
parts them better."""
SWITCH_COST = 4.2
"""In natural logarithms of the odds: a change of state by chance is as rare as one in 67 blocks."""
NUDGE_MM, NUDGE_S = 0.4, 0.3
"""A lever that nothing touches does not move so far in so short a time once it lies."""
NUDGE_SIGMAS = 5.0


def band_power(places_mm: np.ndarray, rate_hz: float) -> np.ndarray:
    """In-band power of blocks of 0.1 s, mean of both axes; (n, 2) mm → (n // block,) mm².

    Empty where the rate is too low for that band or the stretch shorter than two blocks.
    """
    block = round(BLOCK_S * rate_hz)
    count = places_mm.shape[0] // max(block, 1)
    if rate_hz < 3 * BAND_HZ[1] or count < 2:
        return np.zeros(0)
    sos = signal.butter(2, BAND_HZ, btype="bandpass", fs=rate_hz, output="sos")
    size = places_mm.shape[0]
    padded = np.pad(places_mm, ((size - 1, size - 1), (0, 0)), mode="reflect", reflect_type="odd")
    band = signal.sosfiltfilt(sos, padded, axis=0, padlen=0)[size - 1 : 2 * size - 1]
    return np.mean(band[: count * block].reshape(count, -1) ** 2, axis=1)


def white_power(noise_mm: float, rate_hz: float) -> float:
    """What white noise gives there, from the standard deviation of one reading of one axis [mm²]."""
    return float(noise_mm**2 * min(2 * (BAND_HZ[1] - BAND_HZ[0]) / rate_hz, 1.0))


def touch_odds(times: np.ndarray, trembles: float = TOUCHED_TIMES) -> np.ndarray:
    """Natural logarithm of the odds that a hand is on the lever, for each block of 0.1 s, (n,).

    times : in-band power over that of a lever left alone; trembles : the same of this hand on the average
    Both have chi-squared distributions of the freedom that band and block leave.
    """
    freedom = 2 * 2 * (BAND_HZ[1] - BAND_HZ[0]) * BLOCK_S
    return freedom / 2 * (times * (1 - 1 / trembles) - np.log(trembles))


def find_touched(
    places_mm: np.ndarray, rate_hz: float, *, floor_mm2: float, noise_mm: float, sway_odds: np.ndarray | None = None
) -> np.ndarray:  # fmt: skip
    """Where a hand is felt on a lever that lies; (n, 2) mm → (n,) bool.

    floor_mm2 : in-band power of a lever left alone; noise_mm : of one reading, one axis; sway_odds : what its sway
    says beside its tremor, natural logarithm of the odds for each block of 0.1 s
    The likeliest course of two states over blocks of 0.1 s (Viterbi, IEEE Trans. Inf. Theory 13, 1967), and nudges.
    """
    gain = touch_odds(band_power(places_mm, rate_hz) / floor_mm2)
    if sway_odds is not None:
        gain = gain + sway_odds if gain.size == sway_odds.size else sway_odds
    touched = np.zeros(places_mm.shape[0], bool)
    if gain.size:
        states = np.repeat(_likeliest(gain), round(BLOCK_S * rate_hz))
        touched[: states.size] = states
        touched[states.size :] = states[-1]
    return touched | _nudged(places_mm, rate_hz, noise_mm)


def _likeliest(gain: np.ndarray) -> np.ndarray:
    """States (n,) bool that earn the most: ``gain`` for each True, less the cost of each change."""
    best, came_from = np.array([0.0, gain[0]]), np.zeros((gain.size, 2), int)
    for k in range(1, gain.size):
        other = best[::-1] - SWITCH_COST
        came_from[k] = np.where(other > best, [1, 0], [0, 1])
        best = np.maximum(best, other) + (0.0, gain[k])
    states = np.zeros(gain.size, bool)
    state = int(best[1] > best[0])
    for k in range(gain.size - 1, -1, -1):
        states[k] = bool(state)
        state = int(came_from[k][state])
    return states


def _nudged(places_mm: np.ndarray, rate_hz: float, noise_mm: float) -> np.ndarray:
    """Where means over 0.15 s on both sides lie apart by a nudge."""
    half = max(round(NUDGE_S / 2 * rate_hz), 1)
    count = places_mm.shape[0]
    if count < 2 * half + 1:
        return np.zeros(count, bool)
    total = np.vstack([np.zeros(2), np.cumsum(places_mm, axis=0)])
    mean = (total[half:] - total[:-half]) / half
    apart = np.linalg.norm(mean[half:] - mean[:-half], axis=1)
    moved = np.zeros(count, bool)
    moved[half : half + apart.size] = apart > max(NUDGE_MM, NUDGE_SIGMAS * noise_mm * np.sqrt(4 / half))
    return moved
