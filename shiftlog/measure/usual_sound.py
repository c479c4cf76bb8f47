"""What this drive sounds like while no gear is being engaged, and how far each moment stands out from it."""

from dataclasses import dataclass

import numpy as np

from shiftlog.measure.expected_sound import expect_power, rough_road
from shiftlog.measure.ringing import learn_ringing, struck_anew
from shiftlog.measure.scene import Scene
from shiftlog.measure.sound import Sound
from shiftlog.signal.loudness import HOP_S

ABOUT_S = (0.6, 1.2)
"""No stretch lies so near before or after a shift: clutch and take-up sound by themselves."""
BRUSH_S = 0.6
BLOW_DB = 10.0
"""A blow from the road stands out by this in its own band."""
LEAST_BLOWS = 30
USUAL_SHARE, SHARE_QUANTILE = 0.02, 0.97
"""How much of a blow's power in its own band is heard in a part of a clash's where too few windows tell; where they do,
hardly any has more than what is taken off."""
SILENT_DB = -20.0
"""Said of a window in which the sensor was at its limit: nothing of it is taken for a clash."""
LEAST_SHARE = 1e-3
"""Thirty decibels under what is usual is silence, as of a sensor that rounds everything away."""
WANDER_S = 0.15
"""As long as a push into gear usually takes."""
EVERY_S = 0.25


@dataclass(frozen=True, eq=False, kw_only=True)
class Usual:
    """How each window of a sound stands to what is usual there.

    expected : (m,) power by itself [m²/s⁴]; quiet : (m,) bool, away from every shift
    heard_db : (m,) how far it stands out, each part of the band over its own; stands_db : the same or what is struck
    anew, if less; bare_db : that without what a blow from the road can explain
    thud_db : (m,) how far the band of such blows stands out
    wander_db : how far the median of a push's time lies from what is expected, one standard deviation
    """

    sound: Sound
    expected: np.ndarray
    quiet: np.ndarray
    heard_db: np.ndarray
    stands_db: np.ndarray
    bare_db: np.ndarray
    thud_db: np.ndarray
    wander_db: float


def learn_usual(sound: Sound, scene: Scene) -> Usual:
    """From all that was heard away from shifts."""
    quiet = _find_quiet(sound, scene)
    by_itself = np.stack([expect_power(part, sound, quiet, scene, patches=True) for part in sound.parts.T])
    kept = learn_ringing(sound, by_itself, scene)
    road = rough_road(sound)
    struck = np.maximum(sound.thud - road, 0.0)
    shares = [_blow_share(p, e, struck, road, quiet) for p, e in zip(sound.parts.T, by_itself, strict=True)]
    bare = sound.parts.T - np.array(shares)[:, None] * struck
    expected = expect_power(sound.power, sound, quiet, scene)
    return Usual(
        sound=sound, expected=expected, quiet=quiet,
        heard_db=np.where(sound.clipped, SILENT_DB, 10 * np.log10(_heard(sound.parts.T, by_itself))),
        stands_db=_over_db(sound.parts.T, by_itself, kept, sound.clipped),
        bare_db=_over_db(np.maximum(bare, LEAST_SHARE * sound.parts.T), by_itself, kept, sound.clipped),
        thud_db=10 * np.log10(np.maximum(sound.thud, 1e-9) / np.maximum(road, 1e-9)),
        wander_db=_wander_db(sound, expected, quiet),
    )  # fmt: skip


def _find_quiet(sound: Sound, scene: Scene) -> np.ndarray:
    quiet = np.ones(sound.time_s.size, bool)
    for shift in scene.shifts:
        end_s = shift.end_s if shift.end_s is not None else shift.start_s + 0.5
        quiet[sound.between(shift.start_s - ABOUT_S[0], end_s + ABOUT_S[1])] = False
    for brush in scene.rejected:
        quiet[sound.between(brush.start_s - BRUSH_S, brush.end_s + BRUSH_S)] = False
    return quiet


def _over_db(parts: np.ndarray, expected: np.ndarray, kept: np.ndarray, clipped: np.ndarray) -> np.ndarray:
    """Mean over the parts of power over what is expected, the lesser of as heard and as struck anew, (p, m) → (m,)."""
    lesser = np.maximum(np.minimum(_heard(parts, expected), struck_anew(parts, expected, kept)), LEAST_SHARE)
    return np.where(clipped, SILENT_DB, 10 * np.log10(lesser))


def _heard(parts: np.ndarray, expected: np.ndarray) -> np.ndarray:
    return np.maximum(np.mean(parts / np.maximum(expected, 1e-9), axis=0), LEAST_SHARE)


def _blow_share(
    power: np.ndarray, expected: np.ndarray, struck: np.ndarray, road: np.ndarray, quiet: np.ndarray
) -> float:
    """How much of a blow's power in its own band is heard in a part of the band of a clash."""
    blows = quiet & (struck > (10 ** (BLOW_DB / 10) - 1) * road)
    if np.count_nonzero(blows) < LEAST_BLOWS:
        return USUAL_SHARE
    return float(np.quantile(np.maximum(power[blows] - expected[blows], 0.0) / struck[blows], SHARE_QUANTILE))


def _wander_db(sound: Sound, expected: np.ndarray, quiet: np.ndarray) -> float:
    """How far the median of a push's time lies from what is expected, one standard deviation [dB]."""
    count, step = round(WANDER_S / HOP_S), round(EVERY_S / HOP_S)
    parts = [slice(a, a + count) for a in range(0, quiet.size - count, step) if quiet[a : a + count].all()]
    apart = [10 * np.log10(max(np.median(sound.power[part] / expected[part]), LEAST_SHARE)) for part in parts]
    return float(np.sqrt(np.mean(np.square(apart)))) if apart else 1.0
