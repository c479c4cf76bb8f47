"""How loud a burst stands over its background, and for how long."""

import numpy as np
from scipy.special import ndtri

from shiftlog.measure.usual_sound import Usual
from shiftlog.model.reading import Reading, measured
from shiftlog.model.shift import Shift
from shiftlog.signal.loudness import HOP_S, WINDOW_S

KEYS = ("grind_level_db", "grind_duration_s")
BURST_DB = 6.0
"""By definition a window belongs to a burst from this over the background on."""
LEAST_WINDOWS, LONG_WINDOWS = 3, 11
"""Fewer make no burst that could be a clash; more, 60 ms, last longer than one blow is loud."""
BEFORE_S = (0.55, 0.05)
LEAST_NEUTRAL, LONGEST_NEUTRAL = 6, 60
"""Windows in neutral: fewer tell nothing, and what lies longer back is another stretch of road."""
SCATTER_DB, DRIFTS_DB = 3.0, 1.0
"""Of one window of 10 ms about its mean; of the mean from neutral to the push."""
FILTER_DB = 0.3
"""Uneven samples, and a sensor's own noise in a background of a few hundredths of m/s²."""
CLIPPED_DB = 6.0
"""Peaks cut off may have been twice as high."""
_DRAWS = ndtri((np.arange(200) + 0.5) / 200)


def measure_level(shift: Shift, usual: Usual, push: slice) -> tuple[Reading, Reading]:
    """Level [dB] and duration [s] of the windows at or above +6 dB, or the level of the highest where none is.

    A gain of the sensor goes out of the level: burst and background are its own.
    """
    over_db, background_u = over_background(shift, usual, push)
    loud = over_db >= BURST_DB
    level = 10 * np.log10(np.mean(10 ** (over_db[loud] / 10))) if loud.any() else over_db.max()
    clipped = float(np.mean(usual.sound.clipped[push][loud if loud.any() else slice(None)]))
    level_u = float(np.linalg.norm((background_u, FILTER_DB, CLIPPED_DB * np.sqrt(clipped))))
    return measured(KEYS[0], float(level), uncertainty=level_u), _duration(over_db, level_u)


def burst_windows(shift: Shift, usual: Usual, push: slice) -> int:
    """How many windows stand 6 dB over the background, as unsure as it is."""
    over_db, background_u = over_background(shift, usual, push)
    return int(np.count_nonzero(over_db >= BURST_DB - background_u))


def over_background(shift: Shift, usual: Usual, push: slice) -> tuple[np.ndarray, float]:
    """Each window of a push over the background, (k,), and the background's standard uncertainty [dB]."""
    background, background_u = _background_db(shift, usual, push)
    return 10 * np.log10(np.maximum(usual.sound.power[push], 1e-9)) - background, background_u


def neutral_off_db(shift: Shift, usual: Usual, push: slice, stands_db: np.ndarray) -> float | None:
    """How far the moments in neutral just before a push stand out, the median of (m,) [dB]; None where too few.

    The clutch is open then as in the push, and the speeds are the same: what is expected may be off by as much.
    """
    moments = _neutral(shift, usual, push)
    return float(np.median(stands_db[moments])) if moments.stop - moments.start >= LEAST_NEUTRAL else None


def _neutral(shift: Shift, usual: Usual, push: slice) -> slice:
    first_s = shift.start_s if shift.out_s is None else shift.out_s
    first = usual.sound.between(first_s + WINDOW_S / 2, first_s + 1.0).start
    stop = max(push.start - round(WINDOW_S / HOP_S), 0)
    return slice(max(first, stop - LONGEST_NEUTRAL), stop)


def _background_db(shift: Shift, usual: Usual, push: slice) -> tuple[float, float]:
    """Median power over the half second before, or with the clutch open at those speeds where that is less, and its
    standard uncertainty [dB].

    What is heard before is known. What the open clutch leaves is expected from the whole drive, and heard for a moment
    in neutral; both are unsure, and count by how much. The lesser of known and unsure is a mean over where it may lie.
    """
    sound = usual.sound
    before = sound.power[sound.between(shift.start_s - BEFORE_S[0], shift.start_s - BEFORE_S[1])]
    heard, expected = (10 * np.log10(max(float(np.median(p)), 1e-9)) for p in (before, usual.expected[push]))
    over_db = 10 * np.log10(np.maximum(sound.power, 1e-9) / usual.expected)
    moments, weight = _neutral(shift, usual, push), usual.wander_db**-2
    if moments.stop - moments.start >= LEAST_NEUTRAL:
        moment_u = np.hypot(SCATTER_DB / np.sqrt((moments.stop - moments.start) / 2), DRIFTS_DB)
        own = moment_u**-2 / (moment_u**-2 + weight)
        expected += own * float(np.median(over_db[moments]))
        weight += moment_u**-2
    lesser = np.minimum(heard, expected + weight**-0.5 * _DRAWS)
    return float(lesser.mean()), float(lesser.std())


def _duration(over_db: np.ndarray, level_u: float) -> Reading:
    """The union of the windows of a burst; those that lie as near to 6 dB as the background is unsure may be or not."""
    lasts = _union_s(over_db >= BURST_DB)
    if not lasts and over_db.max() < BURST_DB - 2 * level_u:
        return measured(KEYS[1], 0.0)
    apart = abs(_union_s(over_db >= BURST_DB - level_u) - _union_s(over_db >= BURST_DB + level_u)) / 2
    return measured(KEYS[1], lasts, uncertainty=float(np.hypot(apart, HOP_S)), least=0.0)


def _union_s(loud: np.ndarray) -> float:
    stood = np.zeros(loud.size + 1, bool)
    stood[:-1][loud] = stood[1:][loud] = True
    return float(stood.sum() * HOP_S)
