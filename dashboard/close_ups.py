"""What the pictures of one shift are drawn from: its sound, the shock of its blow, the swing that followed."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from scipy.signal import ShortTimeFFT
from scipy.signal.windows import hann

from shiftlog.measure.clash import find_clash_range
from shiftlog.measure.engaging import find_engaging
from shiftlog.measure.input_shaft import last_closed_s
from shiftlog.measure.knock import UPSAMPLING, cut_band
from shiftlog.measure.scene import Scene
from shiftlog.measure.shuffle import Swing, prepare_swing
from shiftlog.measure.sound import HIGH_SHARE, cut_even
from shiftlog.measure.take_up import find_take_up
from shiftlog.model.shift import Shift
from shiftlog.model.trace import Trace
from shiftlog.signal.shock_response import QUALITY, shock_response
from shiftlog.signal.swing_search import swing_columns

AROUND_S = 0.3
"""Shown before the start and after the end of a shift."""
SLICE_S, HOP_S = 0.032, 0.004
"""Hann windows of the spectrogram: 31 Hz apart, short enough that a burst of a twentieth of a second stands alone."""
LEAST_LEVEL = 1e-7
"""(m/s²)²/Hz, below what any accelerometer's own noise gives: keeps the logarithm finite."""
BEFORE_BLOW_S = 0.25
"""How long before the blow the stretch lies that it is compared with."""
PER_OCTAVE = 12
LEADS_S = 0.6
LONGEST_LEAD_S = 0.3
"""The take-up lies no further before the first point fitted than this; an envelope drawn back further is not known."""


@dataclass(frozen=True, eq=False, kw_only=True)
class Track:
    """Where a clash could sound.

    span_s : while teeth could touch; from_hz, to_hz : the highest tone the speeds allow as it begins and ends [Hz]
    """

    span_s: tuple[float, float]
    from_hz: float
    to_hz: float

    @property
    def highest_hz(self) -> float:
        """The highest tone of all."""
        return max(self.from_hz, self.to_hz)


@dataclass(frozen=True, eq=False, kw_only=True)
class Spectrogram:
    """time_s : (t,) drive time; frequency_hz : (f,); level_db : (f, t) power density over all axes, dB re 1 (m/s²)²/Hz

    place : where the recorder sits; top_hz : up to where it is honest
    track : where a clash could sound, or None; why : then the reason
    """

    time_s: np.ndarray
    frequency_hz: np.ndarray
    level_db: np.ndarray
    place: str
    top_hz: float
    track: Track | None = None
    why: str | None = None


@dataclass(frozen=True, eq=False, kw_only=True)
class Shock:
    """frequency_hz : (f,); blow, before : (f,) shock response of the blow and of as long a stretch before it [m/s²]"""

    frequency_hz: np.ndarray
    blow: np.ndarray
    before: np.ndarray
    place: str
    quality: float = QUALITY


@dataclass(frozen=True, eq=False, kw_only=True)
class SwingPicture:
    """time_s, values : (n,) what was fitted to [m/s²]; fitted, trend : (n,) trend with and without the swing

    envelope_s, envelope : (m,) size of the swing from take-up on; logged_s, logged : (k,) acceleration as logged
    """

    time_s: np.ndarray
    values: np.ndarray
    fitted: np.ndarray
    trend: np.ndarray
    envelope_s: np.ndarray
    envelope: np.ndarray
    logged_s: np.ndarray
    logged: np.ndarray


def read_spectrogram(scene: Scene, shift: Shift) -> Spectrogram | str:
    """The sound around a shift with what the speeds allow of a clash, or why there is none."""
    accel = _blow_sensor(scene)
    if accel is None:
        return "no accelerometer at the gearbox or the lever"
    first_s, last_s = _around(shift)
    span = _data_between(accel, first_s, last_s)
    if span is None:
        return f"{accel.recording} has a gap here"
    time_s, values = cut_even(accel, *span)
    track = find_track(scene, shift, accel)
    frequency_hz, offsets_s, level_db = power_levels(values, accel.rate_hz, top_hz=HIGH_SHARE * accel.rate_hz)
    return Spectrogram(
        time_s=time_s[0] + offsets_s, frequency_hz=frequency_hz, level_db=level_db, place=accel.place,
        top_hz=HIGH_SHARE * accel.rate_hz, track=track if isinstance(track, Track) else None,
        why=track if isinstance(track, str) else None,
    )  # fmt: skip


def power_levels(values: np.ndarray, rate_hz: float, *, top_hz: float) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """(n, k) [m/s²] → frequency (f,) [Hz], time since the first sample (t,) [s], level (f, t) [dB re 1 (m/s²)²/Hz].

    One-sided power density summed over the k axes; only windows that lie wholly inside the data.
    """
    count, hop = max(round(SLICE_S * rate_hz), 8), max(round(HOP_S * rate_hz), 1)
    transform = ShortTimeFFT(hann(count, sym=False), hop, rate_hz, fft_mode="onesided2X", scale_to="psd")
    n = values.shape[0]
    first, last = transform.lower_border_end[1], transform.upper_border_begin(n)[1]
    level = transform.spectrogram((values - values.mean(axis=0)).T, p0=first, p1=max(last, first + 1)).sum(axis=0)
    time_s = transform.t(n, p0=first, p1=max(last, first + 1))
    # The lowest two bins hold the lever being pulled, not a sound.
    heard = (transform.f <= top_hz) & (transform.f >= 2 * transform.delta_f)
    return transform.f[heard], time_s, 10 * np.log10(np.maximum(level[heard], LEAST_LEVEL))


