"""The lever's way through the gate, in gate millimetres."""

from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True, eq=False, kw_only=True)
class LeverPath:
    """The lever on an even grid.

    time_s (n,); select_mm, engage_mm (n,) smoothed; speed_mmps, engage_mmps (n,) over 20 ms, still_mmps (n,) over 0.1 s
    depth (n,) : 0 on the neutral line, 1 at the map's seat on that side in the nearest plane
    gear (n,) : index into ``gears`` of the gear on that side in the nearest plane, -1 where the gate has none
    seat_mm (g,) : engage position of each gear's seat, signed
    zero_u_mm (g,) : standard uncertainty of the neutral line in each gear's plane, as the seats bear it out [mm]
    valid (n,) : False inside gaps; noise_mm : standard uncertainty of one smoothed reading
    """

    time_s: np.ndarray
    select_mm: np.ndarray
    engage_mm: np.ndarray
    engage_mmps: np.ndarray
    still_mmps: np.ndarray
    depth: np.ndarray
    gear: np.ndarray
    gears: tuple[str, ...]
    seat_mm: np.ndarray
    zero_u_mm: np.ndarray
    valid: np.ndarray
    rate_hz: float
    noise_mm: float

    def __post_init__(self) -> None:
        for array in (self.time_s, self.select_mm, self.engage_mm, self.engage_mmps, self.still_mmps, self.depth):
            array.setflags(write=False)

    def index(self, at_s: float) -> int:
        """Index of the first sample at or after an instant."""
        return int(np.clip(np.searchsorted(self.time_s, at_s), 0, self.time_s.size - 1))
