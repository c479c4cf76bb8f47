"""Which gear speed alone allows: named only where there is exactly one."""

from shiftlog.model.car import REVERSE, Car
from shiftlog.model.trace import Trace

LOWEST_RPM = 600.0
"""No engine pulls below this (common practice, no source); cars idle at 650 to 900 rpm."""

OVER_REDLINE = 1.05
"""An engine may be caught this far beyond its redline before the limiter has it."""

LATE_S = (-0.3, 1.3)
"""Speed from satellites comes up to a second late: it is looked at over this span about the instant."""

SURE_MPS = 0.5
"""Speed may be off by this."""


def name_by_speed(speed: Trace | None, span: tuple[float, float], car: Car) -> tuple[str | None, str | None]:
    """(from, to) of a shift over ``span`` [s], each None unless speed leaves a single gear."""
    if speed is None or car.redline_rpm is None:
        return None, None
    old, new = _allowed(speed, span[0], car), _allowed(speed, span[1], car)
    if len(old) == 1 and len(new - old) == 1:
        return next(iter(old)), next(iter(new - old))
    if len(new) == 1 and len(old - new) == 1:
        return next(iter(old - new)), next(iter(new))
    return None, None


def _allowed(speed: Trace, at_s: float, car: Car) -> set[str]:
    """Gears in which the engine would run between its least and its greatest speed; empty where nothing tells."""
    near = speed.values[(speed.time_s >= at_s + LATE_S[0]) & (speed.time_s <= at_s + LATE_S[1])]
    gears = {gear: car.rpm_per_mps(gear) for gear in car.ratios | car.learnt_rpm_per_mps if gear != REVERSE}
    if not near.size or None in gears.values():
        return set()
    low, high = float(near.min()) - SURE_MPS, float(near.max()) + SURE_MPS
    return {g for g, k in gears.items() if high * k >= LOWEST_RPM and low * k <= OVER_REDLINE * car.redline_rpm}
