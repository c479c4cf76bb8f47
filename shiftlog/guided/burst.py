"""The burst of teeth that meet a turning shaft at standstill, over what an idling engine leaves to hear."""

from dataclasses import dataclass

import numpy as np
from scipy.signal import find_peaks

from shiftlog.guided.pushes import Push
from shiftlog.guided.recorder import find_accel
from shiftlog.measure.sound import cut_even
from shiftlog.model.drive import Signals
from shiftlog.model.trace import Trace
from shiftlog.signal.falling_tone import FallingTone, find_falling_tones
from shiftlog.signal.filter import band_pass
from shiftlog.signal.loudness import HOP_S, short_time_power

LEAST_RATE_HZ = 800.0
PLACES = ("gearbox", "lever")
BANDS_HZ = ((60.0, 150.0), (150.0, 300.0), (300.0, 1e6))
"""Below, idle itself is loudest; the last goes to 0.4 times the rate. A burst stands out in one of them."""
LOUD_DB = 6.0
LEAST_S = 0.032
"""One blow that rings, and a second, count for less; teeth that clash go on."""
LEAST_BLOWS, APART_DB = 3, 4.0
"""Or so many blows told apart, with a dip of that depth between them: where one is far louder than the others."""
QUIETER_SHARE = 0.1
KNOCK_S = 0.03
"""The knock of the dogs, and what the filters spread of it, lies at the end of the push."""
IDLE_S, GUARD_S = 1.0, 0.1
BLOW_SHARE = 0.15
"""Of the loudest blow; a softer one before it is the filter's, or the lever's."""
TONE_LOW_HZ, LONGEST_S = 12.0, 0.5
ORDER = 4


@dataclass(frozen=True, eq=False, kw_only=True)
class Burst:
    """quiet : whether nothing clashed, None where it cannot be told

    tones : rates at which the teeth may have met, the likeliest first, or none with ``why``; lasts_s : how long
    """

    quiet: bool | None
    tones: tuple[FallingTone, ...] = ()
    lasts_s: float = 0.0
    why: str | None = None


@dataclass(frozen=True, eq=False, kw_only=True)
class _Over:
    """lasts_s : how long it would last at an even loudness, (Σ a)² / Σ a²; blows : how many are told apart

    first_s, last_s : from where to where
    """

    lasts_s: float
    blows: int
    first_s: float
    last_s: float


def find_burst(signals: Signals, push: Push, *, wait_s: float, top_hz: float | None) -> Burst:
    """Whether the push met turning teeth. top_hz : the highest tone the speeds allow, or None where not known."""
    accel = find_recorder(signals)
    if isinstance(accel, str):
        return Burst(quiet=None, why=accel)
    idle_s = min(IDLE_S, max(wait_s - 2 * GUARD_S, 0.3))
    first, last = push.leaves_s - GUARD_S - idle_s, push.over_s + 0.1
    if not any(a <= first and last <= b for a, b in accel.spans):
        return Burst(quiet=None, why="the recorder at the gearbox has a gap here")
    time_s, even = cut_even(accel, first, last)
    over = _over_idle(time_s, even, accel.rate_hz, push)
    if over.lasts_s < LEAST_S and over.blows < LEAST_BLOWS:
        return Burst(quiet=True, why="the push was quiet: the shaft turned too slowly to be heard")
    return _with_tones(time_s, even, accel.rate_hz, over, top_hz)


def find_recorder(signals: Signals) -> Trace | str:
    """The recorder that hears the teeth, or why there is none."""
    return find_accel(signals, places=PLACES, least_hz=LEAST_RATE_HZ)


def _over_idle(time_s: np.ndarray, even: np.ndarray, rate_hz: float, push: Push) -> _Over:
    """What the push is louder by than idle, before the knock of the dogs, in the band that tells most.

    Each push of a try counts by itself: on a shaft at rest a tooth may meet a tooth at every one of them.
    """
    until_s = push.over_s - (KNOCK_S if push.in_s is not None else 0.0)
    approaches = push.approaches or ((push.leaves_s, until_s),)
    found = []
    for low, high in BANDS_HZ:
        power = short_time_power(band_pass(even, rate_hz, low, min(high, 0.4 * rate_hz), order=ORDER), rate_hz)
        centres = time_s[0] + np.arange(power.size) * HOP_S
        usual = _usual(power[centres < push.leaves_s - GUARD_S])
        for first_s, last_s in approaches:
            inside = (centres >= first_s) & (centres <= min(last_s, until_s))
            over = np.where(inside & (power > usual * 10 ** (LOUD_DB / 10)), np.sqrt(power) - np.sqrt(usual), 0.0)
            if over.any():
                loud = centres[over > QUIETER_SHARE * over.max()]
                lasts_s = float(over.sum() ** 2 / np.sum(over**2) * HOP_S)
                found.append(_Over(
                    lasts_s=lasts_s, blows=_count_blows(power[inside], usual), first_s=float(loud[0]) - HOP_S,
                    last_s=float(loud[-1]) + HOP_S,
                ))  # fmt: skip
    return max(
        found,
        key=lambda o: (o.blows >= LEAST_BLOWS, o.lasts_s),
        default=_Over(lasts_s=0.0, blows=0, first_s=0.0, last_s=0.0),
    )


def _count_blows(power: np.ndarray, usual: float) -> int:
    """Peaks of loudness that stand out from idle and from the dips between them."""
    level_db = 10 * np.log10(np.maximum(power, usual) / usual)
    peaks, _ = find_peaks(np.r_[0.0, level_db, 0.0], height=LOUD_DB, prominence=APART_DB)
    return len(peaks)


def _usual(power: np.ndarray) -> float:
    """What idle reaches now and then: its median, or half of what it goes beyond once in fifty windows."""
    return float(max(np.median(power), np.quantile(power, 0.98) / 2))


def _first_blow(heard: np.ndarray) -> int:
    """Where the first blow begins; loudness in windows shows it too early, when teeth would have been faster."""
    size = np.linalg.norm(heard, axis=1)
    return int(np.argmax(size > BLOW_SHARE * size.max()))


def _with_tones(time_s: np.ndarray, even: np.ndarray, rate_hz: float, over: _Over, top_hz: float | None) -> Burst:
    first, last = over.first_s, min(over.last_s, over.first_s + LONGEST_S)
    inside = (time_s >= first) & (time_s <= last)
    high = min(top_hz or 0.4 * rate_hz, 0.4 * rate_hz)
    low = max(TONE_LOW_HZ, 2.5 / (last - first))
    heard = band_pass(even, rate_hz, BANDS_HZ[0][1], 0.4 * rate_hz, order=ORDER)[inside]
    heard = heard[_first_blow(heard) :]
    tones = find_falling_tones(heard, rate_hz, low_hz=low, high_hz=high)
    if not tones:
        return Burst(quiet=False, why="the burst is too short to hold a tone")
    return Burst(quiet=False, tones=tones, lasts_s=heard.shape[0] / rate_hz)
