"""What a grind truly was, by the definition, from what the gearbox did before any sensor."""

from dataclasses import dataclass

import numpy as np
from scipy import signal

from tests.truth.grind_course import Turn


@dataclass(frozen=True, kw_only=True)
class TrueGrind:
    """clashed; level_db over the true background, duration_s; tooth_hz : the middle of the loudest clash, or None."""

    clashed: bool
    level_db: float | None
    duration_s: float | None
    tooth_hz: float | None


def true_grind(
    turn: Turn, time_s: np.ndarray, whole: np.ndarray, bare: np.ndarray, *, rate_hz: float, rolling: bool
) -> TrueGrind:
    """By the definition; the background is the quieter of half a second before and of the window without the teeth."""
    tooth_hz = float(np.mean([c.from_hz + c.to_hz for c in turn.clashes])) / 2 if turn.clashes else None
    if turn.window_s is None:
        return TrueGrind(clashed=bool(turn.clashes), level_db=None, duration_s=None, tooth_hz=tooth_hz)
    low_hz = 150.0 if rolling or tooth_hz is None else min(150.0, tooth_hz)
    first_s, last_s = turn.shift.start_s - 0.8, turn.window_s[1] + 0.3
    near = slice(*np.searchsorted(time_s, (first_s, last_s)))
    sos = signal.butter(4, (low_hz, 0.4 * rate_hz), "bandpass", fs=rate_hz, output="sos")
    shape = np.hanning(round(0.01 * rate_hz) + 2)[1:-1]
    loud = [
        np.convolve(np.sum(signal.sosfiltfilt(sos, x[near], axis=0) ** 2, axis=1), shape / shape.sum(), "same")
        for x in (whole, bare)
    ]
    centres = np.arange(first_s, last_s, 0.005)
    over, under = (np.interp(centres, time_s[near], x) for x in loud)
    inside = (centres >= turn.window_s[0] + 0.005) & (centres <= turn.window_s[1] - 0.005)
    before = (centres >= turn.shift.start_s - 0.55) & (centres <= turn.shift.start_s - 0.05)
    background = min(np.median(under[inside]), np.median(under[before]))
    stands = inside & (over >= 10**0.6 * background)
    level = np.mean(over[stands]) if stands.any() else over[inside].max()
    lasting = np.zeros(centres.size + 1, bool)
    lasting[:-1][stands] = lasting[1:][stands] = True
    return TrueGrind(
        clashed=bool(turn.clashes), level_db=float(10 * np.log10(level / background)),
        duration_s=0.005 * float(lasting.sum()), tooth_hz=tooth_hz,
    )  # fmt: skip
