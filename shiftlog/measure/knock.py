"""Knock: the blow of the dogs as the gear goes in, at the gearbox or the lever."""

import numpy as np
from scipy import signal

from shiftlog.measure.scene import Scene
from shiftlog.model.car import NEUTRAL
from shiftlog.model.reading import Reading, measured, unmeasured
from shiftlog.model.settings import Settings
from shiftlog.model.shift import Shift
from shiftlog.model.trace import Trace
from shiftlog.signal.filter import band_pass
from shiftlog.signal.resample import resample_smoothly

UPSAMPLING = 8
# Data on either side of the window, for the filters to settle: many periods of the lower edge.
MARGIN_S = 0.4
# Half the time before the end of a shift that the window opens: beyond it the blow may fall outside.
CLOCK_SHARE = 0.5
# A recorder set to a rate misses it by its crystal and a lost sample or two.
NEARLY = 0.95
KEYS = ("knock_peak_mps2", "knock_energy_m2s3")


def measure_knock(shift: Shift, scene: Scene) -> tuple[Reading, ...]:
    """Peak and energy of the blow at the end of a shift."""
    accel = scene.signals.accel.get("gearbox") or scene.signals.accel.get("lever")
    why = "no accelerometer at the gearbox or the lever" if accel is None else _why_not(shift)
    if why is None and accel.rate_hz < NEARLY * scene.settings.knock_least_rate_hz:
        why = (
            f"{accel.recording} samples at {accel.rate_hz:.0f} Hz; a knock needs "
            f"{scene.settings.knock_least_rate_hz:.0f} Hz or more"
        )
    apart_s = 0.0 if accel is None else scene.signals.clock_u_s.get(accel.recording, 0.0)
    if why is None and apart_s > CLOCK_SHARE * scene.settings.knock_before_s:
        why = (
            f"the clock of {accel.recording} is known to ± {1000 * apart_s:.0f} ms only, too loose to find the blow at "
            "the end of a shift; log lever and gearbox with one recorder, or a motion sensor beside the lever's log"
        )
    blow = None if why else cut_band(accel, shift.end_s, scene.settings)
    if blow is None:
        why = why or f"{accel.recording} has a gap here"
        return tuple(unmeasured(key, why) for key in KEYS)
    return _figures(*blow, shift.end_s, scene.settings)


def _why_not(shift: Shift) -> str | None:
    if shift.seen_by != "lever":
        return "without a lever the moment the dogs meet is not known"
    if shift.outcome == "missed":
        return "the gear did not go in"
    if shift.to_gear == NEUTRAL or shift.end_s is None:
        return "no gear went in"
    return None


def cut_band(accel: Trace, end_s: float, settings: Settings) -> tuple[np.ndarray, np.ndarray] | None:
    """The blow's band round a shift's end, interpolated: times (m,) and each axis (m, 3), or None in a gap."""
    first, last = end_s - settings.knock_before_s - MARGIN_S, end_s + settings.knock_after_s + MARGIN_S
    span = next(((a, b) for a, b in accel.spans if a <= end_s - settings.knock_before_s and b >= end_s + 0.1), None)
    if span is None:
        return None
    first, last = max(first, span[0]), min(last, span[1])
    near = (accel.time_s >= first - 0.01) & (accel.time_s <= last + 0.01)
    time, even = resample_smoothly(
        accel.time_s[near], accel.values[near], rate_hz=accel.rate_hz, start_s=first, end_s=last
    )
    high = min(settings.knock_high_share * accel.rate_hz, settings.knock_high_hz)
    band = band_pass(even, accel.rate_hz, settings.knock_low_hz, high, order=4)
    fine = signal.resample_poly(band, UPSAMPLING, 1, axis=0)
    return time[0] + np.arange(len(fine)) / (UPSAMPLING * accel.rate_hz), fine


def _figures(time: np.ndarray, band: np.ndarray, end_s: float, settings: Settings) -> tuple[Reading, ...]:
    norm = np.linalg.norm(band, axis=1)
    window = (time >= end_s - settings.knock_before_s) & (time <= end_s + settings.knock_after_s)
    before = norm[(time < end_s - 0.1) & (time > end_s - 0.1 - MARGIN_S / 2)]
    background = float(np.sqrt(np.mean(before**2))) if before.size else 0.0
    step = time[1] - time[0]
    peak, energy = float(norm[window].max()), float(np.sum(norm[window] ** 2) * step)
    # One axis of the background rides on the peak; the energy of the background over the window rides on the energy.
    rides = background / np.sqrt(3)
    return (
        measured(KEYS[0], peak, uncertainty=rides, interval95=(max(peak - 1.96 * rides, 0.0), peak + 1.96 * rides)),
        measured(KEYS[1], energy, uncertainty=background**2 * float(np.sum(window)) * step),
    )
