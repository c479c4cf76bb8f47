"""Shuffle: the driveline's torsional swing after take-up, fitted to longitudinal acceleration."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from shiftlog.measure.along import Along, smooth_along
from shiftlog.measure.quiet import Windows, at_speed, cut_windows, find_quiet_spans
from shiftlog.measure.scene import Scene
from shiftlog.measure.take_up import TakeUp
from shiftlog.model.reading import Reading, measured, unmeasured
from shiftlog.model.recording import Calibration
from shiftlog.model.trace import Trace
from shiftlog.signal.coloured_noise import covariance_of_noise, covariance_of_ramps, responses_to_ramps
from shiftlog.signal.damped_sine import DampedSine, fit_damped_sine
from shiftlog.signal.log_decrement import fit_decrement
from shiftlog.signal.swing_search import MOST_DAMPING, SwingSearch, swing_columns

KEYS = ("shuffle_hz", "shuffle_damping", "shuffle_amplitude_mps2")
DECREMENT = "shuffle_decrement_damping"
LOW_HZ, HIGH_HZ = 1.0, 12.0
"""Drivelines swing at 2 to 8 Hz (common practice, no source); the edges leave room for odd cars."""
LEAST_RATE_HZ = 25.0
NEARLY = 0.97
GRID_HZ = 50.0
CORNER_HZ, ORDER = 20.0, 4
HIGH_SHARE = 0.35
"""Of the rate: above it a swing has too few samples a period."""
WINDOW_S, LEAST_S = 2.0, 0.6
"""After two seconds a swing has died away; in less a driveline of 2 Hz shows hardly more than one period."""
LEAST_WINDOWS = 12
BEND_MPS3 = 3.0
"""How much the slope of the drive itself changes within a second as the driver opens the throttle."""
PITCH_HZ, PITCH_DAMPING = 1.5, 0.3
"""The body's nod on its springs, 1.1 to 1.9 Hz: the step sets it going too, and gravity shows in it."""
PITCH_SHARE = 0.08
"""A nod of half a degree for each m/s² makes gravity a twelfth of the step (common practice, no source)."""
AFTER_LOCK_S = 0.04
"""The low-pass spreads the last of the slip over this time after the clutch has locked."""
AFTER_START_S = 0.08
"""Where the start is found in the swing itself it may lie this far before the lock; what comes later is free."""
FOUND_EARLY_S, FOUND_U_S = 0.03, 0.04
"""How far such a start lies before the lock on average, and how well it is known."""
STIFF_HZ, STIFF_DAMPING = 20.0, 0.7
NO_SWING = "no swing of the driveline stands out of the road's shaking at this speed"
QUANTILE = 0.99
LEAST_EVIDENCE = 25.0
"""χ² that noise alone passes once in several thousand windows, the whole band searched."""
LEAST_OVER_U = 2.0
"""Evidence has told a swing from the road by then; an amplitude whose interval reaches down to nothing is none."""
MOST_U_HZ_SHARE = 0.25
"""A frequency known no better than this is none."""
LINEAR_SHARE = 0.005
"""Shafts, clutch springs and tyres give way a little more the harder they are pulled, and the engine's torque falls
with its speed: the swing has one frequency only to about so much (common practice, no source)."""


@dataclass(frozen=True, eq=False, kw_only=True)
class Swing:
    """What was fitted after one take-up: ``at_s``, ``values`` (n,) what was fitted to, ``start_u_s`` standard
    uncertainty of the start that its amplitude is told for [s]."""

    at_s: np.ndarray
    fit: DampedSine
    values: np.ndarray
    start_u_s: float


@dataclass(frozen=True, eq=False, kw_only=True)
class _Road:
    """The drive's acceleration on an even grid, and windows of it without a shift."""

    along: Along
    windows: Windows
    high_hz: float
    floor: float


def prepare_shuffle(scene: Scene, trace: Trace) -> Callable[[float | None, TakeUp], tuple[Reading, ...]]:
    """Ready for one drive: (speed at take-up, take-up) → the readings."""
    find = prepare_swing(scene, trace)
    gain = scene.signals.calibration.get(trace.recording, Calibration()).gain

    def measure(speed: float | None, take_up: TakeUp) -> tuple[Reading, ...]:
        found = find(speed, take_up)
        if isinstance(found, str):
            return tuple(unmeasured(key, found) for key in (*KEYS, DECREMENT))
        return (*_readings(found, gain), _decrement(found))

    return measure


def prepare_swing(scene: Scene, trace: Trace) -> Callable[[float | None, TakeUp], Swing | str]:
    """Ready for one drive: (speed at take-up, take-up) → the fitted swing, or why there is none."""
    if trace.rate_hz < NEARLY * LEAST_RATE_HZ:
        why = f"{trace.recording} samples at {trace.rate_hz:.0f} Hz; the swing needs {LEAST_RATE_HZ:.0f} Hz or more"
        return lambda speed, take_up: why
    along = smooth_along(trace, corner_hz=CORNER_HZ, order=ORDER, least_rate_hz=min(GRID_HZ, trace.rate_hz))
    windows = cut_windows(
        along.time_s, along.values, find_quiet_spans(scene, trace), count=int(WINDOW_S * along.rate_hz), scene=scene
    )
    steps = np.abs(np.diff(trace.values[:2000, 0]))
    floor = float(np.min(steps[steps > 0], initial=0.1)) / np.sqrt(12)
    road = _Road(
        along=along, windows=windows, high_hz=min(HIGH_HZ, HIGH_SHARE * trace.rate_hz), floor=floor,
    )  # fmt: skip
    return lambda speed, take_up: _find(road, trace, speed, take_up)


