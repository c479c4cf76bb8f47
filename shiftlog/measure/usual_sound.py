"""What this drive sounds like while no gear is being engaged: the bar that a grind has to clear."""

from dataclasses import dataclass

import numpy as np

from shiftlog.measure.expected_sound import expect_power
from shiftlog.measure.scene import Scene
from shiftlog.measure.sound import Sound
from shiftlog.signal.loudness import HOP_S, greatest_lasting

FALSE_ALARMS = 0.01
"""Of windows as long as a push into gear, in which nothing is engaged, at the most so many may pass for a grind."""
TARGET = 0.003
"""The bar is set for less: of what is louder while gears go in than between them (a hand, a blow) nothing is learnt."""
LASTS = 4
"""A clash lasts; what does not stand for 20 ms (windows of 10 ms, 5 ms apart, so many side by side) is a blow."""
LEAST_DB = 4.5
"""However quiet the drive, less than this that lasts is no clash: expectations are off by 1 or 2 dB."""
EVERY_S = 0.25
ABOUT_S = (0.6, 1.2)
"""No window lies so near before or after a shift: clutch and take-up sound by themselves."""
MOST, LEAST_WINDOWS = 400, 20
NEAREST = 60
"""The bar is set by this many windows at least, the nearest in speed."""
SPEED_SHARE = 0.3
TAIL = 0.1
"""The loudest tenth, whose excess falls off exponentially, tells how far the rarest lie."""
BLOW_DB = 10.0
"""A blow from the road stands out by this in its own band."""
LEAST_BLOWS = 30
USUAL_SHARE, SHARE_QUANTILE = 0.05, 0.97
"""How much of a blow's power in its own band is heard in the band of a clash where too few windows tell; where they do,
hardly any has more than what is taken off."""
CALM_S = 0.5
OWN_S = 0.5
"""A window needs this much of calm."""
WANDER_S = 0.15
"""As long as a push into gear usually takes."""


@dataclass(frozen=True, eq=False, kw_only=True)
class Usual:
    """What is usual, learnt from windows in which nothing was engaged.

    expected : (m,) power of each window of the sound by itself [m/s²]²; blow_share : of the power of a blow from the
    road in its own band, what is heard in the band of a clash
    starts_s (w,), speed_mps (w,) or None; wander_db : how far a push's time lies from what is expected, one standard
    deviation
    """

    sound: Sound
    expected: np.ndarray
    blow_share: float
    starts_s: np.ndarray
    speed_mps: np.ndarray | None
    wander_db: float

    def excess_db(self, first_s: float, last_s: float) -> tuple[np.ndarray, np.ndarray]:
        """Loudness over what is expected in each window, as heard, and with blows from the road taken off [dB]."""
        inside = self.sound.between(first_s, last_s)
        power, expected = self.sound.power[inside], self.expected[inside]
        blow = self.blow_share * _over(self.sound, inside)
        return 10 * np.log10(power / expected), 10 * np.log10(np.maximum(power - blow, 1e-3 * power) / expected)

    def bar_db(self, lasts_s: float, speed_mps: float | None) -> float | None:
        """What a lasting excess must clear to be none of the drive's own; None where too little is left to tell."""
        heights = [
            greatest_lasting(self.excess_db(start_s, start_s + lasts_s)[1], LASTS)
            for start_s in self._nearest(speed_mps)
            if self.sound.holds(start_s, start_s + lasts_s + HOP_S)
        ]
        return max(_rare(np.array(heights)), LEAST_DB) if len(heights) >= LEAST_WINDOWS else None

    def _nearest(self, speed_mps: float | None) -> np.ndarray:
        if self.speed_mps is None or speed_mps is None or self.starts_s.size <= NEAREST:
            return self.starts_s
        apart = np.abs(self.speed_mps / max(speed_mps, 1.0) - 1)
        return self.starts_s[apart <= max(SPEED_SHARE, float(np.sort(apart)[NEAREST - 1]))]


def learn_usual(sound: Sound, scene: Scene) -> Usual:
    """Windows at even distances wherever nothing is shifted."""
    quiet = np.ones(sound.time_s.size, bool)
    for shift in scene.shifts:
        end_s = shift.end_s if shift.end_s is not None else shift.start_s + 0.5
        quiet[sound.between(shift.start_s - ABOUT_S[0], end_s + ABOUT_S[1])] = False
    for brush in scene.rejected:
        quiet[sound.between(brush.start_s - ABOUT_S[0], brush.end_s + ABOUT_S[0])] = False
    starts = np.concatenate([np.arange(a + CALM_S, b - OWN_S, EVERY_S) for a, b in sound.spans] or [np.zeros(0)])
    calm = [bool(quiet[part].all()) and part.stop > part.start for part in (_own(sound, s) for s in starts)]
    starts = starts[np.array(calm, bool)]
    starts = starts[:: max(1, starts.size // MOST)]
    speed = scene.signals.vehicle_speed
    expected = expect_power(sound, quiet, scene)
    return Usual(
        sound=sound, expected=expected, blow_share=_blow_share(sound, quiet, expected), starts_s=starts,
        speed_mps=None if speed is None else np.interp(starts, speed.time_s, speed.values),
        wander_db=_wander_db(sound, expected, starts),
    )  # fmt: skip


def _own(sound: Sound, start_s: float) -> slice:
    return sound.between(start_s, start_s + OWN_S)


def _over(sound: Sound, inside: slice) -> np.ndarray:
    """Power in the band of blows from the road over that of the half second before, (k,)."""
    before = sound.thud[max(inside.start - round(CALM_S / HOP_S), 0) : max(inside.start, 1)]
    return np.maximum(sound.thud[inside] - np.median(before), 0.0)


def _rare(heights: np.ndarray) -> float:
    """The height that ``TARGET`` of windows exceed, by the mean excess of the loudest tenth."""
    from_db = float(np.quantile(heights, 1 - TAIL))
    beyond = heights[heights > from_db] - from_db
    return from_db + (float(beyond.mean()) if beyond.size else 0.0) * float(np.log(TAIL / TARGET))


def _blow_share(sound: Sound, quiet: np.ndarray, expected: np.ndarray) -> float:
    """How much of a blow's power in its own band is heard in the band of a clash."""
    usual = np.median(sound.thud[quiet]) if quiet.any() else np.inf
    blows = quiet & (sound.thud > 10 ** (BLOW_DB / 10) * usual)
    if np.count_nonzero(blows) < LEAST_BLOWS:
        return USUAL_SHARE
    shares = np.maximum(sound.power[blows] - expected[blows], 0.0) / (sound.thud[blows] - usual)
    return float(np.quantile(shares, SHARE_QUANTILE))


def _wander_db(sound: Sound, expected: np.ndarray, starts: np.ndarray) -> float:
    """How far the median of a push's time lies from what is expected, one standard deviation [dB]."""
    parts = [sound.between(start_s, start_s + WANDER_S) for start_s in starts]
    apart = [10 * np.log10(np.median(sound.power[part] / expected[part])) for part in parts if part.stop > part.start]
    return float(np.sqrt(np.mean(np.square(apart)))) if apart else 1.0
