"""The map from raw lever readings to gate millimetres, and the seats it was fitted to."""

from dataclasses import dataclass

import numpy as np

from shiftlog.model.car import GateLayout


@dataclass(frozen=True, eq=False, kw_only=True)
class Seat:
    """Where the lever lies in one gear, in gate mm.

    spread_mm : robust standard deviation over the stays; stays : how many times it lay there
    off_mm : (select, engage) distance from the gear's place in the lattice
    """

    gear: str
    select_mm: float
    engage_mm: float
    spread_mm: float
    stays: int
    off_mm: tuple[float, float]


@dataclass(frozen=True, eq=False, kw_only=True)
class GateMap:
    """gate mm = matrix · (select, engage as logged) + offset.

    matrix (2, 2) [mm per logged unit], offset (2,) [mm]
    orientation : ``declared`` | ``found`` | ``assumed``; evidence : what told, in words
    scale : ``absolute`` (from a ruler) | ``relative`` (fitted to the seats)
    noise_mm : standard uncertainty of one reading, one axis [mm]; slow_mm : the part of it that no smoothing takes
    away, because it drifts (a lever known from two motion sensors), 0 for a sensor that has none
    rounding_mm : along (select, engage), what the log's rounding leaves of a still lever's place, standard uncertainty
    """

    matrix: np.ndarray
    offset: np.ndarray
    orientation: str
    evidence: str
    scale: str
    seats: tuple[Seat, ...]
    layout: GateLayout
    noise_mm: float
    slow_mm: float = 0.0
    rounding_mm: tuple[float, float] = (0.0, 0.0)

    def __post_init__(self) -> None:
        self.matrix.setflags(write=False)
        self.offset.setflags(write=False)

    def seat(self, gear: str) -> Seat | None:
        """The seat of a gear, or None where the drive never dwelt in it."""
        return next((s for s in self.seats if s.gear == gear), None)
