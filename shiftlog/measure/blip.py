"""What an engine of unknown speed may have been heard to do while a gear went in."""

import numpy as np

from shiftlog.measure.scene import Scene
from shiftlog.measure.sound import Sound
from shiftlog.measure.speeds import value_at
from shiftlog.signal.loudness import HOP_S, lasting_levels

REVS_TO = {"rolling": 1.6, "standing": 3.0}
"""A blip that matches the engine to a lower gear speeds it up so many times; at standstill, a foot that plays with the
pedal (common practice, no source)."""
FASTEST_DB_S = 70.0
"""A free engine gains up to 8,000 rpm in a second (common practice, no source), from 2,000 rpm on; its force goes with
the square of its speed."""
SHOWS_S = 0.03
"""What is heard before a burst is the median over so long."""
BEGINS_DB = 3.0
"""A burst has begun where it is this near to its loudest."""
BACK_S = 0.15


def engine_known(scene: Scene, sound: Sound, push: slice) -> bool:
    """Whether engine speed was logged all through a push (range of windows): else the engine may be what is heard."""
    engine, at = scene.signals.engine_speed, sound.time_s[push]
    if engine is None or not at.size:
        return False
    return all(value_at(engine, float(at_s)) is not None for at_s in (at[0], at[at.size // 2], at[-1]))


def blip_db(stands_db: np.ndarray, push: slice, *, lasts: int, standing: bool) -> float:
    """How much of what stands out (m,) [dB] in a push the engine could be: it gains speed only so fast, and so far.

    lasts : windows side by side that a burst is told by
    """
    most = 40 * float(np.log10(REVS_TO["standing" if standing else "rolling"]))
    level = lasting_levels(stands_db, lasts)[push.start : max(push.stop - lasts + 1, push.start + 1)]
    begins = push.start + int(np.argmax(level >= level.max() - BEGINS_DB))
    half = round(SHOWS_S / HOP_S) // 2
    before = np.arange(max(begins - round(BACK_S / HOP_S), half), begins - half)
    if not before.size:
        return most
    shown = np.median(stands_db[before[:, None] + np.arange(-half, half + 1)], axis=1)
    return float(np.clip(np.min(shown + FASTEST_DB_S * HOP_S * (begins - before)), 0.0, most))
