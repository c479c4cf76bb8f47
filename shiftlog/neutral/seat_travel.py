"""How far the lever travels from rearward to forward seats: short everywhere shows against a ruler only."""

from collections.abc import Sequence

import numpy as np

from shiftlog.model.car import GateLayout
from shiftlog.model.reading import Reading, measured, unmeasured
from shiftlog.model.seats import SeatFigures, Travel

RULER_SHARE = 0.01
"""A scale laid by hand along a lever's travel is good for a hundredth (common practice, no source)."""
NEEDS_RULER = (
    "without a ruler the gate map's scale is fitted to these very seats: short travel everywhere, a changed lever "
    "ratio and lost motion cannot be seen; move the lever along a ruler once and give [gate] mm_per_unit in car.toml"
)


def measure_travel(seats: Sequence[SeatFigures], layout: GateLayout, *, scale: str) -> tuple[Travel, ...]:
    """Plane by plane, those with a gear at either end, and all planes together last."""
    by_gear = {seat.gear: seat for seat in seats}
    rows = [
        (plane.name, [g for g in (plane.forward,) if g], [g for g in (plane.rear,) if g])
        for plane in layout.planes
        if plane.forward and plane.rear
    ]
    everywhere = [[g for p in layout.planes if (g := getattr(p, side))] for side in ("forward", "rear")]
    return tuple(
        _travel(name, *ends, by_gear, layout.engage_travel_mm, scale) for name, *ends in [*rows, (None, *everywhere)]
    )


def _travel(
    plane: str | None, forward: list[str], rear: list[str], seats: dict[str, SeatFigures], wanted_mm: float, scale: str
) -> Travel:
    reading = _between(forward, rear, seats) if scale == "absolute" else unmeasured("travel_mm", NEEDS_RULER)
    if reading.value is None:
        return Travel(
            plane=plane, wanted_mm=wanted_mm, travel_mm=reading, short_mm=unmeasured("short_mm", reading.why or "")
        )
    short = measured("short_mm", wanted_mm - float(reading.value), uncertainty=reading.uncertainty)
    return Travel(plane=plane, wanted_mm=wanted_mm, travel_mm=reading, short_mm=short)


def _between(forward: list[str], rear: list[str], seats: dict[str, SeatFigures]) -> Reading:
    """Mean forward seat less mean rearward seat, over the gears whose seat is known."""
    ends = [[seats[g].engage_mm for g in side if g in seats and seats[g].place] for side in (forward, rear)]
    if not all(ends):
        lacking = [g for g in (*forward, *rear) if g not in seats or not seats[g].place]
        return unmeasured("travel_mm", f"where the lever lies in {' and '.join(lacking)} is not known from this drive")
    means = [float(np.mean([r.value for r in side])) for side in ends]
    u = [float(np.sqrt(np.sum([(r.uncertainty or 0.0) ** 2 for r in side]))) / len(side) for side in ends]
    travel = means[0] - means[1]
    return measured(
        "travel_mm", travel, uncertainty=float(np.sqrt(u[0] ** 2 + u[1] ** 2 + (RULER_SHARE * travel) ** 2))
    )