def _find(road: _Road, trace: Trace, speed: float | None, take_up: TakeUp) -> Swing | str:
    along = road.along
    earliest, latest = _where(take_up, along.rate_hz)
    span = next((s for s in along.spans if s[0] <= earliest and s[1] >= latest + LEAST_S), None)
    if span is None:
        return f"{trace.recording} has a gap here"
    lasts = min(WINDOW_S, min(take_up.until_s, span[1]) - latest - AFTER_START_S)
    if lasts < LEAST_S:
        return "the next shift began before the swing could be seen"
    if trace.clipped is not None:
        near = (trace.time_s >= earliest) & (trace.time_s <= latest + lasts)
        if trace.clipped[near].any():
            return f"{trace.recording} was at the end of its range here; fit a sensor of greater range"
    quiet = at_speed(road.windows, speed, least=LEAST_WINDOWS)
    if len(quiet) < LEAST_WINDOWS:
        return "too little driving without a shift to tell the road's shaking; drive on for a minute"
    firsts = np.arange(*np.searchsorted(along.time_s, (earliest, latest)))
    return _fit(road, quiet[:, : int(lasts * along.rate_hz)], firsts, take_up)


def _where(take_up: TakeUp, rate_hz: float) -> tuple[float, float]:
    """Between which instants the fit may begin: surely after the lock, as slip that goes on bends the swing."""
    if take_up.lock_s is None:
        return take_up.earliest_s, take_up.latest_s
    surely_s = take_up.lock_s + take_up.lock_u_s + AFTER_LOCK_S
    return surely_s, surely_s + 1.01 / rate_hz


def _fit(road: _Road, quiet: np.ndarray, firsts: np.ndarray, take_up: TakeUp) -> Swing | str:
    along, count = road.along, quiet.shape[1]
    band = {"rate_hz": along.rate_hz, "low_hz": LOW_HZ, "high_hz": road.high_hz}
    windows = along.values[firsts[:, None] + np.arange(count)]
    noise = _noise(road, quiet, step=float(np.ptp(windows)))
    search = SwingSearch(noise + _course(count, along.rate_hz), **band)
    found = search.find(windows)
    bar = max(float(np.quantile(search.evidence(quiet), QUANTILE)), LEAST_EVIDENCE)
    if found.evidence < bar:
        return NO_SWING
    start_s, start_u_s = take_up.lock_s, take_up.lock_u_s
    first = firsts[found.start]
    if start_s is None:
        start_s, start_u_s = along.time_s[first] + FOUND_EARLY_S, FOUND_U_S
        first += int(AFTER_START_S * along.rate_hz)
    values, since_s = along.values[first : first + count], along.time_s[first] - start_s
    fit = fit_damped_sine(values, noise, found.pairs, since_s=since_s, **band)
    if fit.amplitude < LEAST_OVER_U * np.sqrt(fit.covariance[2, 2]):
        return NO_SWING
    if np.sqrt(fit.covariance[0, 0]) > MOST_U_HZ_SHARE * fit.frequency_hz or fit.damping >= 0.99 * MOST_DAMPING:
        return "the drive took up without a swing that comes back"
    return Swing(at_s=along.time_s[first : first + count], fit=fit, values=values, start_u_s=start_u_s)


def _noise(road: _Road, quiet: np.ndarray, *, step: float) -> np.ndarray:
    """Covariance of the road's shaking and of the body's nod, whose phase is not known."""
    noise = covariance_of_noise(quiet, floor=road.floor)
    nod = PITCH_SHARE * step * swing_columns(np.arange(len(noise)) / road.along.rate_hz, PITCH_HZ, PITCH_DAMPING)
    return noise + nod @ nod.T


def _course(count: int, rate_hz: float) -> np.ndarray:
    """Covariance of the drive's own course for the first search, as a stiff driveline would hand it on."""
    ramps = responses_to_ramps(count, rate_hz=rate_hz, frequency_hz=STIFF_HZ, damping=STIFF_DAMPING)
    return BEND_MPS3**2 / rate_hz * covariance_of_ramps(ramps)


def _readings(swing: Swing, gain: float) -> tuple[Reading, ...]:
    """Amplitude also has the parts of the start, which it decays from, and of the sensor's gain."""
    fit = swing.fit
    u_hz, u_damping, u_fit = np.sqrt(np.diag(fit.covariance))
    u_hz = np.hypot(u_hz, LINEAR_SHARE * fit.frequency_hz)
    decay = fit.damping * 2 * np.pi * fit.frequency_hz
    u_amplitude = np.hypot(u_fit, fit.amplitude * np.hypot(gain, decay * swing.start_u_s))
    return (
        measured(KEYS[0], fit.frequency_hz, uncertainty=float(u_hz), least=0.0),
        measured(KEYS[1], fit.damping, uncertainty=float(u_damping), least=0.0),
        measured(KEYS[2], fit.amplitude, uncertainty=float(u_amplitude), least=0.0),
    )


def _decrement(swing: Swing) -> Reading:
    fit = swing.fit
    free = swing.values - fit.trend
    noise = float(np.std(free - fit.swing))
    damped_hz = fit.frequency_hz * np.sqrt(1 - fit.damping**2)
    found = fit_decrement(swing.at_s, free, guide=fit.swing, frequency_hz=damped_hz, noise=noise)
    if found is None:
        return unmeasured(DECREMENT, "fewer than three peaks of the swing stand out of the road's shaking")
    # The course of the torque that was taken off is the fit's own; what the two ways differ by may be its doing.
    u = float(np.hypot(found.uncertainty, (found.damping - fit.damping) / np.sqrt(3)))
    return measured(DECREMENT, found.damping, uncertainty=u)
