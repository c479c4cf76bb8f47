"""A place where the lever lay still in neutral."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from shiftlog.model.reading import Reading

SWINGS, RUNS_IN, CREEPS = "swings", "runs in", "creeps"


@dataclass(frozen=True, eq=False, kw_only=True)
class Rest:
    """The lever in neutral and still.

    select_mm, engage_mm : median position over the still part [gate mm]
    plane : name of the plane it lies nearest to
    released : True (ran home by itself), False (guided or held), None (cannot be known)
    came_from : ``left`` | ``right`` | None: the side from which it came to its rest
    in_bend : more than 2 m/s² sideways meanwhile; None where not known. Such rests stay out of the statistics
    manner : how it ran home: ``swings`` past its rest, ``runs in`` without, ``creeps`` by friction; None where it made
        no free run that could be judged
    moved_mm : how far it ran across the gate to its rest, None where that is not known
    readings : ``offset_mm``, ``return_time_s``, ``overshoot``, ``frequency_hz``, ``damping``,
        ``vehicle_speed_mps``, ``gearbox_temp_c``
    over_rev_if : engine speed [rpm] by gear if pushed straight forward or back from here, planes that are
        not home only; empty otherwise
    """

    start_s: float
    end_s: float
    select_mm: float
    engage_mm: float
    plane: str
    released: bool | None
    came_from: str | None
    in_bend: bool | None = None
    manner: str | None = None
    moved_mm: float | None = None
    readings: Mapping[str, Reading] = field(default_factory=dict)
    over_rev_if: Mapping[str, float] = field(default_factory=dict)

    def value(self, key: str) -> float | bool | None:
        """The value of one figure, or None where it is missing."""
        reading = self.readings.get(key)
        return None if reading is None else reading.value
