"""Grind: whether teeth clashed while a gear went in, how loud, how long, and whether it had a clash's tone."""

from collections.abc import Callable

import numpy as np

from shiftlog.measure.clash import find_clash_range, match_clash
from shiftlog.measure.engaging import find_engaging
from shiftlog.measure.scene import Scene
from shiftlog.measure.sound import Sound, cut_even, hear
from shiftlog.measure.speeds import value_at
from shiftlog.measure.usual_sound import LASTS, Usual, learn_usual
from shiftlog.model.reading import Reading, measured, unmeasured
from shiftlog.model.shift import Shift
from shiftlog.model.trace import Trace
from shiftlog.signal.filter import band_pass
from shiftlog.signal.loudness import HOP_S, WINDOW_S, greatest_lasting

KEYS = ("grind", "grind_level_db", "grind_duration_s", "clash_match")
LOW_HZ = 150.0
STANDING_SHARE = 0.7
"""At standstill the band begins this much below the clash's own tone, or at the usual edge where that is lower."""
USUAL_CLASH_HZ = 110.0
"""Of a shaft that the clutch drags along at idle, where the profile does not tell (36 teeth, 850 rpm, 4 : 1)."""
NOMINAL_HZ, NEARLY = 800.0, 0.95
LOOSE_CLOCK_S = 0.02
"""A recorder that may lie further off than this hears the blow of the dogs where it looks for a grind."""
BURST_DB = 6.0
"""By definition a window belongs to a burst from this over the background on."""
BEFORE_S = (0.55, 0.05)
HIDDEN_SHARE = 0.4
"""Of the window, what a blow from the road may cover before a grind could hide in it."""
HIDING_DB = 12.0
"""A usual grind stands out by this; a blow that stands higher can hide it."""
DEAF = 1.0
"""A tone above the recorder's band by this factor is not heard."""


def prepare_grind(scene: Scene) -> Callable[[Shift], tuple[Reading, ...]]:
    """Hears the whole drive once and learns what it sounds like with no gear being engaged."""
    accel = scene.signals.accel.get("gearbox") or scene.signals.accel.get("lever")
    why = _why_not(accel, scene)
    if accel is None or why:
        return lambda shift: tuple(unmeasured(key, why) for key in KEYS)
    rolling = learn_usual(hear(accel, low_hz=LOW_HZ), scene)
    standing = learn_usual(hear(accel, low_hz=min(LOW_HZ, STANDING_SHARE * USUAL_CLASH_HZ)), scene)
    return lambda shift: _measure(shift, scene, accel, standing if shift.standing else rolling)


def _why_not(accel: Trace | None, scene: Scene) -> str:
    if accel is None:
        return (
            "no accelerometer at the gearbox or the lever; fix one to the gearbox and log it at 800 Hz or more, better "
            "1,600 Hz"
        )
    if accel.values.ndim != 2:
        return f"{accel.recording} has not all three axes"
    if accel.rate_hz < NEARLY * NOMINAL_HZ:
        return (
            f"{accel.recording} samples at {accel.rate_hz:.0f} Hz, too slow to hear a grind; log the accelerometer at "
            "the gearbox at 800 Hz or more, better 1,600 Hz"
        )
    apart_s = scene.signals.clock_u_s.get(accel.recording, 0.0)
    if apart_s > LOOSE_CLOCK_S:
        return (
            f"the clock of {accel.recording} is known to ± {1000 * apart_s:.0f} ms only, so a grind cannot be told "
            "from the blow of the dogs; log lever and gearbox with one recorder"
        )
    return ""


def _measure(shift: Shift, scene: Scene, accel: Trace, usual: Usual) -> tuple[Reading, ...]:
    window = find_engaging(shift, scene, apart_s=scene.signals.clock_u_s.get(accel.recording, 0.0))
    if isinstance(window, str):
        return tuple(unmeasured(key, window) for key in KEYS)
    sound = usual.sound
    if not sound.holds(shift.start_s - BEFORE_S[0], window[1]):
        return tuple(unmeasured(key, f"{accel.recording} has a gap here") for key in KEYS)
    speed = _speed(shift, scene)
    span = (window[0] + WINDOW_S / 2, window[1] - WINDOW_S / 2)
    found = _decide(shift, scene, usual, span, usual.bar_db(span[1] - span[0], speed))
    over_db = 10 * np.log10(sound.power[sound.between(*span)] / _background(shift, span, usual))
    return (found, *_figures(found, over_db, sound, span, usual), _match(found, shift, scene, accel, window))


