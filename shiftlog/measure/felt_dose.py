"""Felt dose: what a shift is to the people in the car, weighted as ISO 2631-1 has it."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from scipy import signal

from shiftlog.measure.scene import Scene
from shiftlog.measure.take_up import find_take_up
from shiftlog.model.reading import Reading, measured, unmeasured
from shiftlog.model.recording import Calibration
from shiftlog.model.shift import Shift
from shiftlog.model.trace import Trace
from shiftlog.signal.felt import RUNNING_S, running_rms, vibration_dose
from shiftlog.signal.resample import resample_smoothly
from shiftlog.signal.weighting import HIGH_HZ, LOW_HZ, respond, weigh

KEYS = ("vdv_mps175", "mtvv_mps2", "band_low_hz", "band_high_hz")
AXES = ("Wd", "Wd", "Wk")
"""Along, across, upright; k = 1 on all axes."""
BEFORE_S, AFTER_S = 0.2, 1.5
TRUSTED_SHARE = 0.4
"""Of the rate: above it a sensor's own filter has begun."""
LEAST_RATE_HZ = 50.0
"""Below it the band ends before 20 Hz, and a third of what Wk lets through is left out (its own table)."""
FLOOR = 0.25
"""The quarter of a spectrum's lines that are the lowest."""
SHORTEST_S = 5.0
"""Weighting from rest takes two periods of its lower limit, 0.4 Hz, to settle."""
NO_BODY = "no accelerometer at the body whose mounting is known"


@dataclass(frozen=True, eq=False, kw_only=True)
class _Weighted:
    """One stretch of data, weighted. values : (n, 3) from start_s on, evenly [m/s²]."""

    start_s: float
    end_s: float
    rate_hz: float
    values: np.ndarray

    def cut(self, first_s: float, last_s: float) -> np.ndarray:
        first, last = (round((at - self.start_s) * self.rate_hz) for at in (first_s, last_s))
        return self.values[max(first, 0) : last + 1]


def prepare_felt_dose(scene: Scene) -> Callable[[Shift], tuple[Reading, ...]]:
    """Weighs the body's acceleration once; a shift's figures are cut from it."""
    body = scene.signals.accel_vehicle.get("body")
    why = scene.why_no_accel("body", lacks=NO_BODY) if body is None else _why_not(body)
    if body is None or why:
        return lambda shift: tuple(unmeasured(key, why) for key in KEYS)
    top_hz = min(TRUSTED_SHARE * body.rate_hz, HIGH_HZ)
    stretches = [_weigh(body, span, top_hz) for span in body.spans if span[1] - span[0] >= SHORTEST_S]
    gain = scene.signals.calibration.get(body.recording, Calibration()).gain
    density = _density(body, stretches)
    noise = _weighted_rms(density, top_hz)
    band = (measured("band_low_hz", LOW_HZ), measured("band_high_hz", top_hz))

    def measure(shift: Shift) -> tuple[Reading, ...]:
        cut = _cut(shift, scene, body, stretches)
        if isinstance(cut, str):
            return tuple(unmeasured(key, cut) for key in KEYS)
        return (*_figures(cut, body.rate_hz, gain, density, noise), *band)

    return measure


def _why_not(body: Trace) -> str | None:
    if body.values.ndim != 2:
        return "a felt dose takes all three axes at the body"
    if body.rate_hz < LEAST_RATE_HZ:
        return f"{body.recording} samples at {body.rate_hz:.0f} Hz; a felt dose needs {LEAST_RATE_HZ:.0f} Hz or more"
    return None


