"""Whether the millimetres of some drives are those of the others: a pitch or a ruler of its own makes them longer."""

from collections.abc import Sequence

from shiftlog.measure.catalogue import Measure
from shiftlog.model.result import DriveResult
from shiftlog.model.told import Told, tell

ALIKE_SHARE = 0.02
"""A pitch or travel read again with a ruler: about half a millimetre of 25."""
BY_MILLIMETRES = ("return_time_s",)
"""Figures in other units that rest on a length: it has come home within a millimetre."""


def is_in_mm(measure: Measure) -> bool:
    """Whether a figure is another one where the millimetres are others."""
    return "mm" in measure.unit or measure.key in BY_MILLIMETRES


def has_other_scale(drives: Sequence[DriveResult]) -> bool:
    """Whether these drives' gates were scaled in different ways; drives without a gate have no millimetres."""
    layouts = [(r.gate.scale, r.gate.layout) for r in drives if r.gate]
    if len({(scale, layout.travel_at) for scale, layout in layouts}) > 1:
        return True
    fitted = [layout for scale, layout in layouts if scale != "absolute"]
    lengths = ([f.plane_pitch_mm for f in fitted], [f.engage_travel_mm for f in fitted])
    return any(max(mm) > (1 + ALIKE_SHARE) * min(mm) for mm in lengths if mm)


def why_other_scale() -> Told:
    """Why a figure in mm is left out."""
    return tell("left.other_scale", "in millimetres of another scale than other drives")


def say_scale(before: Sequence[DriveResult], after: Sequence[DriveResult]) -> Told | None:
    """That millimetres are left out, and the mend; None where they are alike."""
    if not has_other_scale((*before, *after)):
        return None
    said = (
        "the profiles scale the lever's millimetres in different ways (plane_pitch_mm, engage_travel_mm, travel_at or "
        "mm_per_unit): figures in mm are left out; measure all drives with one car.toml"
    )
    return tell("caveat.scale", said)
