"""How loud gearbox and road are by themselves, by engine speed and vehicle speed, with the clutch closed and open."""

import numpy as np
from scipy.ndimage import median_filter

from shiftlog.measure.scene import Scene
from shiftlog.measure.sound import Sound
from shiftlog.model.car import NEUTRAL
from shiftlog.model.trace import Trace
from shiftlog.signal.loudness import HOP_S

ENOUGH = 40
"""Windows of loudness for each term of the fit are the least that settle it."""
ROUNDS, HELD_DB = 4, 3.0
"""What lies further off than this counts the less, so that blows and bursts do not make the rule (Huber)."""
THIN = 4


ROAD_S = 0.3
"""The road's roughness changes from patch to patch, which takes longer; a blow is over sooner, and drops out of the
median."""


def expect_power(
    power: np.ndarray, sound: Sound, quiet: np.ndarray, scene: Scene, *, patches: bool = False
) -> np.ndarray:
    """What each window would hold of a power (m,) with no gear being engaged, (m,) [m²/s⁴].

    quiet : (m,) bool, windows away from every shift. Beside them stand those in which the lever lay in neutral between
    two gears, with the clutch open: without them the whine of a driven gear would be expected where nothing is driven.
    The logarithm of power is a parabola in engine speed and in vehicle speed, and a step for the open clutch;
    patches : also in how rough the road is just now, as the body's slow shaking tells.
    """
    terms = _terms(sound.time_s, scene)
    if patches:
        rough = 10 * np.log10(np.maximum(rough_road(sound), 1e-9))
        rough = (rough - np.median(rough)) / 10 if rough.size else rough
        terms = np.column_stack([terms, rough, rough**2])
    open_clutch = _open_clutch(sound.time_s, scene)
    known = np.all(np.isfinite(terms), axis=1)
    rows = np.flatnonzero((quiet | open_clutch) & known & ~sound.clipped)
    rows = np.concatenate([rows[quiet[rows]][::THIN], rows[open_clutch[rows]]])
    terms = np.column_stack([terms, _engaged(sound.time_s, scene)])
    level = 10 * np.log10(np.maximum(power, 1e-9))
    if rows.size < ENOUGH * terms.shape[1]:
        return np.full(power.size, np.median(power) if power.size else np.nan)
    factors = _fit_firmly(terms[rows], level[rows])
    return 10 ** (np.where(known, np.nan_to_num(terms) @ factors, np.median(level[rows])) / 10)


def rough_road(sound: Sound) -> np.ndarray:
    """How rough the road is about each window: the median power in the band of blows over ``ROAD_S``, (m,)."""
    return median_filter(sound.thud, size=round(ROAD_S / HOP_S), mode="nearest")


def _fit_firmly(terms: np.ndarray, level: np.ndarray) -> np.ndarray:
    weights = np.ones(level.size)
    factors = np.zeros(terms.shape[1])
    for _ in range(ROUNDS):
        root = np.sqrt(weights)[:, None]
        factors = np.linalg.lstsq(terms * root, level * root[:, 0], rcond=None)[0]
        weights = np.minimum(1.0, HELD_DB / np.maximum(np.abs(level - terms @ factors), 1e-9))
    return factors


def _terms(time_s: np.ndarray, scene: Scene) -> np.ndarray:
    """One, and each speed's first and second power, (m, k); NaN where a speed was not logged."""
    columns = [np.ones(time_s.size)]
    for trace, scale in ((scene.signals.engine_speed, 3000.0), (scene.signals.vehicle_speed, 20.0)):
        if trace is not None:
            value = _at(trace, time_s) / scale
            columns += [value, value**2]
    return np.column_stack(columns)


def _at(trace: Trace, time_s: np.ndarray) -> np.ndarray:
    inside = np.zeros(time_s.size, bool)
    for first, last in trace.spans:
        inside |= (time_s >= first - 0.5) & (time_s <= last + 0.5)
    return np.where(inside, np.interp(time_s, trace.time_s, trace.values), np.nan)


def _engaged(time_s: np.ndarray, scene: Scene) -> np.ndarray:
    """1 while a shift is under way from the gear left to the gear in, else 0, (m,).

    Standing or out of neutral no gear was driven before, and nothing falls silent.
    """
    under_way = np.zeros(time_s.size)
    for shift in scene.shifts:
        if shift.standing or shift.from_gear == NEUTRAL:
            continue
        first_s = shift.out_s if shift.out_s is not None else shift.start_s
        last_s = shift.end_s if shift.end_s is not None else first_s + 0.5
        under_way[slice(*np.searchsorted(time_s, (first_s, last_s)))] = 1.0
    return under_way


def _open_clutch(time_s: np.ndarray, scene: Scene) -> np.ndarray:
    """Windows in which the lever lay in neutral on its way between two gears, (m,) bool."""
    inside = np.zeros(time_s.size, bool)
    for shift in scene.shifts:
        if None in (shift.out_s, shift.entered_s) or NEUTRAL in (shift.from_gear, shift.to_gear):
            continue
        inside[slice(*np.searchsorted(time_s, (shift.out_s, shift.entered_s)))] = True
    return inside
