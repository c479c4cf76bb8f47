"""Whether a gate map of one or two gears rests on anything but their number: neutral and one gear look like two."""

import numpy as np

from shiftlog.detect.contradiction import FAR_OFF, measure_ratios_off
from shiftlog.detect.dwells import Dwells
from shiftlog.detect.lattice import Candidate
from shiftlog.detect.orientation import Chosen
from shiftlog.errors import CannotMeasure
from shiftlog.model.car import Car
from shiftlog.model.drive import Signals

ENOUGH_GEARS = 3
"""Three seats lie on no line. With both directions declared, no corner of neutral and a gear is taken for them."""
LIES_S = 1.0
"""A lever that stands at teeth on its way into a gear does so for less; in neutral a drive begins and ends (common
practice, no source)."""
SCALE_SHARE = 0.2
"""A ruler's scale is right to this share of what the map asks for: half the travel, as neutral and a gear would have
it, is far from it."""


def check_borne_out(chosen: Chosen, dwells: Dwells, signals: Signals, car: Car) -> None:
    """CannotMeasure where fewer than three gears were used, and neither speeds nor a ruler say that they are gears."""
    candidate = chosen.candidate
    gears = {gear for gear in candidate.gears if gear}
    declared = all(signals.lever_grows)
    # Neutral, neutral in front of a gear, and that gear make a corner too: then nothing is left that lies in neutral.
    neutral = declared or _lies_in_neutral(candidate, dwells)
    told = len(gears) > ENOUGH_GEARS or (len(gears) == ENOUGH_GEARS and neutral)
    if told or _fits_speeds(candidate, dwells, signals, car) or _fits_ruler(candidate, car):
        return
    raise CannotMeasure(
        f"the lever lay in {len(dwells.centres)} places, which may be neutral and one gear as well as gears alone; "
        "go through four gears or more in the same recording, log engine and vehicle speed beside the lever, or give "
        "[gate] mm_per_unit in car.toml from a ruler"
    )


def _lies_in_neutral(candidate: Candidate, dwells: Dwells) -> bool:
    """Whether a place that is no seat is one where the lever lay, and not where it stood on its way."""
    elsewhere = [k for k, gear in enumerate(candidate.gears) if gear is None]
    lasts_s = (dwells.end_s - dwells.start_s)[np.isin(dwells.cluster, elsewhere)]
    return bool(lasts_s.max(initial=0.0) >= LIES_S)


def _fits_speeds(candidate: Candidate, dwells: Dwells, signals: Signals, car: Car) -> bool:
    """Whether two gears or more were driven in at their own ratio."""
    off = measure_ratios_off(candidate, dwells, signals, car)
    fits = {g for g, _ in off if abs(float(np.median([o for gear, o in off if gear == g]))) < FAR_OFF}
    return len(fits) >= 2


def _fits_ruler(candidate: Candidate, car: Car) -> bool:
    """Whether the map has the scale that a ruler gave."""
    if car.gate is None or not car.gate.mm_per_unit:
        return False
    given = np.sqrt(car.gate.mm_per_unit["select"] * car.gate.mm_per_unit["engage"])
    return abs(float(np.sqrt(abs(np.linalg.det(candidate.matrix)))) / given - 1) < SCALE_SHARE
