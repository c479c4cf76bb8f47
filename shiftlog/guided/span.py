"""The part of a drive that one guided test covers, and what every measure of it needs."""

from shiftlog.errors import CannotMeasure
from shiftlog.measure.scene import Scene
from shiftlog.model.drive import MarkedTest
from shiftlog.model.gate import GateMap
from shiftlog.model.lever import LeverPath
from shiftlog.model.result import DriveResult

RELATIVE = (
    "millimetres are relative to the gate's seats: give [gate] mm_per_unit in car.toml from a ruler to make them "
    "absolute"
)


def lever_of(test: MarkedTest, scene: Scene, result: DriveResult) -> tuple[LeverPath, GateMap]:
    """The lever and its gate. CannotMeasure, with what to do, where the gate is not known or the span lies outside."""
    if scene.path is None or result.gate is None:
        raise CannotMeasure(
            f"{result.gate_why or 'no lever sensor in this drive'}; go through all gears once in the same recording, "
            "before or after the test"
        )
    time = scene.path.time_s
    if test.end_s <= time[0] or test.start_s >= time[-1]:
        raise CannotMeasure(
            f"the span from {test.start_s:.1f} to {test.end_s:.1f} s lies outside the lever's log, which runs from "
            f"{time[0]:.1f} to {time[-1]:.1f} s; correct start_s and end_s"
        )
    return scene.path, result.gate


def scale_doubts(gate: GateMap) -> tuple[str, ...]:
    """That millimetres are relative, where they are."""
    return () if gate.scale == "absolute" else (RELATIVE,)