def _background(shift: Shift, span: tuple[float, float], usual: Usual) -> float:
    """Median power before the shift, or what is expected at those speeds with the clutch open where that is less."""
    before = usual.sound.power[usual.sound.between(shift.start_s - BEFORE_S[0], shift.start_s - BEFORE_S[1])]
    return min(float(np.median(before)), float(np.median(usual.expected[usual.sound.between(*span)])))


def _speed(shift: Shift, scene: Scene) -> float | None:
    return None if scene.signals.vehicle_speed is None else value_at(scene.signals.vehicle_speed, shift.start_s)


def _decide(
    shift: Shift,
    scene: Scene,
    usual: Usual,
    span: tuple[float, float],
    bar: float | None,
) -> Reading:
    """Found, not found, or why it stays open."""
    if bar is None:
        return unmeasured(
            KEYS[0],
            "too little of this drive is free of shifts to know what it sounds like without a grind; drive on for a "
            "minute or two between shifts",
        )
    heard, bare = usual.excess_db(*span)
    clipped = usual.sound.clipped[usual.sound.between(*span)]
    whole = bare[~clipped]
    if (whole.size >= LASTS or not clipped.any()) and greatest_lasting(whole, LASTS) >= bar:
        return measured(KEYS[0], True)
    if clipped.any() and greatest_lasting(heard, LASTS) >= bar:
        return unmeasured(KEYS[0], "the sensor reached the end of its range here, and a grind could hide in that")
    hiding = (heard >= max(bar, HIDING_DB)) & (bare < heard - 3.0)
    if hiding.mean() > HIDDEN_SHARE:
        return unmeasured(KEYS[0], "a blow from the road fell together with this shift, and a grind could hide in it")
    allowed = find_clash_range(shift, scene)
    if not isinstance(allowed, str) and allowed.from_hz > DEAF * usual.sound.top_hz:
        return unmeasured(
            KEYS[0],
            f"nothing was heard, but the teeth could have met at up to {allowed.from_hz:.0f} Hz and this recorder "
            f"hears up to {usual.sound.top_hz:.0f} Hz: a grind is not excluded; log faster",
        )
    return measured(KEYS[0], False)


def _figures(
    found: Reading, heard: np.ndarray, sound: Sound, span: tuple[float, float], usual: Usual
) -> tuple[Reading, Reading]:
    """Level and duration of the windows at or above +6 dB, of a burst that was found or stays open."""
    if found.value is False:
        level = float(heard.max())
        quiet = measured(KEYS[1], level, uncertainty=_level_u(usual, 0.0))
        return quiet, measured(KEYS[2], 0.0)
    if found.value is None:
        return tuple(unmeasured(key, found.why) for key in KEYS[1:3])
    loud = heard >= BURST_DB
    level = 10 * np.log10(np.mean(10 ** (heard[loud] / 10))) if loud.any() else heard.max()
    stood = np.zeros(heard.size + 1, bool)
    stood[:-1][loud] = stood[1:][loud] = True
    clipped = float(sound.clipped[sound.between(*span)][loud].mean()) if loud.any() else 0.0
    near = np.abs(heard - BURST_DB) < usual.wander_db
    duration_u = HOP_S * np.sqrt(2 + np.count_nonzero(near) / 2)
    return (
        measured(KEYS[1], float(level), uncertainty=_level_u(usual, clipped)),
        measured(KEYS[2], float(stood.sum() * HOP_S), uncertainty=float(duration_u), least=0.0),
    )


CLIPPED_DB = 6.0
"""Peaks cut off may have been twice as high."""


def _level_u(usual: Usual, clipped: float) -> float:
    """Of a level over the background [dB]: how far the background wanders, and peaks that were cut off.

    The sensor's gain goes out: burst and background are its own.
    """
    return float(np.hypot(usual.wander_db, CLIPPED_DB * np.sqrt(clipped)))


def _match(found: Reading, shift: Shift, scene: Scene, accel: Trace, window: tuple[float, float]) -> Reading:
    if not found.value:
        return unmeasured(KEYS[3], found.why or "no grind was found, so no tone is looked for")
    allowed = find_clash_range(shift, scene)
    if isinstance(allowed, str):
        return unmeasured(KEYS[3], allowed)
    margin_s = 0.1
    time, even = cut_even(
        accel, max(window[0] - margin_s, accel.time_s[0]), min(window[1] + margin_s, accel.time_s[-1])
    )
    low_hz, top_hz = LOW_HZ, 0.4 * accel.rate_hz
    if shift.standing:
        low_hz = min(LOW_HZ, STANDING_SHARE * USUAL_CLASH_HZ)
    band = band_pass(even, accel.rate_hz, low_hz, top_hz, order=4)
    inside = (time >= window[0]) & (time <= window[1])
    return measured(KEYS[3], match_clash(band[inside], accel.rate_hz, allowed, low_hz=low_hz, top_hz=top_hz))
