"""All figures of one shift: each family adds its own; what no family measures keeps its place with the reason."""

from collections.abc import Callable
from dataclasses import replace

from shiftlog.measure.catalogue import MEASURES, NOT_YET, shift_keys
from shiftlog.measure.knock import measure_knock
from shiftlog.measure.scene import Scene
from shiftlog.measure.speeds import measure_speeds
from shiftlog.measure.timing import measure_timing
from shiftlog.model.reading import Reading, unmeasured
from shiftlog.model.shift import Shift

Family = Callable[[Shift, Scene], tuple[Reading, ...]]
FAMILIES: tuple[Family, ...] = (measure_timing, measure_speeds, measure_knock)


def measure_shift(shift: Shift, scene: Scene) -> Shift:
    """The shift with a reading for every figure of the catalogue."""
    readings = dict(shift.readings)
    for family in FAMILIES:
        readings |= {r.key: r for r in family(shift, scene)}
    for key in shift_keys():
        if key not in readings:
            why = NOT_YET if not MEASURES[key].measured else "the sensors of this drive cannot show it"
            readings[key] = unmeasured(key, why)
    return replace(shift, readings=readings)
