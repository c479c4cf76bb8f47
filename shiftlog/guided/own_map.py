"""A gate map for tests in which the lever is held where no gear is: from the rest of the log."""

from shiftlog.detect.gate_beside import fit_gate_beside
from shiftlog.detect.lever import build_path
from shiftlog.errors import CannotMeasure
from shiftlog.measure.scene import Scene
from shiftlog.model.lever import LeverPath
from shiftlog.model.result import DriveResult


def trace_beside(kind: str, scene: Scene, result: DriveResult) -> LeverPath:
    """The lever's path by a map that leaves out all marked spans of this kind. CannotMeasure where there is none."""
    lever = scene.signals.lever
    if lever is None:
        raise CannotMeasure(f"the lever's way through the gate is not known: {result.gate_why or 'no lever sensor'}")
    try:
        gate = fit_gate_beside(scene.signals, scene.car, result.tests, kinds=(kind,))
    except CannotMeasure as why:
        said = f"outside the marked span the lever shows no gate: go through all gears first ({why})"
        raise CannotMeasure(said) from why
    return build_path(lever, gate, scene.settings)
