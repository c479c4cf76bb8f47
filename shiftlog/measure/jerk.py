"""Driveline clunk: peak-to-peak longitudinal jerk at the body after take-up, the road's part taken off."""

from dataclasses import dataclass
from typing import Protocol

import numpy as np

from shiftlog.measure.along import Along, smooth_along
from shiftlog.measure.quiet import Windows, at_speed, count_near, cut_windows, find_quiet_spans
from shiftlog.measure.scene import Scene
from shiftlog.measure.take_up import TakeUp
from shiftlog.model.reading import K95, Reading, measured, unmeasured
from shiftlog.model.recording import Calibration
from shiftlog.model.trace import Trace

KEY = "jerk_p2p_mps3"
CORNER_HZ, ORDER = 30.0, 4
AFTER_S = 1.5
LEAST_AFTER_S = 0.7
"""The clunk comes with the take-up itself; with less than this before the next shift it may be cut."""
LEAST_RATE_HZ = 75.0
NEARLY = 0.97
FINE_HZ = 500.0
"""At 500 Hz a difference of neighbours keeps 98 % of a slope at 30 Hz."""
TOO_FEW = "too little driving without a shift at that speed to tell the road's jerk; drive on for a minute"
LEAST_WINDOWS = 12
"""Fewer windows say little of their own 95th percentile."""
WINDOW_S = 2.0
"""Length of the windows held against each other, the longest that a take-up is looked at."""
DRAWS = 300
SHARES = np.linspace(0.0, 1.5, 31)
LEAST_OF_DRAWS = 5
"""So many draws of a clunk must clear the bar before their share is one."""
CLEAR = 3.0
"""Power over the road's from which a frequency of the clunk is kept: noise alone reaches it once in twenty."""
BLOW_S = 0.1
"""A wheel that strikes hops once in about so long."""
BLOW_SHARE = 0.5
"""A blow that would by itself give more than half of what was seen dominates it."""
SHOCK = 1.5
"""Peak-to-peak of vertical jerk over its usual one: even shaking stays within a half of it, a pothole does not."""


@dataclass(frozen=True, eq=False, kw_only=True)
class _Road:
    """The drive's jerk on a fine grid, and windows of it without a shift, along and upward.

    along_share : of the upward jerk that a road's blow gives along the car at the same time, usually
    """

    jerk: Along
    windows: Windows
    upward: Along
    upward_windows: Windows
    along_share: float


class Measure(Protocol):
    """(speed at take-up, take-up) → the reading; sure : lever or speeds show the shift, not acceleration alone."""

    def __call__(self, speed: float | None, take_up: TakeUp, *, sure: bool) -> Reading: ...


def prepare_jerk(scene: Scene, trace: Trace) -> Measure:
    """Ready for one drive.

    A shift that acceleration alone shows may be the road's doing: its clunk is given only where the drive tells how the
    road shakes at just that speed.
    """
    if trace.rate_hz < NEARLY * LEAST_RATE_HZ:
        why = (
            f"{trace.recording} samples at {trace.rate_hz:.0f} Hz; jerk up to {CORNER_HZ:.0f} Hz needs "
            f"{LEAST_RATE_HZ:.0f} Hz or more"
        )
        return lambda speed, take_up, *, sure: unmeasured(KEY, why)
    road = _learn_road(scene, trace)
    gain = scene.signals.calibration.get(trace.recording, Calibration()).gain

    def measure(speed: float | None, take_up: TakeUp, *, sure: bool) -> Reading:
        if not sure and count_near(road.windows, speed) < LEAST_WINDOWS:
            return unmeasured(KEY, TOO_FEW)
        return _measure(road, trace, speed, take_up, gain)

    return measure


def _learn_road(scene: Scene, trace: Trace) -> _Road:
    quiet = find_quiet_spans(scene, trace)
    jerk, upward = (_jerk(trace, axis) for axis in (0, 2))
    windows, upward_windows = (
        cut_windows(j.time_s, j.values, quiet, count=int(WINDOW_S * j.rate_hz), scene=scene) for j in (jerk, upward)
    )
    return _Road(
        jerk=jerk, windows=windows, upward=upward, upward_windows=upward_windows,
        along_share=_along_share(windows.values, upward_windows.values, round(BLOW_S * jerk.rate_hz)),
    )  # fmt: skip


def _along_share(along: np.ndarray, upward: np.ndarray, count: int) -> float:
    """Median over pieces of ``count`` samples of what the road gives along over what it gives upward, (m, n) both."""
    pieces = along.shape[1] // count
    if not along.size or not pieces:
        return 0.0
    spans = [np.ptp(one[:, : pieces * count].reshape(-1, count), axis=1) for one in (along, upward)]
    return float(np.median(spans[0] / np.maximum(spans[1], 1e-9)))


def _jerk(trace: Trace, axis: int) -> Along:
    smooth = smooth_along(trace, corner_hz=CORNER_HZ, order=ORDER, least_rate_hz=FINE_HZ, axis=axis)
    values = np.zeros(smooth.values.size)
    for first, last in smooth.spans:
        inside = slice(*np.searchsorted(smooth.time_s, (first, last + 0.5 / smooth.rate_hz)))
        values[inside] = np.gradient(smooth.values[inside], 1 / smooth.rate_hz)
    return Along(time_s=smooth.time_s, values=values, spans=smooth.spans, rate_hz=smooth.rate_hz)


