"""Which ratios a drive is judged by: the profile's, unless the drive itself knows better."""

from collections.abc import Mapping

from shiftlog.model.car import Car

RATIO_FITS = 0.045
"""A tyre's free and rolling radius differ by 3 %, wear takes 1 to 2 % more; beyond that the drive knows better."""


def choose_ratios(car: Car, learnt_rpm_per_mps: Mapping[str, float]) -> dict[str, float]:
    """Engine speed over vehicle speed by gear [rpm/(m/s)].

    The profile's, with those learnt from the drive where it has none, or where they do not fit the drive.
    """
    known = {g: r for g in car.ratios | car.learnt_rpm_per_mps if (r := car.rpm_per_mps(g))}
    learnt = dict(learnt_rpm_per_mps)
    fitting = {g: r for g, r in known.items() if g not in learnt or abs(learnt[g] / r - 1) < RATIO_FITS}
    return {**learnt, **fitting}
