"""All figures of each shift: every family adds its own; what no family measures keeps its place with the reason."""

from collections.abc import Callable
from dataclasses import replace

from shiftlog.measure.catalogue import shift_keys
from shiftlog.measure.crash_through import measure_crash_through
from shiftlog.measure.driveline import prepare_driveline
from shiftlog.measure.felt_dose import prepare_felt_dose
from shiftlog.measure.grind import prepare_grind
from shiftlog.measure.knock import measure_knock
from shiftlog.measure.scene import Scene
from shiftlog.measure.speed_difference import measure_speed_difference
from shiftlog.measure.speeds import measure_speeds
from shiftlog.measure.timing import measure_timing
from shiftlog.model.reading import Reading, unmeasured
from shiftlog.model.shift import Shift

Family = Callable[[Shift], tuple[Reading, ...]]
"""What measures one shift, ready for one drive."""


def _one_by_one(measure: Callable[[Shift, Scene], tuple[Reading, ...]]) -> Callable[[Scene], Family]:
    """A family that looks at nothing but the shift itself."""
    return lambda scene: lambda shift: measure(shift, scene)


FAMILIES: tuple[Callable[[Scene], Family], ...] = (
    _one_by_one(measure_timing),
    _one_by_one(measure_speeds),
    _one_by_one(measure_speed_difference),
    _one_by_one(measure_knock),
    prepare_driveline,
    prepare_felt_dose,
    prepare_grind,
)
"""Each is made ready for a drive once: what a shift is held against (a background, a quiet road) is learnt then."""


def measure_shifts(scene: Scene) -> tuple[Shift, ...]:
    """The scene's shifts with a reading for every figure of the catalogue."""
    families = [prepare(scene) for prepare in FAMILIES]
    return tuple(_measure(shift, families) for shift in scene.shifts)


def _measure(shift: Shift, families: list[Family]) -> Shift:
    readings = dict(shift.readings)
    for family in families:
        readings |= {r.key: r for r in family(shift)}
    crashed = measure_crash_through(replace(shift, readings=readings))
    readings[crashed.key] = crashed
    for key in shift_keys():
        if key not in readings:
            readings[key] = unmeasured(key, "the sensors of this drive cannot show it")
    return replace(shift, readings=readings)
