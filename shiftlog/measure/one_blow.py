"""How one blow sounds in this gearbox: what is no more than that may be one hard touch of the cone, and no clash."""

import numpy as np

from shiftlog.measure.grind_level import BURST_DB
from shiftlog.measure.ringing import BLOW_S
from shiftlog.measure.scene import Scene
from shiftlog.measure.usual_sound import Usual

DEPTH_DB, LEAST_DB = 20.0, 10.0
"""A burst is followed so far down from its loudest window, where it stands out by that: teeth of uneven height come
back to it again and again, a blow falls through once and for all. A blow is followed by the second at least."""
SHALLOW_DB = 3.0
"""One window scatters by so much: what stands out by less cannot be followed down."""
LEAST_BLOWS = 5
USUAL_RINGS_DB, OVERLAP = 2.0, 3
"""Where too few blows of the dogs tell, the casing loses so much from window to window (an amplitude that falls to 1/e
in 22 ms), after the windows that overlap the blow."""
LONGEST = 0.9
"""Of the dogs' blows nearly all are over by then, and rise again by no more than that."""
LEAST_RISE_DB, USUAL_RISE_DB = 4.0, 6.0
"""Windows scatter by so much about a blow that dies away; what casings beat by where too few blows tell."""


def is_more_than_blow(over_db: np.ndarray, usual: Usual, scene: Scene) -> bool:
    """Whether a burst was struck more than once: it is loud for longer than one blow by as long as a second one is
    heard, or falls and rises again by more than blows do.

    over_db : (k,) each window of the push over the background [dB]
    """
    depth_db = float(np.clip(over_db.max() - BURST_DB, 0.0, DEPTH_DB))
    if depth_db < SHALLOW_DB:
        return False
    blows = [blow for blow in _blows_db(usual, scene) if blow.max() >= LEAST_DB + BURST_DB]
    one, rise_db = OVERLAP + depth_db / USUAL_RINGS_DB, USUAL_RISE_DB
    if len(blows) >= LEAST_BLOWS:
        one = float(np.quantile([_lasts(blow, depth_db) for blow in blows], LONGEST))
        rise_db = max(LEAST_RISE_DB, float(np.quantile([_rises(blow) for blow in blows], LONGEST)))
    lasts = np.count_nonzero(over_db >= over_db.max() - depth_db)
    return lasts >= one + OVERLAP or _rises(over_db) >= rise_db


def _rises(over_db: np.ndarray) -> float:
    """The deepest dip between two louder moments of one burst [dB]."""
    peak, quiet = int(np.argmax(over_db)), np.flatnonzero(over_db < BURST_DB)
    first, last = quiet[quiet < peak], quiet[quiet > peak]
    burst = over_db[first[-1] + 1 if first.size else 0 : last[0] if last.size else over_db.size]
    before, after = np.maximum.accumulate(burst), np.maximum.accumulate(burst[::-1])[::-1]
    return float(np.max(np.minimum(before, after) - burst, initial=0.0))


def _lasts(blow_db: np.ndarray, depth_db: float) -> float:
    """Windows in which a blow is loud, on either side of its loudest; where it drowns it falls on as before."""
    peak, seen_db = int(np.argmax(blow_db)), min(depth_db, float(blow_db.max()) - BURST_DB)
    quiet = np.flatnonzero(blow_db < blow_db[peak] - seen_db)
    first, last = quiet[quiet < peak], quiet[quiet > peak]
    lasts = (last[0] if last.size else blow_db.size) - (first[-1] if first.size else -1) - 1
    return OVERLAP + max(lasts - OVERLAP, 0) * depth_db / seen_db if seen_db > 0 else OVERLAP


def _blows_db(usual: Usual, scene: Scene) -> list[np.ndarray]:
    """About the end of each shift, how far each window stands over what is usual there [dB]."""
    sound, blows = usual.sound, []
    for shift in scene.shifts:
        if shift.end_s is None:
            continue
        near = sound.between(shift.end_s - BLOW_S[0], shift.end_s + BLOW_S[1])
        if near.stop > near.start and not sound.clipped[near].any():
            blows.append(10 * np.log10(np.maximum(sound.power[near], 1e-9) / usual.expected[near]))
    return blows
