"""Every marked span of a drive, measured by its kind."""

from collections.abc import Callable, Mapping

from shiftlog.errors import CannotMeasure
from shiftlog.guided.bearing_noise import measure_bearing_noise
from shiftlog.guided.clearance import measure_clearance
from shiftlog.guided.detent import measure_detent
from shiftlog.guided.free_play import measure_free_play
from shiftlog.guided.gate_entry import measure_gate_entry
from shiftlog.guided.jump_out import measure_jump_out
from shiftlog.guided.lockout import measure_lockout
from shiftlog.guided.release import measure_release
from shiftlog.guided.spin_down import measure_spin_down
from shiftlog.guided.straight_push import measure_straight_push
from shiftlog.guided.synchroniser import measure_synchroniser
from shiftlog.guided.two_ended import measure_two_ended
from shiftlog.guided.warm_up import measure_warm_up
from shiftlog.measure.scene import Scene
from shiftlog.model.drive import MarkedTest
from shiftlog.model.guided import GuidedResult
from shiftlog.model.result import DriveResult

Measure = Callable[[MarkedTest, Scene, DriveResult], GuidedResult]
"""Takes the span, the drive ready to be measured, and what was found of the drive. CannotMeasure with the reason."""


def _measure_play(test: MarkedTest, scene: Scene, result: DriveResult) -> GuidedResult:
    """From both ends of the cables where there is a sensor at the tower, else from the lever in gear alone."""
    if scene.signals.tower is None:
        return measure_free_play(test, scene, result)
    both = measure_two_ended(test, scene, result)
    if any(figure.value is not None for figure in both.figures):
        return both
    # Fingers that pushed and pulled in one gear make no loop, and tell free play all the same.
    return measure_free_play(test, scene, result)


MEASURES: Mapping[str, Measure] = {
    "release": measure_release,
    "straight_push": measure_straight_push,
    "lockout": measure_lockout,
    "spin_down": measure_spin_down,
    "synchroniser": measure_synchroniser,
    "jump_out": measure_jump_out,
    "detent": measure_detent,
    "bearing_noise": measure_bearing_noise,
    "warm_up": measure_warm_up,
    "gate_entry": measure_gate_entry,
    "free_play": _measure_play,
    "clearance": measure_clearance,
    "two_ended": measure_two_ended,
}
"""How each kind of test is measured."""
BOTH_ENDS = ("free_play", "two_ended")
"""Kinds in which a sensor at the tower is read."""


def measure_tests(scene: Scene, result: DriveResult) -> tuple[GuidedResult, ...]:
    """What each marked span says, in order of time; kinds that nothing is known of are passed over."""
    known = [*(test for test in result.tests if test.kind in MEASURES), *_unmarked(scene, result)]
    return tuple(_measure(test, scene, result) for test in sorted(known, key=lambda test: test.start_s))


def _unmarked(scene: Scene, result: DriveResult) -> tuple[MarkedTest, ...]:
    """The whole drive as a test of both ends where they were logged and no span is marked: every shift is one."""
    if scene.signals.tower is None or scene.path is None or any(test.kind in BOTH_ENDS for test in result.tests):
        return ()
    common = [
        max(scene.path.time_s[0], scene.signals.tower.time_s[0]),
        min(scene.path.time_s[-1], scene.signals.tower.time_s[-1]),
    ]
    return (MarkedTest(kind="two_ended", start_s=float(common[0]), end_s=float(common[1])),)


def _measure(test: MarkedTest, scene: Scene, result: DriveResult) -> GuidedResult:
    try:
        _check_within(test, scene)
        return MEASURES[test.kind](test, scene, result)
    except CannotMeasure as why:
        return GuidedResult(
            kind=test.kind, start_s=test.start_s, end_s=test.end_s, configuration=test.configuration, figures=(),
            says=(f"Not measured: {why}",),
        )  # fmt: skip


def _check_within(test: MarkedTest, scene: Scene) -> None:
    """CannotMeasure where the span lies outside all that was logged."""
    within = scene.signals.within_s
    if within is not None and (test.end_s <= within[0] or test.start_s >= within[1]):
        raise CannotMeasure(
            f"the span from {test.start_s:.1f} to {test.end_s:.1f} s lies outside the logs, which run from "
            f"{within[0]:.1f} to {within[1]:.1f} s of drive time; correct start_s and end_s"
        )
