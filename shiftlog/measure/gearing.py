"""Which ratios a drive is judged by: the profile's, unless the drive itself knows better."""

from collections.abc import Mapping

import numpy as np

from shiftlog.model.car import Car

RATIO_FITS = 0.045
"""A tyre's free and rolling radius differ by 3 %, wear takes 1 to 2 % more; beyond that the drive knows better."""


def choose_ratios(car: Car, learnt_rpm_per_mps: Mapping[str, float]) -> dict[str, float]:
    """Engine speed over vehicle speed by gear [rpm/(m/s)].

    The profile's, with those learnt from the drive where it has none, or where they do not fit the drive. Where all
    gears that were driven are off by one factor, the tyre or the final drive, so are those that were not.
    """
    known = {g: r for g in car.ratios | car.learnt_rpm_per_mps if (r := car.rpm_per_mps(g))}
    learnt = dict(learnt_rpm_per_mps)
    off = _common_factor(learnt, known)
    fitting = {g: r for g, r in known.items() if g in learnt and abs(learnt[g] / r - 1) < RATIO_FITS}
    return {**learnt, **{g: r * off for g, r in known.items() if g not in learnt}, **fitting}


def _common_factor(learnt: Mapping[str, float], known: Mapping[str, float]) -> float:
    """What all driven gears, two or more, are off the profile by; 1 where they fit, or differ from one another."""
    factors = np.array([learnt[g] / known[g] for g in known if g in learnt])
    if factors.size < 2 or np.abs(factors - 1).min() < RATIO_FITS:
        return 1.0
    common = float(np.median(factors))
    return common if np.abs(factors / common - 1).max() < RATIO_FITS else 1.0
