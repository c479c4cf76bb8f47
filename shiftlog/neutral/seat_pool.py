"""Seats of several drives of one car and one fitting, as one."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from shiftlog.model.reading import Reading, measured
from shiftlog.model.seats import SeatFigures

POOLED = (
    "select_mm", "engage_mm", "off_select_mm", "off_engage_mm", "torque_engage_mm", "torque_select_mm", "depth_mm",
)  # fmt: skip


def pool_seats(found: Sequence[tuple[SeatFigures, ...]], gears: Sequence[str]) -> tuple[SeatFigures, ...]:
    """One gear once, in the order of ``gears``. Drives that know a figure better count the more."""
    by_gear: dict[str, list[SeatFigures]] = {}
    for drive in found:
        for seat in drive:
            by_gear.setdefault(seat.gear, []).append(seat)
    return tuple(_pool(by_gear[gear]) for gear in gears if gear in by_gear)


def _pool(some: list[SeatFigures]) -> SeatFigures:
    if len(some) == 1:
        return some[0]
    told = [s for s in some if s.torque_engage_mm.value is not None]
    return replace(
        max(some, key=lambda s: s.stays), stays=sum(s.stays for s in some), drives=sum(s.drives for s in some),
        in_gear_s=sum(s.in_gear_s for s in some), hand_only=all(s.hand_only for s in some),
        spread=_pool_spread(some), torque_by=told[0].torque_by if told else None,
        torque_span_mps2=_mean([s.torque_span_mps2 for s in told]),
        at_drive=_mean_place([s.at_drive for s in told]), at_overrun=_mean_place([s.at_overrun for s in told]),
        hand_share=_pool_share(some), **{key: _pool_reading([getattr(s, key) for s in some]) for key in POOLED},
    )  # fmt: skip


def _pool_reading(some: list[Reading]) -> Reading:
    """Weighted mean; where drives differ by more than they are uncertain, its uncertainty grows by the ratio of Birge
    (Phys. Rev. 40, 1932)."""
    known = [r for r in some if r.value is not None]
    if len(known) < 2:
        return known[0] if known else some[0]
    values = np.array([float(r.value or 0.0) for r in known])
    u = np.array([r.uncertainty or np.inf for r in known])
    weights = 1 / u**2
    mean = float(np.average(values, weights=weights))
    birge = float(np.sqrt(np.sum(weights * (values - mean) ** 2) / (len(values) - 1)))
    return measured(known[0].key, mean, uncertainty=float(max(birge, 1.0) / np.sqrt(weights.sum())))


def _pool_share(some: list[SeatFigures]) -> Reading:
    """By the time that each drive spent in the gear."""
    known = [s for s in some if s.hand_share.value is not None]
    if len(known) < 2:
        return known[0].hand_share if known else some[0].hand_share
    seconds = np.array([s.in_gear_s for s in known])
    rows = [(float(s.hand_share.value or 0.0), *(s.hand_share.interval95 or (0.0, 1.0))) for s in known]
    value, low, high = (float(column) for column in np.average(rows, axis=0, weights=seconds))
    return measured("hand_share", value, interval95=(low, high))


def _pool_spread(some: list[SeatFigures]) -> tuple[tuple[float, float], tuple[float, float]] | None:
    known = [s for s in some if s.spread is not None]
    if not known:
        return None
    mean = np.average([s.spread for s in known], axis=0, weights=[s.stays for s in known])
    return (float(mean[0, 0]), float(mean[0, 1])), (float(mean[1, 0]), float(mean[1, 1]))


def _mean(some: list[float | None]) -> float | None:
    known = [value for value in some if value is not None]
    return float(np.mean(known)) if known else None


def _mean_place(some: list[tuple[float, float] | None]) -> tuple[float, float] | None:
    known = [place for place in some if place is not None]
    if not known:
        return None
    mean = np.mean(known, axis=0)
    return float(mean[0]), float(mean[1])
