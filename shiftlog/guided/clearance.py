"""A clearance test as figures of one test: the room left in each gear, as the setting of the cables is made from."""

from collections.abc import Sequence

from shiftlog.cables.clearance import measure_clearances
from shiftlog.guided.span import lever_of, scale_doubts
from shiftlog.measure.scene import Scene
from shiftlog.model.cables import Clearance
from shiftlog.model.drive import MarkedTest
from shiftlog.model.guided import Figure, GuidedResult
from shiftlog.model.result import DriveResult

SOFT = "its stop gives with force, so that it is not the gate's"
SETTING = "What the cables need follows from all clearance tests together and stands with the cables."


def measure_clearance(test: MarkedTest, scene: Scene, result: DriveResult) -> GuidedResult:
    """The clearance of each gear tried in the span. CannotMeasure where it holds none."""
    path, gate = lever_of(test, scene, result)
    found = measure_clearances(path, gate, (test,), scene.signals.lever_force, scene.car)
    return GuidedResult(
        kind=test.kind, start_s=test.start_s, end_s=test.end_s, configuration=test.configuration,
        figures=tuple(_figure(one) for one in found), says=(*_say(found), SETTING), doubts=scale_doubts(gate),
    )  # fmt: skip


def _figure(one: Clearance) -> Figure:
    shared = {"key": "clearance_mm", "label": "clearance", "unit": "mm", "of": one.gear}
    if one.soft:
        return Figure(**shared, why=SOFT)
    return Figure(**shared, value=one.clearance_mm, uncertainty=one.u_mm)


def _say(found: Sequence[Clearance]) -> tuple[str, ...]:
    """The gear with the least room, and those short of what the shop wants."""
    hard = [one for one in found if not one.soft]
    if not hard:
        return (f"Not known: in {', '.join(one.gear for one in found)} the stop gives with force.",)
    least = min(hard, key=lambda one: one.clearance_mm)
    says = [f"Least room in {least.gear}: {_mm(least)}."]
    short = [f"{one.gear} {_mm(one, unit='')} of {one.wanted_mm:.1f} mm" for one in hard if one.margin_mm < 0]
    return (*says, f"Short of what is wanted: {', '.join(short)}.") if short else tuple(says)


def _mm(one: Clearance, *, unit: str = " mm") -> str:
    """Where no press moved the lever: less than what would have been seen."""
    return f"{one.clearance_mm:.1f}{unit}" if one.bound_mm is None else f"less than {one.bound_mm:.1f}{unit}"
