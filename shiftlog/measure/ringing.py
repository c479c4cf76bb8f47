"""What rings on after a blow, and what is struck anew: teeth that clash strike again and again, a blow only once."""

import numpy as np
from scipy.ndimage import median_filter, uniform_filter1d

from shiftlog.measure.scene import Scene
from shiftlog.measure.sound import Sound

BLOW_S = (0.02, 0.12)
"""The dogs' blow falls so near before or after the end of a shift."""
CLEAR = 10.0
"""Ringing is read while it stands 10 dB over what is usual."""
LEAST_BLOWS, LEAST_STEPS = 5, 3
USUAL_KEPT, SLOW_QUANTILE = 0.7, 0.8
"""Of its power a casing keeps so much from one window to the next where too few blows tell (an amplitude that falls to
1/e in 28 ms); where they do, those that ring longer count."""
KEPT_LIMITS = (0.3, 0.9)
SLOWER = 0.7
"""Beats let a casing ring now faster and now slower than on the whole: it may lose so much of its decibels only."""
STRIKES = 9
"""One blow is new in three windows that overlap it; of so many more than half must be struck anew."""
EVENED, LONGER = 3, 11
"""Teeth strike unevenly, and after a hard one it is quieter: over three windows that evens out. One blow is then new in
five, and of so many more than half must be."""


def learn_ringing(sound: Sound, expected: np.ndarray, scene: Scene) -> np.ndarray:
    """Share of its power that each part of the band keeps from window to window, (p,), from the dogs' own blows.

    expected : (p, m)
    """
    kept: list[list[float]] = [[] for _ in expected]
    for shift in scene.shifts:
        if shift.end_s is None:
            continue
        near = sound.between(shift.end_s - BLOW_S[0], shift.end_s + BLOW_S[1])
        for blows, power, usual in zip(kept, sound.parts[near].T, expected[:, near], strict=True):
            blows += _kept_after_blow(power, usual)
    low, high = KEPT_LIMITS
    return np.array([
        np.clip(np.quantile(blows, SLOW_QUANTILE) ** SLOWER, low, high) if len(blows) >= LEAST_BLOWS else USUAL_KEPT
        for blows in kept
    ])  # fmt: skip


def _kept_after_blow(power: np.ndarray, usual: np.ndarray) -> list[float]:
    """Mean share kept from the peak's next window to the last that is clear, one value or none."""
    if power.size < LEAST_STEPS:
        return []
    peak = int(np.argmax(power))
    faint = np.flatnonzero(power[peak:] < CLEAR * usual[peak:])
    after = power[peak + 1 : peak + (int(faint[0]) if faint.size else power.size)]
    # A sensor that stands still in places is silent there: nothing of a blow is kept of nothing.
    rings = after.size > LEAST_STEPS and after[0] > 0
    return [float((after[-1] / after[0]) ** (1 / (after.size - 1)))] if rings else []


def struck_anew(parts: np.ndarray, expected: np.ndarray, kept: np.ndarray) -> np.ndarray:
    """How far what is struck anew stands over the usual in each window, steady sound as its own level, (m,).

    parts, expected : (p, m) power
    """
    before = np.concatenate([parts[:, :1], parts[:, :-1]], axis=1)
    new = (parts - kept[:, None] * before) / ((1 - kept[:, None]) * np.maximum(expected, 1e-9))
    anew = np.mean(new, axis=0)
    evened = uniform_filter1d(anew, EVENED, mode="nearest")
    lasts = median_filter(anew, size=STRIKES, mode="nearest"), median_filter(evened, size=LONGER, mode="nearest")
    return np.maximum(np.maximum(*lasts), 1e-3)
