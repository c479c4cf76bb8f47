"""Grind: whether teeth clashed while a gear went in, how loud, how long, and whether it had a clash's tone."""

from collections.abc import Callable
from functools import cache

import numpy as np

from shiftlog.measure.blip import blip_db, engine_known
from shiftlog.measure.clash import USUAL_TEETH, find_clash_range, find_unheard_hz, hub_rpm, match_clash, tooth_hz
from shiftlog.measure.engaging import TOO_SHORT, find_engaging
from shiftlog.measure.grind_level import (
    BEFORE_S,
    LEAST_WINDOWS,
    LONG_WINDOWS,
    burst_windows,
    measure_level,
    neutral_off_db,
    over_background,
)
from shiftlog.measure.one_blow import is_more_than_blow
from shiftlog.measure.pseudo_shifts import LASTS, PseudoShifts, Standing, cut_pseudo_shifts
from shiftlog.measure.scene import Scene
from shiftlog.measure.sound import HIGH_SHARE, cut_even, hear
from shiftlog.measure.speeds import value_at
from shiftlog.measure.usual_sound import learn_usual
from shiftlog.model.reading import Reading, measured, unmeasured
from shiftlog.model.shift import Shift
from shiftlog.model.trace import Trace
from shiftlog.signal.filter import band_pass
from shiftlog.signal.loudness import WINDOW_S

KEYS = ("grind", "grind_level_db", "grind_duration_s", "clash_match")
PLACES = ("gearbox", "lever")
NO_RECORDER = (
    "no accelerometer at the gearbox or the lever; fix one to the gearbox and log it at 800 Hz or more, better 1,600 Hz"
)
LOW_HZ = 150.0
STANDING_SHARE, STEP_HZ, LEAST_HZ = 0.7, 10.0, 30.0
"""At standstill the band begins at this share of the clash's own tone at idle, or at the usual edge if lower."""
USUAL_IDLE_RPM, USUAL_RATIO = 850.0, 4.0
"""Of a warm engine, and of first gear or reverse (common practice, no source)."""
NOMINAL_HZ, NEARLY = 800.0, 0.95
LOOSE_CLOCK_S = 0.02
"""A recorder that may lie further off than this hears the blow of the dogs where it looks for a grind."""


def prepare_grind(scene: Scene) -> Callable[[Shift], tuple[Reading, ...]]:
    """Hears the whole drive once and learns what it sounds like with no gear being engaged."""
    accel = _best_place(scene)
    why = _why_not(accel, scene)
    if accel is None or why:
        return lambda shift: tuple(unmeasured(key, why) for key in KEYS)

    @cache
    def usual_from(low_hz: float) -> PseudoShifts:
        return cut_pseudo_shifts(learn_usual(hear(accel, low_hz=low_hz), scene), scene)

    return lambda shift: _measure(shift, scene, accel, usual_from(_low_hz(shift, scene)))


def _best_place(scene: Scene) -> Trace | None:
    """The gearbox's accelerometer, unless it cannot hear a grind and the lever's can."""
    there = [scene.signals.accel[place] for place in PLACES if place in scene.signals.accel]
    return next((accel for accel in there if not _why_not(accel, scene)), there[0] if there else None)


def _low_hz(shift: Shift, scene: Scene) -> float:
    if not shift.standing:
        return LOW_HZ
    allowed = find_clash_range(shift, scene)
    clash_hz = _idle_clash_hz(shift, scene) if isinstance(allowed, str) else allowed.from_hz
    return min(LOW_HZ, max(LEAST_HZ, STEP_HZ * round(STANDING_SHARE * clash_hz / STEP_HZ)))


def _idle_clash_hz(shift: Shift, scene: Scene) -> float:
    """At a usual idle, with what the profile tells of the gear."""
    car, gear = scene.car, shift.to_gear
    return tooth_hz(
        car.dog_teeth.get(gear, USUAL_TEETH),
        hub_rpm(car, gear, USUAL_IDLE_RPM, 0.0) if gear in car.ratios else USUAL_IDLE_RPM / USUAL_RATIO,
    )


def _why_not(accel: Trace | None, scene: Scene) -> str:
    if accel is None:
        return scene.why_no_accel(*PLACES, lacks=NO_RECORDER)
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


def _measure(shift: Shift, scene: Scene, accel: Trace, quiet: PseudoShifts) -> tuple[Reading, ...]:
    window = find_engaging(shift, scene, apart_s=scene.signals.clock_u_s.get(accel.recording, 0.0))
    if isinstance(window, str):
        return tuple(unmeasured(key, window) for key in KEYS)
    sound = quiet.usual.sound
    if not sound.holds(shift.start_s - BEFORE_S[0], window[1]):
        return tuple(unmeasured(key, f"{accel.recording} has a gap here") for key in KEYS)
    push = sound.between(window[0] + WINDOW_S / 2, window[1] - WINDOW_S / 2)
    found = _decide(shift, scene, quiet, push)
    if found.value is None:
        return (found, *(unmeasured(key, found.why) for key in KEYS[1:]))
    level, duration = measure_level(shift, quiet.usual, push)
    if found.value and not duration.value:
        duration = unmeasured(
            duration.key, "what was heard lies less than 6 dB over the background, and is not counted"
        )
    return (found, level, duration, _match(found, shift, scene, accel, window))