def find_track(scene: Scene, shift: Shift, accel: Trace) -> Track | str:
    """When and how high a clash could sound, or why that is not known."""
    span = find_engaging(shift, scene, apart_s=scene.signals.clock_u_s.get(accel.recording, 0.0))
    if isinstance(span, str):
        return span
    allowed = find_clash_range(shift, scene)
    if isinstance(allowed, str):
        return allowed
    # In a shift down the input shaft coasts away from what the gear will pull it to, and the tone rises meanwhile.
    freed_s, until_s = last_closed_s(shift, scene), shift.start_s if shift.end_s is None else shift.end_s
    coasted = np.clip((np.array(span) - freed_s) / max(until_s - freed_s, 1e-3), 0.0, 1.0)
    from_hz, to_hz = allowed.from_hz + allowed.coasts_hz * coasted
    return Track(span_s=span, from_hz=float(from_hz), to_hz=float(to_hz))


def read_shock(scene: Scene, shift: Shift) -> Shock | str:
    """The shock response spectrum of the blow and of the stretch before it, or why there is none."""
    accel = _blow_sensor(scene)
    if accel is None or shift.end_s is None:
        return "no accelerometer at the gearbox or the lever" if accel is None else "no gear went in"
    band = cut_band(accel, shift.end_s, scene.settings)
    if band is None:
        return f"{accel.recording} has a gap here"
    time_s, values = band
    settings = scene.settings
    top_hz = min(settings.knock_high_share * accel.rate_hz, settings.knock_high_hz)
    steps = int(np.ceil(PER_OCTAVE * np.log2(top_hz / settings.knock_low_hz))) + 1
    frequency_hz = np.geomspace(settings.knock_low_hz, top_hz, steps)
    first_s, last_s = shift.end_s - settings.knock_before_s, shift.end_s + settings.knock_after_s
    spans = (first_s, last_s), (first_s - BEFORE_BLOW_S, last_s - BEFORE_BLOW_S)
    cuts = [values[slice(*np.searchsorted(time_s, span))] for span in spans]
    blow, before = (hardest_axis(cut, UPSAMPLING * accel.rate_hz, frequency_hz) for cut in cuts)
    return Shock(frequency_hz=frequency_hz, blow=blow, before=before, place=accel.place)


def hardest_axis(values: np.ndarray, rate_hz: float, frequency_hz: np.ndarray) -> np.ndarray:
    """(n, k) → (f,) shock response, at each frequency of the axis that shakes most."""
    return np.max([shock_response(values[:, k], rate_hz, frequency_hz) for k in range(values.shape[1])], axis=0)


def prepare_swings(scene: Scene) -> Callable[[Shift], SwingPicture | str]:
    """Learn the road of a drive once; then the swing after each shift, or why there is none."""
    body = scene.signals.accel_vehicle.get("body")
    if body is None:
        return lambda shift: "no accelerometer at the body whose mounting is known"
    find = prepare_swing(scene, body)

    def read(shift: Shift) -> SwingPicture | str:
        take_up = find_take_up(shift, scene)
        if isinstance(take_up, str):
            return take_up
        swing = find(_speed_at(scene, take_up.earliest_s), take_up)
        return swing if isinstance(swing, str) else picture_swing(swing, body)

    return read


def picture_swing(swing: Swing, body: Trace) -> SwingPicture:
    """A fitted swing with its envelope, traced back to the take-up that its amplitude is told for."""
    fit, since_s = swing.fit, swing.at_s - swing.at_s[0]
    columns = swing_columns(since_s, fit.frequency_hz, fit.damping)
    size = float(np.hypot(*np.linalg.lstsq(columns, fit.swing, rcond=None)[0]))
    decay = fit.damping * 2 * np.pi * fit.frequency_hz
    lead_s = np.log(max(fit.amplitude, size) / size) / decay if size > 0 and decay > 0 else 0.0
    back_s = np.linspace(-min(lead_s, LONGEST_LEAD_S), 0.0, 8)[:-1] if lead_s > 0 else np.zeros(0)
    along_s = np.concatenate([back_s, since_s])
    near = slice(*np.searchsorted(body.time_s, (swing.at_s[0] - LEADS_S, swing.at_s[-1])))
    return SwingPicture(
        time_s=swing.at_s, values=swing.values, fitted=fit.trend + fit.swing, trend=fit.trend,
        envelope_s=swing.at_s[0] + along_s, envelope=size * np.exp(-decay * along_s),
        logged_s=body.time_s[near], logged=body.values[near, 0],
    )  # fmt: skip


def _blow_sensor(scene: Scene) -> Trace | None:
    return scene.signals.accel.get("gearbox") or scene.signals.accel.get("lever")


def _around(shift: Shift) -> tuple[float, float]:
    ends = [t for t in (shift.start_s, shift.in_s, shift.end_s, *(shift.gap or ())) if t is not None]
    return min(ends) - AROUND_S, max(*ends, shift.start_s + AROUND_S) + AROUND_S


def _data_between(accel: Trace, first_s: float, last_s: float) -> tuple[float, float] | None:
    """The longest stretch of data within a span, or None where it is too short for a spectrogram."""
    inside = [(max(a, first_s), min(b, last_s)) for a, b in accel.spans]
    longest = max(inside, key=lambda span: span[1] - span[0], default=(0.0, 0.0))
    return longest if longest[1] - longest[0] >= 4 * SLICE_S else None


def _speed_at(scene: Scene, at_s: float) -> float | None:
    speed = scene.signals.vehicle_speed
    if speed is None or not speed.time_s.size:
        return None
    return float(abs(np.interp(at_s, speed.time_s, speed.values)))