def _weigh(body: Trace, span: tuple[float, float], top_hz: float) -> _Weighted:
    near = slice(*np.searchsorted(body.time_s, (span[0], span[1] + 1e-9)))
    time, even = resample_smoothly(
        body.time_s[near], body.values[near], rate_hz=body.rate_hz, start_s=span[0], end_s=span[1]
    )
    # Gravity and bias are taken off first: as a step at the beginning they would ring through the lower band limit.
    level = even - even.mean(axis=0)
    axes = [weigh(level[:, k], name, rate_hz=body.rate_hz, top_hz=top_hz) for k, name in enumerate(AXES)]
    return _Weighted(start_s=float(time[0]), end_s=span[1], rate_hz=body.rate_hz, values=np.stack(axes, axis=1))


def _cut(shift: Shift, scene: Scene, body: Trace, stretches: list[_Weighted]) -> np.ndarray | str:
    """Weighted acceleration about a shift, (n, 3), or why there is none."""
    take_up = find_take_up(shift, scene)
    if isinstance(take_up, str):
        return take_up
    first_s, last_s = shift.start_s - BEFORE_S, shift.end_s + AFTER_S
    stretch = next((s for s in stretches if s.start_s <= first_s and s.end_s >= last_s), None)
    if stretch is None:
        return f"{body.recording} has a gap or an end at this shift"
    if body.clipped is not None and body.clipped[slice(*np.searchsorted(body.time_s, (first_s, last_s)))].any():
        return f"{body.recording} reached the end of its range here; fit a sensor of greater range"
    return stretch.cut(first_s, last_s)


def _density(body: Trace, stretches: list[_Weighted]) -> float:
    """Two-sided density of the sensor's own white noise, one axis, at the most [m²/s⁴/Hz].

    The floor of the spectrum in the drive's quietest second: engine and road stand on it as lines and humps. Of noise
    alone a quarter of the lines lie below ln(4/3) of its mean density.
    """
    quiet = min(stretches, key=lambda s: running_rms(s.values, s.rate_hz).min(), default=None)
    if quiet is None:
        return 0.0
    first_s = quiet.start_s + int(running_rms(quiet.values, quiet.rate_hz).argmin()) / quiet.rate_hz
    near = slice(*np.searchsorted(body.time_s, (first_s, first_s + RUNNING_S)))
    density = signal.periodogram(body.values[near], body.rate_hz, axis=0)[1][1:-1] / 2
    return float(np.quantile(density, FLOOR) / -np.log1p(-FLOOR))


def _weighted_rms(density: float, top_hz: float) -> float:
    """What noise of this density weighs, one axis on average [m/s², r.m.s.]."""
    grid = np.linspace(0.0, top_hz, 2000)
    width = np.mean([np.trapezoid(np.abs(respond(name, grid)) ** 2, grid) for name in AXES])
    return float(np.sqrt(2 * density * width))


def _figures(cut: np.ndarray, rate_hz: float, gain: float, density: float, noise: float) -> tuple[Reading, Reading]:
    """Dose and peak. Noise n beside acceleration a adds 6 n² ∫a² + 3 n⁴ T to ∫a⁴, and 3 n² to a peak's square; it may
    be anything up to the greatest it can be, which is rectangular. It beats with a as well: of density S it moves ∫a⁴
    by 4 √(S ∫a⁶) and a peak by √(S / 1 s), either way."""
    dose, peak = vibration_dose(cut, rate_hz), float(running_rms(cut, rate_hz).max())
    added = (6 * noise**2 * np.sum(cut**2) + 9 * noise**4 * len(cut)) / rate_hz
    doses, peaks = added / (4 * dose**3) if dose else 0.0, 3 * noise**2 / (2 * peak) if peak else 0.0
    beats = np.sqrt(density * np.sum(cut**6) / rate_hz) / dose**3 if dose else 0.0
    dose_u = float(np.sqrt((gain * dose) ** 2 + doses**2 / 3 + beats**2))
    peak_u = float(np.sqrt((gain * peak) ** 2 + peaks**2 / 3 + density / RUNNING_S))
    return measured(KEYS[0], dose, uncertainty=dose_u, least=0.0), measured(
        KEYS[1], peak, uncertainty=peak_u, least=0.0
    )
