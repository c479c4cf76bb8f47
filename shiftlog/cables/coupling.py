"""How far one cable moves the lever along the other's way, and how far that is known.

Seats alone do not tell it. A map fitted to the seats makes their rows and planes square, whatever they were; a ruler's
scale shows by how much they are not, but a sensor that is turned, or whose axes leak into each other, shows the same.
So it is what the profile gives, measured once by turning one cable alone; else none, with a doubt.
"""

import numpy as np

from shiftlog.model.cables import Coupling
from shiftlog.model.car import Car
from shiftlog.model.gate import GateMap, Seat

USUAL_U = 0.05
"""mm a mm: lever boxes keep their two ways apart to about this (common practice, no source)."""
SQUARE_U = 0.01
"""Seats square to so much by a ruler: a box that turns as a whole may still hide behind a turned sensor."""
FEWEST_SEATS = 4


def find_coupling(car: Car, gate: GateMap | None = None) -> Coupling:
    """What the profile gives; a figure it lacks is taken as none, as uncertain as the gate shows."""
    skew = measure_skew(gate)
    doubt = USUAL_U if skew is None else max(abs(skew), SQUARE_U)
    given = [car.cables.get(key) for key in ("engage_per_select", "select_per_engage")]
    return Coupling(
        engage_per_select=float(given[0] or 0.0), select_per_engage=float(given[1] or 0.0), off_square=skew,
        u=tuple(doubt if value is None else 0.0 for value in given),
    )  # fmt: skip


def measure_skew(gate: GateMap | None) -> float | None:
    """By how much rows and planes of the seats are off square [mm a mm]; None without a ruler or with too few seats.

    Slope of the rows against select plus lean of the planes against engage: turning the sensor changes both by as
    much and leaves their sum.
    """
    if gate is None or gate.scale != "absolute" or len(gate.seats) < FEWEST_SEATS:
        return None
    seats = {seat.gear: seat for seat in gate.seats}
    planes = gate.layout.planes
    rows = [
        [seats[g] for g in names if g in seats] for names in ([p.forward for p in planes], [p.rear for p in planes])
    ]
    slopes = [_slope(row) for row in rows if len(row) >= 2]
    pairs = [(seats[p.forward], seats[p.rear]) for p in planes if p.forward in seats and p.rear in seats]
    leans = [(a.select_mm - b.select_mm) / (a.engage_mm - b.engage_mm) for a, b in pairs]
    return float(np.mean(slopes) + np.mean(leans)) if slopes and leans else None


def _slope(row: list[Seat]) -> float:
    select, engage = np.array([(s.select_mm, s.engage_mm) for s in row]).T
    away = select - select.mean()
    return float(away @ engage / (away @ away))
