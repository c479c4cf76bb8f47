"""Knock: the blow of the dogs as the gear goes in, at the gearbox or the lever."""

import numpy as np
from scipy import signal

from shiftlog.measure.scene import Scene
from shiftlog.model.car import NEUTRAL
from shiftlog.model.reading import Reading, measured, unmeasured
from shiftlog.model.recording import Calibration
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
# So long before the end the dogs have not struck yet: they strike within a few milliseconds of it.
EARLY_S = 0.008
# Background is read this far from the window: outside it the blow has died away.
BACKGROUND_S = 0.08
# Clashing teeth are louder than gears that whine with the clutch up instead of down.
CLASHED = 2.0
# So many draws tell a mean shift to a seventh of the scatter.
DRAWS = 50
KEYS = ("knock_peak_mps2", "knock_energy_m2s3")


def measure_knock(shift: Shift, scene: Scene) -> tuple[Reading, ...]:
    """Peak and energy of the blow at the end of a shift."""
    accel = scene.signals.accel.get("gearbox") or scene.signals.accel.get("lever")
    lacks = "no accelerometer at the gearbox or the lever"
    why = scene.why_no_accel("gearbox", "lever", lacks=lacks) if accel is None else _why_not(shift)
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
    if why is None and _clipped(accel, shift.end_s, scene.settings):
        why = f"{accel.recording} reached the end of its range in the blow, which was harder; fit one of greater range"
    band = None if why else cut_band(accel, shift.end_s, scene.settings)
    if band is None:
        why = why or f"{accel.recording} has a gap here"
        return tuple(unmeasured(key, why) for key in KEYS)
    gain = scene.signals.calibration.get(accel.recording, Calibration()).gain
    return _figures(*band, shift.end_s, gain, scene.settings)


def _why_not(shift: Shift) -> str | None:
    if shift.seen_by != "lever":
        return "without a lever the moment the dogs meet is not known"
    if shift.outcome == "missed":
        return "the gear did not go in"
    if shift.to_gear == NEUTRAL or shift.end_s is None:
        return "no gear went in"
    return None


def _clipped(accel: Trace, end_s: float, settings: Settings) -> bool:
    if accel.clipped is None:
        return False
    window = (accel.time_s >= end_s - settings.knock_before_s) & (accel.time_s <= end_s + settings.knock_after_s)
    return bool(accel.clipped[window].any())


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


def _figures(time: np.ndarray, band: np.ndarray, end_s: float, gain: float, settings: Settings) -> tuple[Reading, ...]:
    """Peak and energy, the background's part taken off; gain : standard uncertainty of the sensor's, as a share.

    Teeth that clash until just before the blow are no part of it: what is heard before the dogs can strike is left out,
    and as much again may ring on into the blow, or none of it.
    """
    power = np.sum(band**2, axis=1)
    first, last = end_s - settings.knock_before_s, end_s + settings.knock_after_s
    strikes_s = end_s - EARLY_S
    early, struck = ((time >= a) & (time < b) for a, b in ((first, strikes_s), (strikes_s, last)))
    beside = _beside(time, band, end_s - BACKGROUND_S, last + BACKGROUND_S)
    background, background_u = _background([np.mean(np.sum(side**2, axis=1)) for side in beside])
    clashes = max(float(power[early].mean()) - background, 0.0)
    peak, peak_u = _peak(band[struck], _unclashed(beside), clashes)
    step, lasts, rings = time[1] - time[0], last - strikes_s, clashes * (strikes_s - first)
    energy = max(float(np.sum(power[struck]) * step) - background * lasts - rings / 2, 0.0)
    bandwidth_hz = min(settings.knock_high_hz, settings.knock_high_share / (UPSAMPLING * step)) - settings.knock_low_hz
    # A background of n degrees of freedom, 2 · bandwidth · time on three axes, scatters by √(2/n) of itself, here and
    # where it was read; along the blow it adds and takes away as well. Orders and whine leave it half of that freedom.
    scatter = background * lasts * np.sqrt(2 * 4 / (6 * bandwidth_hz * lasts))
    across = np.sqrt(2 * 2 * energy * (background + rings / (2 * lasts)) / (3 * bandwidth_hz))
    energy_u = np.linalg.norm((scatter, background_u * lasts, across, rings / np.sqrt(12), 2 * gain * energy))
    return (
        measured(KEYS[0], peak, uncertainty=float(np.hypot(peak_u, gain * peak)), least=0.0),
        measured(KEYS[1], energy, uncertainty=float(energy_u), least=0.0),
    )


def _beside(time: np.ndarray, band: np.ndarray, before_s: float, after_s: float) -> list[np.ndarray]:
    """The band on either side of the blow, where there are data, each (k, 3)."""
    inside = (
        (time >= before_s - MARGIN_S / 2) & (time < before_s),
        (time > after_s) & (time <= after_s + MARGIN_S / 2),
    )
    return [band[side] for side in inside if side.any()]


def _background(powers: list[float]) -> tuple[float, float]:
    """Mean power under the blow and its standard uncertainty, from that on either side.

    It may be as on one side or as on the other (rectangular); a side louder than ``CLASHED`` times the other clashed.
    """
    if not powers:
        return 0.0, 0.0
    low, high = min(powers), min(max(powers), CLASHED * min(powers))
    return float((low + high) / 2), float((high - low) / np.sqrt(12))


def _unclashed(beside: list[np.ndarray]) -> list[np.ndarray]:
    """Both sides, of which one that clashed is made no louder than such a side may be."""
    least = min((float(np.mean(side**2)) for side in beside), default=0.0)
    return [side * np.sqrt(min(1.0, CLASHED * least / max(float(np.mean(side**2)), 1e-12))) for side in beside]


def _peak(blow: np.ndarray, beside: list[np.ndarray], clashes: float) -> tuple[float, float]:
    """Peak of the norm of a blow (m, 3), and its standard uncertainty from what rides on it.

    Of crests of like height the one that the background lifts is the peak. How much the background lifts and scatters
    it is seen by laying more of it, from either side (k, 3), over the blow; so much was lifted already.
    clashes : power that rings on into it, or not: half on average, and two of its three axes lie across the blow
    """
    seen = float(np.sqrt(np.max(np.sum(blow**2, axis=1))))
    lifted, scatter = 0.0, 0.0
    if beside:
        rng = np.random.default_rng(len(blow))
        noises = [beside[i % len(beside)] for i in range(DRAWS)]
        more = [np.resize(np.roll(noise, rng.integers(len(noise)), axis=0), blow.shape) for noise in noises]
        signs = rng.choice([-1.0, 1.0], (DRAWS, 1, 3))
        peaks = np.sqrt(np.max(np.sum((blow + signs * np.array(more)) ** 2, axis=2), axis=1))
        lifted, scatter = float(peaks.mean()) - seen, float(peaks.std())
    peak = np.sqrt(max(max(seen - lifted, 0.0) ** 2 - clashes / 3, 0.0))
    return float(peak), float(np.hypot(scatter, np.sqrt(clashes / 3)))