def _measure(road: _Road, trace: Trace, speed: float | None, take_up: TakeUp, gain: float) -> Reading:
    taken_s = take_up.latest_s if take_up.lock_s is None else take_up.lock_s
    first, last = take_up.begin_s, min(taken_s + AFTER_S, take_up.until_s, take_up.begin_s + WINDOW_S + 1.0)
    if take_up.until_s < take_up.earliest_s + LEAST_AFTER_S:
        return unmeasured(KEY, "the next shift began before the take-up was over")
    if not any(a <= first and last <= b for a, b in road.jerk.spans):
        return unmeasured(KEY, f"{trace.recording} has a gap here")
    if _clipped(trace, first, last):
        return unmeasured(KEY, f"{trace.recording} was at the end of its range here; fit a sensor of greater range")
    inside = slice(*np.searchsorted(road.jerk.time_s, (first, last)))
    count = inside.stop - inside.start
    noise, upward = _noise(road.windows, speed, count), _noise(road.upward_windows, speed, count)
    if noise is None or upward is None:
        return unmeasured(KEY, TOO_FEW)
    jerk = road.jerk.values[inside]
    seen, bar = float(np.ptp(jerk)), float(np.quantile(np.ptp(noise, axis=1), 0.95))
    if seen <= bar:
        return unmeasured(
            KEY, f"{seen:.3g} m/s³ do not stand out of the road: without a shift it gives up to {bar:.3g} m/s³ there"
        )
    if _blow(jerk, road.upward.values[inside], road) > BLOW_SHARE * seen:
        return unmeasured(KEY, "a blow from the road shook the car at the jerk's own peak while the clutch took up")
    shocks = np.ptp(upward, axis=1)
    return _against_road(jerk, noise[shocks <= SHOCK * np.median(shocks)], bar, gain)


def _blow(jerk: np.ndarray, upward: np.ndarray, road: _Road) -> float:
    """Jerk that the road usually gives along the car with what it gives upward about the extremes of jerk (n,)."""
    half = round(BLOW_S / 2 * road.jerk.rate_hz)
    peaks = [np.ptp(upward[max(at - half, 0) : at + half]) for at in (int(jerk.argmax()), int(jerk.argmin()))]
    return road.along_share * float(max(peaks))


def _clipped(trace: Trace, first: float, last: float) -> bool:
    if trace.clipped is None:
        return False
    return bool(trace.clipped[(trace.time_s >= first) & (trace.time_s <= last)].any())


def _noise(quiet: Windows, speed: float | None, count: int) -> np.ndarray | None:
    """The road's own jerk at a speed, (m, count), or None where there is too little of it."""
    windows = at_speed(quiet, speed, least=LEAST_WINDOWS)
    if len(windows) < LEAST_WINDOWS:
        return None
    if count <= windows.shape[1]:
        return windows[:, :count]
    # A longer window is one and the beginning of another, turned round so that they meet.
    return np.concatenate([windows, windows[:, ::-1]], axis=1)[:, :count]


def _against_road(jerk: np.ndarray, noise: np.ndarray, bar: float, gain: float) -> Reading:
    """The clunk that, with the road's jerk on it, gives what was measured.

    Jerk of the road adds to a peak-to-peak, and the more the smaller the clunk: so the shape that stands out of the
    road is scaled until, with the road's jerk laid over it, half of all draws lie above the measured figure: that is
    the value; with 1 in 40 and 39 in 40 above it, the ends of the interval (inversion of a test). Of small clunks only
    those get past the bar that the road helped: the lower end holds for what gets past it as well.
    """
    seen = float(np.ptp(jerk))
    shape = _shape(jerk, noise)
    rng = np.random.default_rng(jerk.size)
    draws = noise[rng.integers(0, len(noise), DRAWS)] * rng.choice([-1.0, 1.0], (DRAWS, 1))
    felt = [np.ptp(share * seen * shape + draws, axis=1) for share in SHARES]
    above = np.array([np.mean(sizes >= seen) for sizes in felt])
    helped = np.array([_above(sizes, seen, bar) for sizes in felt])
    low, value, high = (_share_at(above, q) * seen for q in (0.025, 0.5, 0.975))
    low = min(low, _share_at(helped, 0.025) * seen)
    wide = K95 * gain * value
    below, over = np.hypot(value - low, wide), np.hypot(high - value, wide)
    interval = (max(value - float(below), 0.0), value + float(over))
    return measured(KEY, value, uncertainty=float((below + over) / (2 * K95)), interval95=interval)


def _share_at(above: np.ndarray, level: float) -> float:
    """Share of the shape from which on more than ``level`` of the draws lie above what was seen."""
    return float(np.interp(level, np.maximum.accumulate(above), SHARES))


def _above(felt: np.ndarray, seen: float, bar: float) -> float:
    """Share of what gets past the bar that lies above what was seen; 0 where next to nothing gets past it."""
    passed = felt[felt > bar]
    return float(np.mean(passed >= seen)) if passed.size >= LEAST_OF_DRAWS else 0.0


def _shape(jerk: np.ndarray, noise: np.ndarray) -> np.ndarray:
    """What of a window stands out of the road, by frequency (Wiener), peak-to-peak one; (n,)."""
    spectrum = np.fft.rfft(jerk)
    road = np.mean(np.abs(np.fft.rfft(noise, axis=1)) ** 2, axis=0)
    wide = np.ones(5) / 5
    power, road = (np.convolve(p, wide, "same") for p in (np.abs(spectrum) ** 2, road))
    passed = np.where(power > CLEAR * road, 1 - road / np.maximum(power, 1e-30), 0.0)
    kept = np.fft.irfft(spectrum * passed, n=jerk.size)
    span = float(np.ptp(kept))
    return kept / span if span > 0 else jerk / float(np.ptp(jerk))
