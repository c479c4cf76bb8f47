"""What a grind truly was: level, duration and tone by the definition, from what the gearbox did without any sensor."""

from dataclasses import dataclass

import numpy as np
from scipy import signal

from shiftlog.model.car import NEUTRAL
from shiftlog.model.reading import Reading, measured, unmeasured
from shiftlog.model.shift import Shift
from shiftlog.synth.clash import Clash

KEYS = ("grind", "grind_level_db", "grind_duration_s")
LOW_HZ, HIGH_SHARE = 150.0, 0.4
STANDING_SHARE = 0.7
"""At standstill the band begins below the clash's own tone; this much below, to hold its filter's edge."""
WINDOW_S, HOP_S = 0.010, 0.005
LOUD = 10 ** (6 / 20)
NOMINAL_HZ = 800.0


@dataclass(frozen=True, eq=False, kw_only=True)
class Gearbox:
    """What the gearbox's recorder would have written without noise: times (n,), with all (n, 3), without clashes."""

    time_s: np.ndarray
    whole: np.ndarray
    bare: np.ndarray
    rate_hz: float


def grind_readings(shift: Shift, clash: Clash | None, gearbox: Gearbox | None) -> list[Reading]:
    """Whether teeth clashed, how loud and how long."""
    if gearbox is None or gearbox.rate_hz < NOMINAL_HZ:
        why = "no recorder at the gearbox" if gearbox is None else "the recorder at the gearbox is below 800 Hz"
        return [unmeasured(key, why) for key in KEYS]
    if clash is None and shift.to_gear == NEUTRAL:
        return [unmeasured(key, "no gear was tried") for key in KEYS]
    if clash is None:
        return [measured(KEYS[0], False), *(unmeasured(key, "no teeth clashed") for key in KEYS[1:])]
    level, duration = true_level(shift, clash, gearbox)
    return [measured(KEYS[0], True), measured(KEYS[1], level), measured(KEYS[2], duration)]


def true_level(shift: Shift, clash: Clash, gearbox: Gearbox) -> tuple[float, float]:
    """Level over the background [dB], and duration [s].

    The background is what the burst really stands in: the same windows without it, or those before the shift where
    they are quieter.
    """
    low = LOW_HZ if not shift.standing else STANDING_SHARE * float(np.median(clash.track_hz))
    centres, whole = _loudness(gearbox, gearbox.whole, low, shift.start_s - 1.0, clash.window_s[1] + 0.3)
    _, bare = _loudness(gearbox, gearbox.bare, low, shift.start_s - 1.0, clash.window_s[1] + 0.3)
    half = WINDOW_S / 2
    inside = (centres >= clash.window_s[0] + half) & (centres <= clash.window_s[1] - half)
    before = (centres >= shift.start_s - 0.55) & (centres <= shift.start_s - 0.05)
    background = min(float(np.median(bare[part])) for part in (inside, before) if part.any())
    loud = whole[inside & (whole >= LOUD * background)]
    if not loud.size:
        return 20 * float(np.log10(whole[inside].max() / background)), 0.0
    stood = np.zeros(centres.size + 1, dtype=bool)
    at = np.flatnonzero(inside & (whole >= LOUD * background))
    stood[at] = stood[at + 1] = True
    return 20 * float(np.log10(np.sqrt(np.mean(loud**2)) / background)), float(np.sum(stood)) * HOP_S


def _loudness(
    gearbox: Gearbox, accel: np.ndarray, low_hz: float, first_s: float, last_s: float
) -> tuple[np.ndarray, np.ndarray]:
    """Short-time r.m.s. of the norm in Hann windows: centres (k,) [s], (k,) [m/s²]."""
    near = slice(*np.searchsorted(gearbox.time_s, (first_s, last_s)))
    rate_hz = gearbox.rate_hz
    even = np.arange(gearbox.time_s[near][0], gearbox.time_s[near][-1], 1 / rate_hz)
    course = np.stack([np.interp(even, gearbox.time_s[near], accel[near, k]) for k in range(3)], axis=1)
    sos = signal.butter(4, (low_hz, HIGH_SHARE * rate_hz), "bandpass", fs=rate_hz, output="sos")
    power = np.sum(signal.sosfiltfilt(sos, course, axis=0) ** 2, axis=1)
    shape = signal.windows.hann(max(int(round(WINDOW_S * rate_hz)), 3), sym=True)
    smooth = np.convolve(power, shape / shape.sum(), mode="same")
    centres = np.arange(even[0], even[-1], HOP_S)
    return centres, np.sqrt(np.interp(centres, even, smooth))