def _speed(shift: Shift, scene: Scene) -> float | None:
    return None if scene.signals.vehicle_speed is None else value_at(scene.signals.vehicle_speed, shift.start_s)


def _decide(shift: Shift, scene: Scene, quiet: PseudoShifts, push: slice) -> Reading:
    """Found, not found, or why it stays open."""
    before_db = neutral_off_db(shift, quiet.usual, push, quiet.usual.stands_db)
    standing = quiet.stand(push, _speed(shift, scene), before_db=before_db)
    if standing is None:
        return unmeasured(
            KEYS[0],
            "too little of this drive is free of shifts to know what it sounds like without a grind; drive on for a "
            "minute or two between shifts",
        )
    windows = burst_windows(shift, quiet.usual, push)
    if windows and push.stop - push.start < quiet.teeth_last:
        return unmeasured(KEYS[0], TOO_SHORT)
    burst = windows >= LEAST_WINDOWS
    sound = quiet.usual.sound
    if burst and not engine_known(scene, sound, push):
        blip = blip_db(quiet.usual.stands_db, push, lasts=LASTS[0], standing=bool(shift.standing))
        return _despite_engine(quiet.stand(push, _speed(shift, scene), off_db=max(before_db or 0.0, blip)))
    if standing.found and burst:
        return _unless_one_blow(shift, scene, quiet, push)
    if np.count_nonzero(sound.clipped[push]) >= LASTS[0]:
        return unmeasured(KEYS[0], "the sensor reached the end of its range here, and a grind could hide in that")
    if standing.alike and burst:
        return unmeasured(KEYS[0], "a blow from the road fell together with this shift, and a grind could hide in it")
    if standing.found and not shift.standing:
        return unmeasured(
            KEYS[0],
            "what was heard here stands out from what this drive sounds like, but not from the half second before the "
            "shift; a grind could hide in it: drive on a smoother road",
        )
    if (standing.doubtful and burst) or windows >= LONG_WINDOWS:
        return unmeasured(
            KEYS[0],
            "what was heard here stands out no further than this drive does by itself now and then; a grind could hide "
            "in it: drive on a smoother road",
        )
    unheard_hz = find_unheard_hz(shift, scene, top_hz=sound.top_hz)
    if unheard_hz is not None:
        return unmeasured(KEYS[0], _not_excluded(unheard_hz, sound.top_hz))
    return measured(KEYS[0], False)


def _unless_one_blow(shift: Shift, scene: Scene, quiet: PseudoShifts, push: slice) -> Reading:
    """Found; but at standstill, where hardly anything else is heard, one touch of the cone stands out as far."""
    over_db, _ = over_background(shift, quiet.usual, push)
    if shift.standing and not is_more_than_blow(over_db, quiet.usual, scene):
        return unmeasured(
            KEYS[0],
            "what was heard here lasted no longer than one blow does in this gearbox: a hard touch of the cone or a "
            "few teeth; try the gear a few times more, slowly",
        )
    return measured(KEYS[0], True)


def _despite_engine(standing: Standing | None) -> Reading:
    """A burst with the engine's speed not known: found where no engine could be so much louder, else open."""
    if standing is not None and standing.found:
        return measured(KEYS[0], True)
    return unmeasured(
        KEYS[0],
        "something was heard, but engine speed was not logged here: a blip of the throttle could sound like a grind, "
        "and an engine that falls could hide one; log engine speed",
    )


def _not_excluded(unheard_hz: float, top_hz: float) -> str:
    """Why silence does not speak against a grind."""
    hears = f"this recorder hears up to {top_hz:.0f} Hz"
    if not np.isfinite(unheard_hz):
        return (
            f"nothing was heard, but engine and vehicle speed are not known here and {hears}: teeth that pass faster "
            "are not excluded; log both speeds"
        )
    return (
        f"nothing was heard, but the teeth could have met at up to {unheard_hz:.0f} Hz and {hears}: a grind is not "
        f"excluded; log at {unheard_hz / HIGH_SHARE:.0f} Hz or more"
    )


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
    low_hz, top_hz = _low_hz(shift, scene), HIGH_SHARE * accel.rate_hz
    band = band_pass(even, accel.rate_hz, low_hz, top_hz, order=4)
    inside = (time >= window[0]) & (time <= window[1])
    return measured(KEYS[3], match_clash(band[inside], accel.rate_hz, allowed, low_hz=low_hz, top_hz=top_hz))
